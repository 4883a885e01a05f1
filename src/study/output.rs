//! What each output and each panel carries.

use super::part::PartStudy;
use crate::job::catalogue::SupplyType;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Index, Job};
use crate::network::Network;
use std::collections::HashMap;

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
}

/// Sums the runs of every output, in the order of the file.
pub(super) fn outputs(job: &Job, index: &Index, network: &Network, parts: &[PartStudy]) -> Vec<OutputStudy> {
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
                let runs = runs_of.remove(&(supply.id.folded(), number)).unwrap_or_default();
                let study =
                    |run: &usize| parts.get(network.runs[*run].part)?.runs.iter().find(|r| r.run == *run);
                let watts: Option<f64> = total(runs.iter().map(|run| study(run)?.source_watts));
                let amps: Option<f64> = total(runs.iter().map(|run| study(run)?.source_amps));
                let limit = part.output_watts.get();
                all.push(OutputStudy {
                    output: OutputRef { supply: supply.id.clone(), number },
                    panel: panel.id.clone(),
                    volts: Some(part.volts.get()),
                    limit_watts: Some(limit),
                    watts,
                    amps,
                    percent: watts.map(|watts| watts / limit * 100.0),
                    runs,
                });
            }
        }
    }
    all
}

/// Sums the supplies of every panel, in the order of the file.
pub(super) fn panels(job: &Job, index: &Index, outputs: &[OutputStudy]) -> Vec<PanelStudy> {
    job.panels
        .iter()
        .map(|panel| {
            let mut sums = Sums { out: Some(0.0), ac: Some(0.0), volt_amps: Some(0.0) };
            for supply in &panel.supplies {
                let mine = outputs.iter().filter(|o| o.output.supply.same(&supply.id));
                let out: Option<f64> = total(mine.map(|output| output.watts));
                let part = index.supply_type(job, &supply.part);
                let ac = part.zip(out).and_then(|(part, out)| Some(out + loss_watts(part, out)?));
                let power_factor = part.and_then(|part| part.power_factor);
                sums.out = add(sums.out, out);
                sums.ac = add(sums.ac, ac);
                sums.volt_amps = add(sums.volt_amps, ac.zip(power_factor).map(|(ac, pf)| ac / pf.get()));
            }
            let heat_watts = sums.ac.zip(sums.out).map(|(ac, out)| ac - out);
            PanelStudy {
                panel: panel.id.clone(),
                output_watts: sums.out,
                ac_watts: sums.ac,
                ac_volt_amps: sums.volt_amps,
                ac_amps: sums.volt_amps.zip(panel.feed).map(|(va, feed)| va / feed.volts.get()),
                heat_watts,
                heat_btu_per_hour: heat_watts.map(|watts| watts * BTU_PER_HOUR),
            }
        })
        .collect()
}

struct Sums {
    out: Option<f64>,
    ac: Option<f64>,
    volt_amps: Option<f64>,
}

/// The sum in order; unknown if any of it is. It starts from 0, not from the -0 of an empty `sum`.
pub(super) fn total(figures: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    figures.fold(Some(0.0), add)
}

fn add(sum: Option<f64>, more: Option<f64>) -> Option<f64> {
    Some(sum? + more?)
}

/// Watts a supply loses while it gives so many to its outputs.
///
/// A straight line between the two points that a data sheet gives: idle watts at no load, and full load at its stated
/// efficiency, where the loss is P·(1/η - 1). Without idle watts the line starts at nothing; without efficiency the
/// loss is unknown.
pub(super) fn loss_watts(part: &SupplyType, out: f64) -> Option<f64> {
    let efficiency = part.efficiency_percent?.get() / 100.0;
    let full = part.output_watts.get() * f64::from(part.outputs.get());
    let full_loss = full * (1.0 / efficiency - 1.0);
    let idle = part.idle_watts.map_or(0.0, crate::units::WattsOrNone::get);
    // A data sheet whose idle watts exceed its full-load loss contradicts itself; the larger is kept.
    Some((idle + (full_loss - idle) * (out / full)).max(idle))
}
