//! The figures of one thing in a line, for where a picture or a form has no room for a row.

use super::loading::{panel_line, run_and_box};
use super::names::called;
use super::outline::{self, Item};
use super::{Cell, Row};
use crate::design::Design;
use crate::format::{self, Text, UNKNOWN};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{Basis, CableLength, ControlAt, FeedAt, Lengths, LoopAt};

/// What is known of a thing in one line; nothing where the job has no such thing or it has no figures.
pub fn of(design: &Design, subject: &Subject) -> Option<Text> {
    if subject.kind == Kind::Output {
        return output(design, &subject.id);
    }
    let id = Id::new(&subject.id).ok()?;
    match design.index.spot(subject.kind, &id)? {
        Spot::Level(at) => Some(item(design, Item::Level(at))),
        Spot::Room { level, room } => Some(item(design, Item::Room { level, room })),
        Spot::WallBox(at) => Some(item(design, Item::WallBox(at))),
        Spot::Control { wall_box, control } => {
            Some(item(design, Item::Control(ControlAt { wall_box, control })))
        }
        Spot::Loop { wall_box, control, at } => {
            Some(item(design, Item::Loop(LoopAt { control: ControlAt { wall_box, control }, at })))
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let at = LoopAt { control: ControlAt { wall_box, control }, at };
            Some(item(design, Item::Ceiling(at, ceiling)))
        }
        Spot::Feed { wall_box, feed } => feed_words(design, FeedAt { wall_box, feed }),
        Spot::Link { group, link } => {
            let link = design.job.groups.get(group)?.links.get(link)?;
            let length = Lengths::new(&design.job, &design.index).link(link);
            let (from, to) = (&link.from, &link.to);
            Some(format!("{} link from {from} to {to}, {}", link.id, length_words(design, length)).into())
        }
        Spot::Panel(at) => {
            let (panel, study) = (design.job.panels.get(at)?, design.study.panels.get(at)?);
            Some(format!("{} {}: {}", panel.id, panel.name, panel_line(study)).into())
        }
        Spot::Supply { panel, supply } => {
            let supply = design.job.panels.get(panel)?.supplies.get(supply)?;
            let mine = design.study.outputs.iter().filter(|output| output.output.supply.same(&supply.id));
            let watts = mine.clone().try_fold(0.0, |sum, output| Some(sum + output.watts?));
            let limit = mine.clone().try_fold(0.0, |sum, output| Some(sum + output.limit_watts?));
            let part = design.index.supply_type(&design.job, &supply.part);
            let name = part.map_or_else(|| supply.part.to_string(), |part| called(&part.name, &part.id));
            let (watts, limit) = (format::watts(watts), format::watts(limit));
            Some(format!("{} {name}: {watts} of {limit}", supply.id).into())
        }
        _ => None,
    }
}

/// The cells of a row of the outline, with the heading where the unit alone does not say what a figure is.
fn item(design: &Design, item: Item) -> Text {
    let row: Row = outline::row(design, outline::Entry { depth: 0, item, has_below: false }, false);
    let unit = design.job.project.units;
    let columns = outline::columns();
    let cells = columns.iter().zip(&row.cells).filter(|(column, _)| column.key != "sign");
    let words: Vec<String> = cells
        .filter(|(_, cell)| !matches!(cell, Cell::Blank) && !cell.shown(unit).trim().is_empty())
        .map(|(column, cell)| match cell {
            Cell::Figure(..) | Cell::Span(..) => format!("{} {}", column.heading, cell.shown(unit)),
            _ => cell.shown(unit).trim().to_owned(),
        })
        .collect();
    words.join("; ").into()
}

fn output(design: &Design, id: &str) -> Option<Text> {
    let study = design.study.outputs.iter().find(|study| study.output.to_string() == id)?;
    let runs: Vec<String> = study.runs.iter().map(|&run| run_and_box(design, run)).collect();
    let runs = if runs.is_empty() { "free".to_owned() } else { runs.join(", ") };
    let (watts, limit) = (format::watts(study.watts), format::watts(study.limit_watts));
    Some(format!("{id}: {watts} of {limit}, {}; {runs}", format::percent(study.percent)).into())
}

fn feed_words(design: &Design, at: FeedAt) -> Option<Text> {
    let wall_box = design.job.boxes.get(at.wall_box)?;
    let feed = wall_box.feeds.get(at.feed)?;
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, feed);
    let run = design.network.run_of_feed.get(&at).map(|(run, _)| *run);
    let study = run.and_then(|run| design.study.run(&design.network, run));
    let cable = study.and_then(|study| study.cables.iter().find(|cable| cable.id == feed.id));
    let figures = format!(
        "{}, {} lost",
        format::amps(cable.and_then(|cable| cable.amps)),
        format::watts(cable.and_then(|cable| cable.loss_watts))
    );
    let to = called(&wall_box.name, &wall_box.id);
    let length = length_words(design, length);
    Some(format!("{} {} to {} {to}, {length}; {figures}", feed.id, feed.cable, wall_box.id).into())
}

fn length_words(design: &Design, length: Option<CableLength>) -> String {
    length.map_or_else(
        || format!("length {UNKNOWN}"),
        |known| {
            let basis = match known.basis {
                Basis::Pulled => "pulled",
                Basis::Measured => "measured",
                Basis::Estimated => "estimated",
            };
            format!("{} {basis}", known.length.shown(design.job.project.units))
        },
    )
}
