//! What is tied wrongly, put into words.

use super::finding::{Finding, Unit};
use super::place::list;
use super::{Check, Seen, list as codes};
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind, Subject};
use crate::network::NetworkFlaw;

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for flaw in &seen.network.flaws {
        findings.push(finding(seen, flaw));
        if let NetworkFlaw::Interconnected { outputs, by, .. } = flaw {
            unlike(seen, outputs, by, findings);
        }
    }
}

fn finding(seen: Seen<'_>, flaw: &NetworkFlaw) -> Finding {
    let boxes = &seen.job.boxes;
    let run_id = |run: &usize| &seen.network.runs[*run].id;
    let runs = |runs: &[usize]| list(runs.iter().map(|run| run_id(run).to_string()));
    let error = |check: &Check, subject, what: String, remedy: &str| seen.find(check, subject, what, remedy);
    match flaw {
        NetworkFlaw::BoxWithoutFeed { wall_box } => error(
            &codes::NO_FEED,
            Subject::new(Kind::WallBox, &boxes[*wall_box].id),
            format!("nothing feeds wall box {}", boxes[*wall_box].id),
            "give it a home run from a panel, or feed it onward from another wall box",
        ),
        NetworkFlaw::FeedNotNamed { control } => {
            let wall_box = &boxes[control.wall_box];
            let id = &wall_box.controls[control.control].id;
            error(
                &codes::FEED_UNSAID,
                Subject::new(Kind::Control, id),
                format!(
                    "{} feeds come to wall box {}; control {id} is on none of them",
                    wall_box.feeds.len(),
                    wall_box.id
                ),
                "name the feed the control is on",
            )
        }
        NetworkFlaw::AllowanceOnManyFeeds { wall_box } => error(
            &codes::FEED_UNSAID,
            Subject::new(Kind::WallBox, &boxes[*wall_box].id),
            format!("wall box {} has an allowance and several feeds to carry it", boxes[*wall_box].id),
            "lay the box out, or leave it one feed until then",
        ),
        NetworkFlaw::ControlWithoutLoop { control } => {
            let id = &boxes[control.wall_box].controls[control.control].id;
            seen.find(
                &codes::IDLE_CONTROL,
                Subject::new(Kind::Control, id),
                format!("control {id} drives no loop and belongs to no group"),
                "give it a loop, make it a remote point of a group, or take it out",
            )
        }
        NetworkFlaw::RunOnNoOutput { run } => error(
            &codes::NO_OUTPUT,
            Subject::new(Kind::Cable, run_id(run)),
            format!("home run {} is on no output, so nothing on it can be computed", run_id(run)),
            "land it on an output with watts and a terminal to spare",
        ),
        NetworkFlaw::Interconnected { outputs, runs: meeting, by } => seen.find(
            &codes::INTERCONNECTED,
            by.first().map_or_else(|| first_output(outputs), |id| Subject::new(Kind::Cable, id)),
            format!("{} meet by way of {} (runs {})", all(outputs), cables(by), runs(meeting)),
            "Class 2 outputs are never interconnected: bring each loop back to the control it left from",
        ),
        NetworkFlaw::IsolationUnknown { link, outputs } => seen.find(
            &codes::ISOLATION,
            Subject::new(Kind::Cable, link),
            format!("link {link} runs between {}, and whether it joins them is unknown", all(outputs)),
            "state in the catalogue whether the controls' link is isolated, or put both on one output",
        ),
        NetworkFlaw::DeadShort { at } => {
            let control = &boxes[at.control.wall_box].controls[at.control.control];
            let id = &control.loops[at.at].id;
            error(
                &codes::DEAD_SHORT,
                Subject::new(Kind::Cable, id),
                format!("loop {id} is fed from both ends with + and - exchanged at one: a dead short"),
                "land the return like to like, or cap it",
            )
        }
        NetworkFlaw::DoubleFeed { runs: meeting, by } => seen.find(
            &codes::DOUBLE_FEED,
            by.first().map_or_else(|| Subject::new(Kind::Cable, "?"), |id| Subject::new(Kind::Cable, id)),
            format!("runs {} feed each other by way of {}", runs(meeting), cables(by)),
            "bring each loop back to the control it left from: opening one run would leave this one live",
        ),
    }
}

/// Outputs of different volts that meet are worse than like ones: the higher drives current back into the lower.
fn unlike(seen: Seen<'_>, outputs: &[OutputRef], by: &[Id], findings: &mut Vec<Finding>) {
    let volts: Vec<f64> = outputs
        .iter()
        .filter_map(|output| seen.index.supply(seen.job, &output.supply))
        .filter_map(|(_, supply)| seen.index.supply_type(seen.job, &supply.part))
        .map(|part| part.volts.get())
        .collect();
    let (least, most) = volts.iter().fold((f64::MAX, 0.0_f64), |(l, m), &v| (l.min(v), m.max(v)));
    if most > least {
        let subject = by.first().map_or_else(|| first_output(outputs), |id| Subject::new(Kind::Cable, id));
        findings.push(
            seen.find(
                &codes::UNLIKE_OUTPUTS,
                subject,
                format!("{} give {least} V and {most} V, and meet by way of {}", all(outputs), cables(by)),
                "part them before anything is switched on: the higher drives current into the lower",
            )
            .figures(most, least, Unit::Volts),
        );
    }
}

fn cables(by: &[Id]) -> String {
    list(by.iter().map(Id::to_string))
}

fn all(outputs: &[OutputRef]) -> String {
    match outputs {
        [one] => format!("output {one} and a run on no output"),
        many => format!("outputs {}", list(many.iter().map(OutputRef::to_string))),
    }
}

fn first_output(outputs: &[OutputRef]) -> Subject {
    Subject::new(Kind::Output, outputs.first().map_or_else(|| "?".to_owned(), OutputRef::to_string))
}
