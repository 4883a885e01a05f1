//! What is tied wrongly, put into words.

use super::Seen;
use super::finding::{Finding, Severity, Source};
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind, Subject};
use crate::network::NetworkFlaw;

const APART: Source = Source::Standard("NEC 725.121(B) (2017)");

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    findings.extend(seen.network.flaws.iter().map(|flaw| finding(seen, flaw)));
}

fn finding(seen: Seen<'_>, flaw: &NetworkFlaw) -> Finding {
    let boxes = &seen.job.boxes;
    let run_id = |run: &usize| &seen.network.runs[*run].id;
    let runs = |runs: &[usize]| list(runs.iter().map(|run| run_id(run).to_string()));
    let error = |code, subject, what, remedy: &str| {
        Finding::plain(code, Severity::Error, subject, what, Source::Network, remedy)
    };
    match flaw {
        NetworkFlaw::BoxWithoutFeed { wall_box } => error(
            "no-feed",
            Subject::new(Kind::WallBox, &boxes[*wall_box].id),
            format!("nothing feeds wall box {}", boxes[*wall_box].id),
            "give it a home run from a panel, or feed it onward from another wall box",
        ),
        NetworkFlaw::FeedNotNamed { control } => {
            let wall_box = &boxes[control.wall_box];
            let id = &wall_box.controls[control.control].id;
            error(
                "feed-unsaid",
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
            "feed-unsaid",
            Subject::new(Kind::WallBox, &boxes[*wall_box].id),
            format!("wall box {} has an allowance and several feeds to carry it", boxes[*wall_box].id),
            "lay the box out, or leave it one feed until then",
        ),
        NetworkFlaw::ControlWithoutLoop { control } => {
            let id = &boxes[control.wall_box].controls[control.control].id;
            Finding::plain(
                "idle-control",
                Severity::Advice,
                Subject::new(Kind::Control, id),
                format!("control {id} drives no loop and belongs to no group"),
                Source::Network,
                "give it a loop, make it a remote point of a group, or take it out",
            )
        }
        NetworkFlaw::RunOnNoOutput { run } => error(
            "no-output",
            Subject::new(Kind::Cable, run_id(run)),
            format!("home run {} is on no output, so nothing on it can be computed", run_id(run)),
            "land it on an output with watts and a terminal to spare",
        ),
        NetworkFlaw::Interconnected { outputs, runs: meeting, by } => Finding::plain(
            "interconnected",
            Severity::Error,
            by.first().map_or_else(|| first_output(outputs), |id| Subject::new(Kind::Cable, id)),
            format!("{} meet by way of {} (runs {})", all(outputs), cables(by), runs(meeting)),
            APART,
            "Class 2 outputs are never interconnected: bring each loop back to the control it left from",
        ),
        NetworkFlaw::IsolationUnknown { link, outputs } => Finding::plain(
            "isolation",
            Severity::Error,
            Subject::new(Kind::Cable, link),
            format!("link {link} runs between {}, and whether it joins them is unknown", all(outputs)),
            APART,
            "state in the catalogue whether the controls' link is isolated, or put both on one output",
        ),
        NetworkFlaw::DeadShort { at } => {
            let control = &boxes[at.control.wall_box].controls[at.control.control];
            let id = &control.loops[at.at].id;
            error(
                "dead-short",
                Subject::new(Kind::Cable, id),
                format!("loop {id} is fed from both ends with + and - exchanged at one: a dead short"),
                "land the return like to like, or cap it",
            )
        }
        NetworkFlaw::DoubleFeed { runs: meeting, by } => Finding::plain(
            "double-feed",
            Severity::Error,
            by.first().map_or_else(|| Subject::new(Kind::Cable, "?"), |id| Subject::new(Kind::Cable, id)),
            format!("runs {} feed each other by way of {}", runs(meeting), cables(by)),
            Source::Network,
            "bring each loop back to the control it left from: opening one run would leave this one live",
        ),
    }
}

fn list(items: impl Iterator<Item = String>) -> String {
    items.collect::<Vec<_>>().join(", ")
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
