//! From where to where the figures of a thing go while something is open, in a line.

use super::names::loop_at;
use super::voltages::ranged;
use crate::design::Design;
use crate::format::{self, Quantity, Text};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{ControlAt, FeedAt, LoopAt};
use crate::study::{Of, Range, RunStudy, in_words};

/// The ranges of a thing's figures with the choice that makes them worst; nothing where none of them is open.
pub fn of(design: &Design, subject: &Subject) -> Option<Text> {
    let words = match subject.kind {
        Kind::Output => {
            let output = design.study.outputs.iter().find(|o| o.output.to_string() == subject.id)?;
            let ranges = output.ranges.as_ref()?;
            let percent = format::whole_percent(ranges.percent.span());
            line(&[ranged(Quantity::Watts, output.watts, Some(&ranges.watts)), percent], &ranges.watts, true)
        }
        Kind::Panel => {
            let panel = design.study.panels.iter().find(|p| p.panel.as_str() == subject.id)?;
            let watts = panel.ranges.as_ref()?.ac_watts.as_ref()?;
            line(&[format!("AC {}", ranged(Quantity::Watts, panel.ac_watts, Some(watts)))], watts, true)
        }
        kind => match design.index.spot(kind, &Id::new(&subject.id).ok()?)? {
            Spot::Ceiling { wall_box, control, at, ceiling } => {
                light(design, LoopAt { control: ControlAt { wall_box, control }, at }, ceiling)?
            }
            Spot::Feed { wall_box, feed } => feed_line(design, FeedAt { wall_box, feed })?,
            Spot::WallBox(wall_box) => {
                let feeds = design.job.boxes.get(wall_box)?.feeds.len();
                (0..feeds).find_map(|feed| feed_line(design, FeedAt { wall_box, feed }))?
            }
            _ => return None,
        },
    };
    Some(words.into())
}

/// Figures that go from to, and with which choice they are worst.
fn line(figures: &[String], range: &Range, most: bool) -> String {
    let choice = if most { &range.most_choice } else { &range.least_choice };
    let worst = match in_words(choice) {
        words if words.is_empty() => "* a bound: too many are open to try each".to_owned(),
        words => format!("worst with {words}"),
    };
    format!("open: {}; {worst}", figures.join(", "))
}

fn light(design: &Design, at: LoopAt, ceiling: usize) -> Option<String> {
    let run = *design.network.run_of_control.get(&at.control)?;
    let study = design.study.run(&design.network, run)?;
    let number = study.lights.iter().position(|light| light.at == at && light.ceiling == ceiling)?;
    let light = &study.lights[number];
    let ranged =
        |quantity, figure, of: Of| study.range(of).map(|range| ranged(quantity, figure, Some(range)));
    let figures: Vec<String> = [
        ranged(Quantity::Volts, light.volts, Of::Volts(number)),
        ranged(Quantity::Percent, light.drop_percent, Of::DropPercent(number))
            .map(|drop| format!("drop {drop}")),
        ranged(Quantity::Watts, light.watts, Of::Watts(number)),
    ]
    .into_iter()
    .flatten()
    .collect();
    let range = study.range(Of::Volts(number)).or_else(|| study.range(Of::Watts(number)))?;
    let id = &loop_at(design, at).2.ceiling[ceiling].id;
    let least = study.range(Of::Volts(number)).is_some();
    Some(format!("{id} {}", line(&figures, range, !least)))
}

fn feed_line(design: &Design, at: FeedAt) -> Option<String> {
    let &(run, position) = design.network.run_of_feed.get(&at)?;
    let study: &RunStudy = design.study.run(&design.network, run)?;
    let range = study.range(Of::SourceWatts)?;
    let volts = study.feed_volts.get(position)?.1;
    let figures = [
        ranged(Quantity::Watts, study.source_watts, Some(range)),
        ranged(Quantity::Amps, study.source_amps, study.range(Of::SourceAmps)),
        format!("{} at its end", ranged(Quantity::Volts, volts, study.range(Of::FeedVolts(position)))),
    ];
    Some(format!("{} {}", design.network.runs[run].id, line(&figures, range, true)))
}
