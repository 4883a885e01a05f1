//! What comes from outside: another job's catalogue and settings, a table of rooms, pasted text. Nothing of it is taken
//! before a question that says what it comes to.

use super::super::action::Effect;
use super::super::form::tool::Tool;
use super::super::question::{Answer, Question};
use super::App;
use crate::intake::{self, Col};
use crate::job::edit::Edit;
use crate::job::{Job, Kind, Subject};
use crate::plan::takeover::{What, take_over};

/// Something that is done if a question is answered so.
#[derive(Debug, Clone)]
pub(super) struct Pending {
    pub label: String,
    pub edit: Edit,
    pub show: Option<Subject>,
}

impl App {
    /// Asks what to take over of another job that was read from that file.
    pub fn take_over_from(&mut self, file: &str, other: &Job) {
        let job = &self.design.job;
        let all = take_over(job, other, &What::All, true);
        let catalogue = take_over(job, other, &What::Catalogue, false);
        let settings = take_over(job, other, &What::Settings, false);
        let replaced = take_over(job, other, &What::Catalogue, true);
        let both = take_over(job, other, &What::All, false);
        let few = |subjects: &[Subject]| {
            let mut words: Vec<String> = subjects.iter().take(8).map(Subject::to_string).collect();
            if subjects.len() > words.len() {
                words.push(format!("and {} more", subjects.len() - words.len()));
            }
            words.join(", ")
        };
        let mut lines = Vec::new();
        match all.new.len() {
            0 => lines.push("It has no entry that is not here.".to_owned()),
            n => lines.push(format!("{n} new here: {}", few(&all.new))),
        }
        if all.same > 0 {
            lines.push(format!("{} the same here", all.same));
        }
        if !all.differing.is_empty() {
            let n = all.differing.len();
            lines
                .push(format!("{n} with an id that stands for something else here: {}", few(&all.differing)));
            lines.push("These stay as they are here, unless 'replace' is chosen.".to_owned());
        }
        let fields: Vec<String> = parts(&settings.edit)
            .filter_map(|edit| match edit {
                Edit::Set { field, .. } => Some(field.replace('_', " ")),
                _ => None,
            })
            .collect();
        lines.push(match fields.len() {
            0 => "Its settings are the same.".to_owned(),
            _ => format!("Settings that differ: {}", fields.join(", ")),
        });
        let choices = [
            ('c', "new entries", catalogue.edit, "take over catalogue entries"),
            ('s', "settings", settings.edit, "take over settings"),
            ('b', "both", both.edit, "take over catalogue entries and settings"),
            ('r', "new entries, and replace those that differ", replaced.edit, "take over the catalogue"),
        ];
        let mut known: Vec<Edit> = vec![Edit::Together(Vec::new())];
        let mut answers = Vec::new();
        self.pending.clear();
        for (key, word, edit, what) in choices {
            // What comes to nothing, or to the same as an answer before it, is not offered.
            if known.contains(&edit) {
                continue;
            }
            known.push(edit.clone());
            answers.push(Answer { key, word, effect: Effect::Take(self.pending.len()) });
            self.pending.push(Pending { label: format!("{what} of {file}"), edit, show: None });
        }
        self.ask(Question {
            text: format!("What is to be taken over from {file}?"),
            lines,
            answers,
            may_wait: true,
        });
    }

    /// Asks whether to take a table of rooms, or says what is wrong with it. `source` is what it is called.
    pub fn take_table(&mut self, source: &str, text: &str) {
        if !self.writable() {
            return;
        }
        let taken = match intake::read(&self.design.job, text) {
            Ok(taken) => taken,
            Err(flaws) => {
                self.ask(Question {
                    text: format!("Nothing was made: {source} has {} mistakes.", flaws.0.len()),
                    lines: flaws.0.iter().map(ToString::to_string).collect(),
                    answers: Vec::new(),
                    may_wait: true,
                });
                return;
            }
        };
        let lines: Vec<String> = parts(&taken.edit).map(ToString::to_string).collect();
        if lines.is_empty() {
            self.say(format!("{source} makes nothing that is not here"));
            return;
        }
        let rooms = parts(&taken.edit).flat_map(Edit::subjects).find(|made| made.kind == Kind::Room);
        let show = rooms.or_else(|| parts(&taken.edit).flat_map(Edit::subjects).next());
        let label = format!("make {} from {source}", taken.made);
        self.pending = vec![Pending { label, edit: taken.edit, show }];
        self.ask(Question {
            text: format!("{} makes {}:", capital(source), taken.made),
            lines,
            answers: vec![Answer { key: 'y', word: "make it", effect: Effect::Take(0) }],
            may_wait: true,
        });
    }

    /// Does what an answer stands for.
    pub(super) fn take_pending(&mut self, number: usize) {
        let mut pending = std::mem::take(&mut self.pending);
        if number >= pending.len() {
            return;
        }
        let Pending { label, edit, show } = pending.swap_remove(number);
        match self.commit(label.clone(), edit) {
            Ok(()) => {
                if let Some(show) = show {
                    self.show_made(&show);
                }
                self.say(format!("{label}; u undoes it"));
            }
            Err(reason) => self.say(format!("not taken: {reason}")),
        }
    }

    /// Takes pasted text that goes into no field: a table of rooms, or a cell for each thing marked.
    pub(super) fn paste_block(&mut self, text: &str) {
        if self.question.is_some() {
            self.say("pasted text is no answer; nothing was changed");
            return;
        }
        if !self.writable() {
            return;
        }
        let text = text.replace("\r\n", "\n").replace('\r', "\n");
        let lines: Vec<&str> = text.trim_end_matches('\n').split('\n').collect();
        let cells = |line: &str| line.contains(['\t', ',', ';']);
        if lines.len() > 1 && has_headings(lines[0]) && (self.marks.is_empty() || cells(lines[0])) {
            self.take_table("the pasted table", &text);
            return;
        }
        let marked = self.marks.len();
        if marked == 0 {
            self.say(
                "not pasted: the first line holds no headings of the table of rooms, and nothing is marked (v) for \
                 its lines to go into",
            );
        } else if lines.iter().any(|line| line.contains('\t')) {
            self.say(
                "not pasted: copy one column to fill a field of what is marked, or a table with headings",
            );
        } else if lines.len() != marked {
            self.say(format!("not pasted: {} lines for {marked} marked; they must be as many", lines.len()));
        } else {
            let cells = lines.iter().map(|line| line.trim().to_owned()).collect();
            self.open_tool(Tool::FillCells(self.marks.clone(), cells));
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Whether a line holds a heading of the table of rooms.
fn has_headings(line: &str) -> bool {
    line.split(['\t', ',', ';']).any(|cell| Col::of(cell.trim().trim_matches('"')).is_some())
}

/// The single edits of one.
fn parts(edit: &Edit) -> impl Iterator<Item = &Edit> {
    let mut flat = Vec::new();
    flatten(edit, &mut flat);
    flat.into_iter()
}

fn flatten<'a>(edit: &'a Edit, flat: &mut Vec<&'a Edit>) {
    match edit {
        Edit::Together(edits) => edits.iter().for_each(|edit| flatten(edit, flat)),
        edit => flat.push(edit),
    }
}

/// The first thing of a kind that an edit adds.
pub(super) fn first_made(edit: &Edit, kind: Kind) -> Option<Subject> {
    parts(edit)
        .find(|edit| matches!(edit, Edit::Insert { kind: made, .. } if *made == kind))
        .and_then(|edit| edit.subjects().into_iter().next())
}
