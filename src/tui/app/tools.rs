//! The fast ways: repeat, move, propose, fill down, delete with what depends on it.

use super::super::form::Form;
use super::super::form::tool::Tool;
use super::App;
use crate::job::edit::{Edit, apply};
use crate::job::{Id, Job, Kind, Subject};
use crate::plan::{delete, place};

impl App {
    /// Opens a form that asks how something is to be done, or says why it cannot be done.
    pub(super) fn open_tool(&mut self, tool: Tool) {
        if !self.writable() {
            return;
        }
        match Form::tool(&self.design, tool) {
            Ok(form) => self.form = Some(form),
            Err(reason) => self.say(reason),
        }
    }

    /// Asks how often the thing under the cursor is to be copied, and how far apart.
    pub(super) fn repeat(&mut self) {
        match self.subject_here() {
            Some(subject) => self.open_tool(Tool::Repeat(subject, self.marks.clone())),
            None => self.say("there is nothing to repeat on this line"),
        }
    }

    /// Asks where the thing under the cursor is to go, with all that is marked of its kind if it is marked.
    pub(super) fn move_thing(&mut self) {
        let Some(here) = self.subject_here() else {
            self.say("there is nothing to move on this line");
            return;
        };
        let together = if self.marks.contains(&here) {
            self.marks.iter().filter(|mark| mark.kind == here.kind).cloned().collect()
        } else {
            vec![here]
        };
        self.open_tool(Tool::Move(together));
    }

    /// Moves the thing under the cursor one place up or down in its list.
    pub(super) fn shift(&mut self, down: bool) {
        if !self.writable() {
            return;
        }
        let Some(here) = self.subject_here() else {
            self.say("there is nothing to move on this line");
            return;
        };
        let (way, end) = if down { ("down", "last") } else { ("up", "first") };
        match place::step(&self.design.job, &here, down) {
            Ok(Some(edit)) => {
                let label = format!("move {here} {way}");
                match self.commit(label.clone(), edit) {
                    Ok(()) => {
                        self.show_made(&here);
                        self.say(format!("{label}; u undoes it"));
                    }
                    Err(reason) => self.say(format!("not moved: {reason}")),
                }
            }
            Ok(None) => self.say(format!("{here} is the {end} in its list")),
            Err(_) => self.say(format!("{here} stands in no list, so it cannot be moved")),
        }
    }

    /// Proposes lights for the room under the cursor.
    pub(super) fn propose(&mut self) {
        let room = self
            .subject_here()
            .filter(|here| here.kind == Kind::Room)
            .and_then(|here| Id::new(&here.id).ok());
        match room {
            Some(room) => self.open_tool(Tool::Propose(room)),
            None => self.say("put the cursor on a room: lights are proposed for a room"),
        }
    }

    /// Gives a field of everything marked the value of the first that was marked.
    pub(super) fn fill_down(&mut self) {
        if self.marks.len() < 2 {
            self.say("mark at least two things with v: the others get what the first has");
            return;
        }
        self.open_tool(Tool::FillDown(self.marks.clone()));
    }

    /// Takes the thing under the cursor away, or everything that is marked, and says what went with it.
    pub(super) fn delete(&mut self) {
        if !self.writable() {
            return;
        }
        let subjects: Vec<Subject> = if self.marks.is_empty() {
            self.subject_here().into_iter().collect()
        } else {
            self.marks.clone()
        };
        let label = match subjects.as_slice() {
            [] => {
                self.say("there is nothing to delete on this line");
                return;
            }
            [one] => format!("delete {one}"),
            many => format!("delete {} marked", many.len()),
        };
        let (edit, goes) = match sweep(&self.design.job, &subjects) {
            Ok(swept) => swept,
            Err(reason) => {
                self.say(format!("not deleted: {reason}"));
                return;
            }
        };
        match self.commit(label.clone(), edit) {
            Ok(()) if goes.is_empty() => self.say(format!("{label}; u undoes it")),
            Ok(()) => self.say(format!("{label}; u undoes it; {}", goes.join("; "))),
            Err(reason) => self.say(format!("not deleted: {reason}")),
        }
    }
}

/// Deletes things one after the other, those first that nothing keeps; gives what went with them.
fn sweep(job: &Job, subjects: &[Subject]) -> Result<(Edit, Vec<String>), String> {
    if let [one] = subjects {
        let goes = delete::dependents(job, one).map_err(|error| error.to_string())?.goes;
        return Ok((delete::delete(job, one).map_err(|error| error.to_string())?, goes));
    }
    let mut trial = job.clone();
    let (mut edits, mut said) = (Vec::new(), Vec::new());
    let mut left: Vec<&Subject> = subjects.iter().collect();
    while !left.is_empty() {
        let (mut kept, mut reason) = (Vec::new(), None);
        for subject in &left {
            match delete::delete(&trial, subject) {
                Ok(edit) => {
                    let dependents =
                        delete::dependents(&trial, subject).map_err(|error| error.to_string())?;
                    said.extend(dependents.goes.into_iter().map(|line| format!("{subject}, {line}")));
                    apply(&mut trial, edit.clone()).map_err(|error| error.to_string())?;
                    edits.push(edit);
                }
                // It went with another that is marked too.
                Err(delete::DeleteError::Missing(_)) => {}
                Err(why) => {
                    reason = reason.or(Some(why.to_string()));
                    kept.push(*subject);
                }
            }
        }
        if kept.len() == left.len() {
            return Err(reason.unwrap_or_default());
        }
        left = kept;
    }
    Ok((Edit::Together(edits), said))
}
