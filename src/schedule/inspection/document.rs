//! The document of the inspection, for programs.

use crate::checks::{Severity, grouped};
use crate::design::Design;
use crate::job::Id;
use crate::job::catalogue::{Listing, OutputKind, SupplyType};
use crate::schedule::cables;
use crate::schedule::names::called;
use crate::standards::class2;
use serde::Serialize;

/// The document of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inspection {
    /// The supplies of each panel, those of one type together.
    pub supplies: Vec<Supplies>,
    /// What feeds each panel.
    pub circuits: Vec<Circuit>,
    /// The cables in use.
    pub cables: Vec<CableUse>,
    /// What is marked on each supply.
    pub marking: Vec<Marking>,
    /// What is found, by cause.
    pub findings: Vec<Finding>,
}

/// Supplies of one type in one panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Supplies {
    /// The panel.
    pub panel: String,
    /// Which ones.
    pub supplies: Vec<String>,
    /// The type by its name.
    pub name: String,
    /// How their outputs are limited.
    pub class_2: &'static str,
    /// Outputs of each.
    pub outputs: u8,
    /// Volts of an output, dc.
    pub volts: f64,
    /// The most volts at no load; null where the data sheet does not say.
    pub no_load_volts: Option<f64>,
    /// The most amps of an output, by its watts at its volts.
    pub amps: f64,
    /// The most volt-amperes of an output; on dc its watts.
    pub volt_amps: f64,
    /// What NEC chapter 9 table 11(B) allows at the most volts; null where they are not known, or not Class 2.
    pub allowed_volt_amps: Option<f64>,
}

/// The AC circuit of a panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Circuit {
    /// The panel.
    pub panel: String,
    /// The room it hangs in.
    pub room: String,
    /// Volts of its circuit.
    pub volts: Option<f64>,
    /// The rating of its breaker.
    pub breaker_amps: Option<f64>,
    /// What it takes at full level.
    pub amps: Option<f64>,
    /// The same in volt-amperes.
    pub volt_amps: Option<f64>,
    /// The heat in it.
    pub heat_watts: Option<f64>,
}

/// A cable in use.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableUse {
    /// Its id.
    pub cable: String,
    /// Size, conductors and stranding.
    pub made: String,
    /// What it is listed for; null where the catalogue does not say.
    pub listing: Option<&'static str>,
    /// It is listed for wet places.
    pub wet: bool,
    /// It is listed for sunlight.
    pub sunlight: bool,
}

/// What is marked on a supply: each output with its home runs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Marking {
    /// The supply.
    pub supply: String,
    /// Whether its outputs are marked as Class 2 circuits.
    pub class_2: bool,
    /// Each output that has home runs, with them.
    pub outputs: Vec<MarkedOutput>,
}

/// An output in [`Marking`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MarkedOutput {
    /// Its id.
    pub output: String,
    /// Its home runs.
    pub runs: Vec<String>,
}

/// A cause of findings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// The check.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong.
    pub what: String,
    /// Where the limit comes from.
    pub source: String,
    /// Who answers for it; null while it is open.
    pub accepted_by: Option<String>,
    /// Why.
    pub reason: Option<String>,
}

const fn limited(kind: OutputKind) -> &'static str {
    match kind {
        OutputKind::Class2Inherent => "Class 2, inherently limited",
        OutputKind::Class2Protected => "Class 2, overcurrent protected",
        OutputKind::NotClass2 => "NOT Class 2",
    }
}

const fn listed(listing: Listing) -> &'static str {
    match listing {
        Listing::General => "CL2 or CL3, general use",
        Listing::Riser => "CL2R or CL3R, between floors",
        Listing::Plenum => "CL2P or CL3P, air spaces",
    }
}

/// Everything of the sheet for programs.
pub fn document(design: &Design) -> Inspection {
    Inspection {
        supplies: supplies(design),
        circuits: circuits(design),
        cables: cables_used(design),
        marking: marking(design),
        findings: found(design),
    }
}

fn supplies(design: &Design) -> Vec<Supplies> {
    let mut all: Vec<Supplies> = Vec::new();
    for panel in &design.job.panels {
        let mut parts: Vec<(&Id, Vec<String>)> = Vec::new();
        for supply in &panel.supplies {
            match parts.iter_mut().find(|(part, _)| part.same(&supply.part)) {
                Some((_, ids)) => ids.push(supply.id.to_string()),
                None => parts.push((&supply.part, vec![supply.id.to_string()])),
            }
        }
        for (part, ids) in parts {
            if let Some(part) = design.index.supply_type(&design.job, part) {
                all.push(of_type(panel.id.to_string(), ids, part));
            }
        }
    }
    all
}

fn of_type(panel: String, supplies: Vec<String>, part: &SupplyType) -> Supplies {
    let (volts, watts) = (part.volts.get(), part.output_watts.get());
    let no_load_volts = part.no_load_volts.map(crate::units::Volts::get);
    Supplies {
        panel,
        supplies,
        name: called(&part.name, &part.id),
        class_2: limited(part.kind),
        outputs: part.outputs.get(),
        volts,
        no_load_volts,
        amps: watts / volts,
        volt_amps: watts,
        allowed_volt_amps: no_load_volts
            .and_then(|highest| class2::most_volt_amps(part.kind, highest.max(volts))),
    }
}

fn circuits(design: &Design) -> Vec<Circuit> {
    let panels = design.job.panels.iter().zip(&design.study.panels);
    let circuit = panels.map(|(panel, study)| {
        let room = design.index.room(&design.job, &panel.room).map(|(_, room)| called(&room.name, &room.id));
        Circuit {
            panel: panel.id.to_string(),
            room: room.unwrap_or_else(|| panel.room.to_string()),
            volts: panel.feed.map(|feed| feed.volts.get()),
            breaker_amps: panel.feed.map(|feed| feed.breaker_amps.get()),
            amps: study.ac_amps,
            volt_amps: study.ac_volt_amps,
            heat_watts: study.heat_watts,
        }
    });
    circuit.collect()
}

fn cables_used(design: &Design) -> Vec<CableUse> {
    let used = cables::document(design).totals;
    let types = design.job.catalogue.cables.iter();
    let types =
        types.filter(|part| used.iter().any(|total| part.id.as_str().eq_ignore_ascii_case(&total.cable)));
    let cable = types.map(|part| CableUse {
        cable: part.id.to_string(),
        made: format!("{} AWG, {} conductors, {}", part.gauge, part.conductors, part.stranding.word()),
        listing: part.listing.map(listed),
        wet: part.wet,
        sunlight: part.sunlight,
    });
    cable.collect()
}

fn marking(design: &Design) -> Vec<Marking> {
    let mut all = Vec::new();
    for supply in design.job.panels.iter().flat_map(|panel| &panel.supplies) {
        let part = design.index.supply_type(&design.job, &supply.part);
        let outputs = design.study.outputs.iter().filter(|output| output.output.supply.same(&supply.id));
        let outputs = outputs.filter(|output| !output.runs.is_empty()).map(|output| MarkedOutput {
            output: output.output.to_string(),
            runs: output.runs.iter().map(|&run| design.network.runs[run].id.to_string()).collect(),
        });
        all.push(Marking {
            supply: supply.id.to_string(),
            class_2: part.is_some_and(|part| part.kind.is_class_2()),
            outputs: outputs.collect(),
        });
    }
    all
}

fn found(design: &Design) -> Vec<Finding> {
    let groups = grouped(&design.findings);
    let found = groups.iter().filter_map(|group| {
        let worst = group.worst()?;
        Some(Finding {
            code: worst.code,
            severity: worst.severity,
            what: group.what(),
            source: worst.source.clone(),
            accepted_by: worst.accepted.as_ref().map(|accepted| accepted.by.clone()),
            reason: worst.accepted.as_ref().map(|accepted| accepted.reason.clone()),
        })
    });
    found.collect()
}
