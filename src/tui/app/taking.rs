//! What comes from outside: another job's catalogue and settings, a table of rooms, pasted text. Nothing of it is taken
//! before a question that says what it comes to.

use super::super::action::Effect;
use super::super::form::tool::Tool;
use super::super::form::tool::cells::{Cells, MOST_COLUMNS};
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
        // Headings that are fields of what is marked are meant for that.
        let fields = self.marks.first().is_some_and(|first| Cells::head(&self.design, first, lines[0]));
        if lines.len() > 1 && has_headings(lines[0]) && !fields && (self.marks.is_empty() || cells(lines[0]))
        {
            self.take_table("the pasted table", &text);
            return;
        }
        self.paste_cells(&text);
    }

    /// Pastes cells over what is marked, or from the line of the cursor down: a row for each thing, a column for each
    /// field. A form asks which fields, and shows what it comes to, before anything is changed.
    fn paste_cells(&mut self, text: &str) {
        let Some(mut cells) = Cells::of(text) else {
            self.say("not pasted: it is no block of cells");
            return;
        };
        let first = self.marks.first().cloned().or_else(|| self.subject_here());
        if let Some(first) = &first {
            cells.take_headings(&self.design, first);
        }
        let (rows, columns) = (cells.rows(), cells.columns());
        let marked = self.marks.len();
        let below = if marked == 0 { self.lines_down(rows) } else { self.marks.clone() };
        let said = match first {
            _ if columns > MOST_COLUMNS => {
                format!("not pasted: {columns} columns; at most {MOST_COLUMNS} are taken at once")
            }
            None => "not pasted: nothing is marked (v), and the cursor is on nothing that has fields".into(),
            Some(_) if marked == 0 && rows == 1 && columns == 1 => {
                "not pasted: open the field it is for (e), or mark (v) what it goes into".into()
            }
            Some(_) if marked > 0 && rows != marked => {
                format!("not pasted: {rows} lines for {marked} marked; they must be as many")
            }
            Some(first) if below.len() < rows => format!(
                "not pasted: {rows} lines, and {} from the cursor down; its first line holds no headings of the \
                 table of rooms",
                match below.len() {
                    1 => format!("1 {}", first.kind.word()),
                    count => format!("{count} {}", first.kind.plural()),
                }
            ),
            Some(_) => return self.open_tool(Tool::Paste(below, cells)),
        };
        self.say(said);
    }

    /// The thing under the cursor and those like it on the lines below, so many at most.
    fn lines_down(&self, most: usize) -> Vec<Subject> {
        let Some(here) = self.subject_here() else { return Vec::new() };
        let mut all = vec![here.clone()];
        let (listing, scroll) = self.current();
        let Some(listing) = listing.filter(|_| !self.view.is_picture()) else { return all };
        let mut line = scroll.cursor;
        while all.len() < most
            && let Some(next) = self.next_like(&here, line)
        {
            line = next;
            // A thing may stand on several lines.
            let subject = listing.subject(&self.design, next);
            all.extend(subject.filter(|subject| !all.contains(subject)));
        }
        all
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Whether a line holds the heading that no table of rooms is without: a level or a room.
fn has_headings(line: &str) -> bool {
    let is = |column: Col| matches!(column, Col::Level | Col::Room);
    line.split(['\t', ',', ';']).any(|cell| Col::of(cell.trim().trim_matches('"')).is_some_and(is))
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
