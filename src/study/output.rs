//! What each output and each panel carries.

use super::choice::in_words;
use super::joint;
use super::part::{PartStudy, Place, RunStudy};
use super::range::Range;
use crate::format::Quantity;
use crate::job::catalogue::SupplyType;
use crate::job::panel::Panel;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Index, Job};
use crate::network::Network;
use crate::working::{Input, Number, Off, Origin, Recorder};
use std::collections::{BTreeMap, HashMap};

/// BTU/h in one watt (international table BTU: 1 W = 3.412142 BTU/h).
const BTU_PER_HOUR: f64 = 3.412_142;

/// What an output carries.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputStudy {
    /// Which output.
    pub output: OutputRef,
    /// The panel its supply is in.
    pub panel: Id,
    /// Its volts.
    pub volts: Option<f64>,
    /// The most watts it gives.
    pub limit_watts: Option<f64>,
    /// Watts taken from it; unknown if any of its runs is.
    pub watts: Option<f64>,
    /// Amps taken from it.
    pub amps: Option<f64>,
    /// Watts in percent of the limit.
    pub percent: Option<f64>,
    /// Its runs by position in the network.
    pub runs: Vec<usize>,
    /// From where to where its figures go while something is open.
    pub ranges: Option<Box<OutputRanges>>,
}

/// The ranges of an output's figures.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputRanges {
    /// Of its watts.
    pub watts: Range,
    /// Of its percent of the limit.
    pub percent: Range,
}

/// What a panel takes from its AC feed.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelStudy {
    /// Which panel.
    pub panel: Id,
    /// Watts given to its outputs.
    pub output_watts: Option<f64>,
    /// Watts taken from the feed.
    pub ac_watts: Option<f64>,
    /// Volt-amperes taken from the feed; unknown without the supplies' power factors.
    pub ac_volt_amps: Option<f64>,
    /// Amps taken from the feed; unknown without power factor or feed volts.
    pub ac_amps: Option<f64>,
    /// Watts the supplies turn into heat in the panel.
    pub heat_watts: Option<f64>,
    /// The same in BTU/h.
    pub heat_btu_per_hour: Option<f64>,
    /// From where to where they go while something is open.
    pub ranges: Option<Box<PanelRanges>>,
}

/// The ranges of a panel's figures.
#[derive(Debug, Clone, PartialEq, Default)]
#[expect(missing_docs, reason = "each is the range of the panel's figure it is called")]
pub struct PanelRanges {
    pub output_watts: Option<Range>,
    pub ac_watts: Option<Range>,
    pub ac_volt_amps: Option<Range>,
    pub ac_amps: Option<Range>,
    pub heat_watts: Option<Range>,
    pub heat_btu_per_hour: Option<Range>,
}

impl PanelRanges {
    fn slot(&mut self, at: usize) -> &mut Option<Range> {
        match at {
            0 => &mut self.output_watts,
            1 => &mut self.ac_watts,
            2 => &mut self.ac_volt_amps,
            3 => &mut self.ac_amps,
            4 => &mut self.heat_watts,
            _ => &mut self.heat_btu_per_hour,
        }
    }
}

impl PanelStudy {
    fn of(panel: &Panel, figures: [Option<f64>; 6], ranges: Option<Box<PanelRanges>>) -> Self {
        let [output_watts, ac_watts, ac_volt_amps, ac_amps, heat_watts, heat_btu_per_hour] = figures;
        let panel = panel.id.clone();
        Self { panel, output_watts, ac_watts, ac_volt_amps, ac_amps, heat_watts, heat_btu_per_hour, ranges }
    }
}

/// A figure taken down before, to go on with, or what it is while nothing is taken down.
fn again<N: Number>(value: f64, unit: Quantity, name: impl FnOnce() -> String) -> N {
    N::input(value, || Input::new(name(), unit, Origin::Figure))
}

/// Sums the runs of every output, in the order of the file.
pub(super) fn outputs<R: Recorder>(
    job: &Job,
    index: &Index,
    network: &Network,
    parts: &[PartStudy],
    recorder: &mut R,
) -> Vec<OutputStudy> {
    let mut runs_of: HashMap<(String, u8), Vec<usize>> = HashMap::new();
    for (number, run) in network.runs.iter().enumerate() {
        if let Some(output) = &run.output {
            runs_of.entry((output.supply.folded(), output.number)).or_default().push(number);
        }
    }
    let mut all = Vec::new();
    for panel in &job.panels {
        for supply in &panel.supplies {
            let Some(part) = index.supply_type(job, &supply.part) else { continue };
            for number in 1..=part.outputs.get() {
                let output = OutputRef { supply: supply.id.clone(), number };
                let runs = runs_of.remove(&(supply.id.folded(), number)).unwrap_or_default();
                all.push(one_output((network, parts), (panel, part), output, runs, recorder));
            }
        }
    }
    all
}

/// Sums the runs of one output anew; nothing else about it has changed.
pub(super) fn output_anew(
    job: &Job,
    index: &Index,
    network: &Network,
    parts: &[PartStudy],
    before: &mut OutputStudy,
) {
    let Some((panel, supply)) = index.supply(job, &before.output.supply) else { return };
    let Some(part) = index.supply_type(job, &supply.part) else { return };
    let runs = std::mem::take(&mut before.runs);
    *before = one_output((network, parts), (panel, part), before.output.clone(), runs, &mut Off);
}

/// Sums the runs of one output: of a panel, by the supply's entry in the catalogue.
fn one_output<R: Recorder>(
    (network, parts): (&Network, &[PartStudy]),
    (panel, part): (&Panel, &SupplyType),
    output: OutputRef,
    runs: Vec<usize>,
    recorder: &mut R,
) -> OutputStudy {
    let stated = |value: f64, unit, key: &str| {
        R::Number::input(value, || Input::new(key, unit, Origin::Catalogue(format!("{} {key}", part.id))))
    };
    let study = |run: usize| parts.get(network.runs[run].part)?.runs.iter().find(|r| r.run == run);
    let settings = joint::settings(network, parts, &runs);
    let at = |watts: &BTreeMap<usize, f64>| {
        let of_run = |run: &usize| watts.get(run).copied().or_else(|| study(*run)?.source_watts);
        total(runs.iter().map(of_run))
    };
    let range = joint::range_of(&settings, at);
    let (watts, amps) = match &range {
        // Choices that the runs share can't all be at their worst at once.
        Some((range, setting)) if settings.len() > 1 => {
            let setting = &settings[*setting].most;
            let volts = || stated(part.volts.get(), Quantity::Volts, "volts");
            let watts = || {
                total(runs.iter().map(|run| {
                    let (id, study) = (&network.runs[*run].id, study(*run));
                    let watts = setting.get(run).copied().or_else(|| study?.source_watts)?;
                    Some(R::Number::input(watts, || {
                        let with = Origin::Choice(in_words(&range.most_choice));
                        Input::new(format!("watts of run {id}"), Quantity::Watts, with)
                    }))
                }))
            };
            (watts(), watts().map(|watts| watts / volts()))
        }
        _ => {
            let sum = |key: &str, unit, figure: fn(&RunStudy) -> Option<f64>| {
                total(runs.iter().map(|run| {
                    let name = || format!("run/{}/{key}", network.runs[*run].id);
                    Some(again::<R::Number>(figure(study(*run)?)?, unit, name))
                }))
            };
            (
                sum("source_watts", Quantity::Watts, |run| run.source_watts),
                sum("source_amps", Quantity::Amps, |run| run.source_amps),
            )
        }
    };
    let mut keep = |key: &str, unit, value| recorder.figure(|| format!("output/{output}/{key}"), unit, value);
    let limit = stated(part.output_watts.get(), Quantity::Watts, "output_watts");
    let limit = keep("limit_watts", Quantity::Watts, limit);
    let watts = watts.map(|watts| keep("watts", Quantity::Watts, watts));
    let amps = amps.map(|amps| keep("amps", Quantity::Amps, amps));
    let percent = watts
        .clone()
        .map(|watts| keep("percent", Quantity::Percent, watts / limit.clone() * R::Number::constant(100.0)));
    let most = limit.value();
    OutputStudy {
        panel: panel.id.clone(),
        volts: Some(part.volts.get()),
        limit_watts: Some(most),
        watts: watts.as_ref().map(Number::value),
        amps: amps.as_ref().map(Number::value),
        percent: percent.as_ref().map(Number::value),
        ranges: range.map(|(watts, _)| {
            Box::new(OutputRanges { percent: watts.with(|watts| watts / most * 100.0), watts })
        }),
        runs,
        output,
    }
}

/// Sums the supplies of every panel, in the order of the file.
pub(super) fn panels<R: Recorder>(
    (job, index, network): Place<'_>,
    parts: &[PartStudy],
    outputs: &[OutputStudy],
    recorder: &mut R,
) -> Vec<PanelStudy> {
    // Outputs stand in the order of the file, those of a panel together.
    let mut left = outputs;
    let mut all = Vec::with_capacity(job.panels.len());
    for panel in &job.panels {
        let own = left.iter().take_while(|output| output.panel.same(&panel.id)).count();
        let (own, later) = left.split_at(own);
        left = later;
        all.push(one_panel((job, index, network), panel, parts, own, recorder));
    }
    all
}

/// Sums one panel anew, of all outputs.
pub(super) fn panel_anew(
    place: Place<'_>,
    panel: &Panel,
    parts: &[PartStudy],
    outputs: &[OutputStudy],
) -> PanelStudy {
    let own = |output: &OutputStudy| output.panel.same(&panel.id);
    let first = outputs.iter().position(own).unwrap_or(outputs.len());
    let count = outputs[first..].iter().take_while(|output| own(output)).count();
    one_panel(place, panel, parts, &outputs[first..first + count], &mut Off)
}

/// Sums a panel; `outputs` are its own.
fn one_panel<R: Recorder>(
    (job, index, network): Place<'_>,
    panel: &Panel,
    parts: &[PartStudy],
    outputs: &[OutputStudy],
    recorder: &mut R,
) -> PanelStudy {
    let mine: Vec<&OutputStudy> = outputs.iter().collect();
    let runs: Vec<usize> = mine.iter().flat_map(|output| output.runs.iter().copied()).collect();
    let settings = joint::settings(network, parts, &runs);
    let all_watts = mine.iter().map(|output| {
        let name = || format!("output/{}/watts", output.output);
        Some(again(output.watts?, Quantity::Watts, name))
    });
    let mut values = summed(job, index, panel, &mine, &all_watts.collect::<Vec<_>>(), recorder);
    if settings.is_empty() {
        return PanelStudy::of(panel, values, None);
    }
    let study = |run: usize| parts.get(network.runs[run].part)?.runs.iter().find(|r| r.run == run);
    let each = |watts: &BTreeMap<usize, f64>| -> Vec<Option<f64>> {
        let of_run = |run: &usize| watts.get(run).copied().or_else(|| study(*run)?.source_watts);
        mine.iter().map(|output| total(output.runs.iter().map(of_run))).collect()
    };
    let mut ranges = PanelRanges::default();
    for (at, (key, _)) in PANEL_FIGURES.iter().enumerate() {
        let figure =
            |watts: &BTreeMap<usize, f64>| summed(job, index, panel, &mine, &each(watts), &mut Off)[at];
        let Some((range, setting)) = joint::range_of(&settings, figure) else { continue };
        if settings.len() > 1 {
            values[at] = Some(range.most);
            if R::ON {
                let mut sheet = recorder.blank();
                let with = in_words(&range.most_choice);
                let watts = each(&settings[setting].most).into_iter().zip(&mine).map(|(watts, output)| {
                    Some(R::Number::input(watts?, || {
                        let label = format!("watts of output {}", output.output);
                        Input::new(label, Quantity::Watts, Origin::Choice(with.clone()))
                    }))
                });
                summed(job, index, panel, &mine, &watts.collect::<Vec<_>>(), &mut sheet);
                recorder.adopt(&sheet, &format!("panel/{}/{key}", panel.id), &with);
            }
        }
        *ranges.slot(at) = Some(range);
    }
    PanelStudy::of(panel, values, Some(Box::new(ranges)))
}

/// The figures of a panel, in the order in which they are summed.
const PANEL_FIGURES: [(&str, Quantity); 6] = [
    ("output_watts", Quantity::Watts),
    ("ac_watts", Quantity::Watts),
    ("ac_volt_amps", Quantity::VoltAmps),
    ("ac_amps", Quantity::Amps),
    ("heat_watts", Quantity::Watts),
    ("heat_btu_per_hour", Quantity::Heat),
];

/// Sums a panel from the watts of its outputs, in the order of [`PANEL_FIGURES`].
fn summed<R: Recorder>(
    job: &Job,
    index: &Index,
    panel: &Panel,
    outputs: &[&OutputStudy],
    watts: &[Option<R::Number>],
    recorder: &mut R,
) -> [Option<f64>; 6] {
    let zero = || Some(R::Number::constant(0.0));
    let (mut out_sum, mut ac_sum, mut volt_amp_sum) = (zero(), zero(), zero());
    for supply in &panel.supplies {
        let mine = outputs.iter().zip(watts).filter(|(o, _)| o.output.supply.same(&supply.id));
        let out: Option<R::Number> = total(mine.map(|(_, watts)| watts.clone()));
        let out = out.map(|out| {
            recorder.figure(|| format!("supply/{}/output_watts", supply.id), Quantity::Watts, out)
        });
        let part = index.supply_type(job, &supply.part);
        let ac = part.zip(out.clone()).and_then(|(part, out)| Some(out.clone() + loss_watts(part, out)?));
        let ac =
            ac.map(|ac| recorder.figure(|| format!("supply/{}/ac_watts", supply.id), Quantity::Watts, ac));
        let power_factor = part.and_then(|part| {
            let factor = part.power_factor?.get();
            Some(R::Number::input(factor, || {
                let origin = Origin::Catalogue(format!("{} power_factor", part.id));
                Input::new("power factor", Quantity::Ratio, origin)
            }))
        });
        out_sum = add(out_sum, out);
        ac_sum = add(ac_sum, ac.clone());
        volt_amp_sum = add(volt_amp_sum, ac.zip(power_factor).map(|(ac, factor)| ac / factor));
    }
    let mut keep = |at: usize, value: Option<R::Number>| {
        let (key, unit) = PANEL_FIGURES[at];
        value.map(|value| recorder.figure(|| format!("panel/{}/{key}", panel.id), unit, value))
    };
    let output_watts = keep(0, out_sum);
    let ac_watts = keep(1, ac_sum);
    let ac_volt_amps = keep(2, volt_amp_sum);
    let ac_amps = ac_volt_amps.clone().zip(panel.feed).map(|(volt_amps, feed)| {
        let volts = R::Number::input(feed.volts.get(), || {
            Input::new("feed volts", Quantity::Volts, Origin::Job(format!("panel/{} feed volts", panel.id)))
        });
        volt_amps / volts
    });
    let ac_amps = keep(3, ac_amps);
    let heat = ac_watts.clone().zip(output_watts.clone()).map(|(ac, out)| ac - out);
    let heat_watts = keep(4, heat);
    let btu = heat_watts.clone().map(|watts| {
        let place = "1 W = 3.412142 BTU/h (international table BTU)";
        let per = R::Number::input(BTU_PER_HOUR, || {
            Input::new("BTU/h in a watt", Quantity::Ratio, Origin::Table(place))
        });
        watts * per
    });
    let heat_btu_per_hour = keep(5, btu);
    [output_watts, ac_watts, ac_volt_amps, ac_amps, heat_watts, heat_btu_per_hour]
        .map(|number| number.map(|number| number.value()))
}

/// The sum in order; unknown if any of it is. It starts from 0, not from the -0 of an empty `sum`.
pub(super) fn total<N: Number>(figures: impl Iterator<Item = Option<N>>) -> Option<N> {
    figures.fold(Some(N::constant(0.0)), add)
}

fn add<N: Number>(sum: Option<N>, more: Option<N>) -> Option<N> {
    Some(sum? + more?)
}

/// Watts a supply loses while it gives so many to its outputs.
///
/// A straight line between the two points that a data sheet gives: idle watts at no load, and full load at its stated
/// efficiency, where the loss is P·(1/η - 1). Without idle watts the line starts at nothing; without efficiency the
/// loss is unknown.
pub(super) fn loss_watts<N: Number>(part: &SupplyType, out: N) -> Option<N> {
    let stated = |value: f64, unit, key: &str| {
        N::input(value, || Input::new(key, unit, Origin::Catalogue(format!("{} {key}", part.id))))
    };
    let efficiency =
        stated(part.efficiency_percent?.get(), Quantity::Percent, "efficiency_percent") / N::constant(100.0);
    let full = stated(part.output_watts.get(), Quantity::Watts, "output_watts")
        * stated(f64::from(part.outputs.get()), Quantity::Count, "outputs");
    let full_loss = full.clone() * (N::constant(1.0) / efficiency - N::constant(1.0));
    let idle = part.idle_watts.map_or(0.0, crate::units::WattsOrNone::get);
    let idle = stated(idle, Quantity::Watts, "idle_watts");
    // A data sheet whose idle watts exceed its full-load loss contradicts itself; the larger is kept.
    Some((idle.clone() + (full_loss - idle.clone()) * (out / full)).larger(idle))
}
