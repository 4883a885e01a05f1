//! Home runs on their outputs: moved with one key, pinned, let go.

use super::App;
use crate::format;
use crate::job::edit::Edit;
use crate::job::{Id, Kind, Subject};
use crate::plan::balance::{Both, OutputLoad, move_run, outputs_for};

impl App {
    /// Moves the home run under the cursor to the output before or after its own, and says what both carry then.
    pub(super) fn move_to_next_output(&mut self, after: bool) {
        if !self.writable() {
            return;
        }
        let run = self.subject_here().filter(|here| here.kind == Kind::Cable);
        let run =
            run.and_then(|here| Id::new(&here.id).ok()).filter(|id| self.design.network.run(id).is_some());
        let Some(run) = run else {
            self.say("put the cursor on a home run: < and > move it to the output before or after");
            return;
        };
        let (outputs, at) = outputs_for(&self.design, &run);
        let to = match (at, after) {
            (Some(at), true) => outputs.get(at + 1),
            (Some(at), false) => at.checked_sub(1).and_then(|at| outputs.get(at)),
            (None, true) => outputs.first(),
            (None, false) => outputs.last(),
        };
        let Some(to) = to else {
            let end = if after { "last" } else { "first" };
            self.say(match outputs.len() {
                0 => format!("there is no output that {run} could be on"),
                _ => format!("{run} is on the {end} output of its panel and volts"),
            });
            return;
        };
        match move_run(&self.design, &run, to) {
            Ok(both) => self.take_move(&run, both),
            Err(problem) => self.say(format!("not moved: {}", problem.what)),
        }
    }

    fn take_move(&mut self, run: &Id, both: Both) {
        let to = &both.to.1.output;
        let label = match &both.from {
            Some((from, _)) => format!("move {run} from {} to {to}", from.output),
            None => format!("put {run} on {to}"),
        };
        let target = self.design.job.settings.target_load_percent.get();
        let mut said = vec![label.clone()];
        said.extend(both.from.iter().map(|(before, then)| change(before, then, target)));
        said.push(change(&both.to.0, &both.to.1, target));
        match self.commit(label, both.edit) {
            Ok(()) => self.say(format!("{}; u undoes it", said.join("; "))),
            Err(reason) => self.say(format!("not moved: {reason}")),
        }
    }

    /// Pins the home run, all runs of the output, or the supply under the cursor; unpins what is pinned.
    pub(super) fn pin(&mut self) {
        if !self.writable() {
            return;
        }
        let Some(here) = self.subject_here() else {
            self.say("there is nothing to pin on this line");
            return;
        };
        let (kind, ids) = match here.kind {
            Kind::Supply => (Kind::Supply, vec![here.id.clone()]),
            Kind::Cable => (Kind::Cable, vec![here.id.clone()]),
            Kind::Output => {
                let output = self.design.study.outputs.iter().find(|o| o.output.to_string() == here.id);
                let runs = output.map(|output| output.runs.as_slice()).unwrap_or_default();
                (Kind::Cable, runs.iter().map(|&run| self.design.network.runs[run].id.to_string()).collect())
            }
            _ => (here.kind, Vec::new()),
        };
        let things: Vec<Subject> = ids.into_iter().map(|id| Subject::new(kind, id)).collect();
        let pinned: Vec<bool> = things.iter().filter_map(|thing| self.pinned(thing)).collect();
        if things.is_empty() || pinned.len() < things.len() {
            self.say("a home run can be pinned to its output, and a supply to its slot; this is neither");
            return;
        }
        let pin = pinned.contains(&false);
        let edits: Vec<Edit> = things
            .iter()
            .map(|thing| Edit::Set { subject: thing.clone(), field: "pinned".into(), value: pin.into() })
            .collect();
        let word = if pin { "pin" } else { "unpin" };
        let what = match things.as_slice() {
            [one] => one.to_string(),
            many => format!("the {} home runs of {here}", many.len()),
        };
        let stays = match (pin, kind) {
            (true, Kind::Supply) => "it keeps its slot in every proposal",
            (true, _) => "no balance moves it",
            (false, _) => "proposals may move it",
        };
        let label = format!("{word} {what}");
        match self.commit(label.clone(), Edit::Together(edits)) {
            Ok(()) => self.say(format!("{label}: {stays}; u undoes it")),
            Err(reason) => self.say(format!("not done: {reason}")),
        }
    }

    /// Whether a thing is pinned; none if it can't be, as a run that is on no output or a supply in no slot.
    fn pinned(&self, thing: &Subject) -> Option<bool> {
        let id = Id::new(&thing.id).ok()?;
        if thing.kind == Kind::Supply {
            let (_, supply) = self.design.index.supply(&self.design.job, &id)?;
            return supply.slot.map(|_| supply.pinned);
        }
        let run = &self.design.network.runs[self.design.network.run(&id)?];
        run.output.as_ref()?;
        let at = run.feeds.first()?;
        let feed = &self.design.job.boxes[at.wall_box].feeds[at.feed];
        feed.id.same(&id).then_some(feed.pinned)
    }
}

/// An output before and after.
fn change(before: &OutputLoad, then: &OutputLoad, target: f64) -> String {
    let over = if then.percent > 100.0 {
        " OVER"
    } else if then.percent > target {
        " over target"
    } else {
        ""
    };
    format!(
        "{} {} -> {} ({} -> {}{over})",
        then.output,
        format::watts(Some(before.watts)),
        format::watts(Some(then.watts)),
        format::percent(Some(before.percent)),
        format::percent(Some(then.percent)),
    )
}
