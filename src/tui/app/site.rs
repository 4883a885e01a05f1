//! What is done and read on site, entered as fast as a second person reads it out.
//!
//! Space takes the next step of a cable or box as done, or a reading as expected, and goes on; Enter lets the figure, the
//! foot marks or the offsets be typed, and goes on to the next reading of the same cable at once.

use super::super::input::Input;
use super::super::listing::Line;
use super::super::question::Question;
use super::{App, Asked, Prompt, View};
use crate::job::edit::Edit;
use crate::job::site::{Done, Figure, Offset, Reading, Step, Test};
use crate::job::value::held;
use crate::job::{Id, Kind, Subject};
use crate::schedule::{options, site_rows};
use crate::site::{self, Taking};
use crate::units::Length;
use jiff::civil::Date;
use serde_json::{Value, json};

/// Who enters, with what meter, how warm it is.
#[derive(Debug, Clone, Default)]
pub(in crate::tui) struct Clerk {
    /// Today, where somebody told.
    pub today: Option<Date>,
    meter: Option<Id>,
    celsius: Option<f64>,
    by: String,
}

impl Clerk {
    /// How the next readings will be taken.
    pub(in crate::tui) const fn taking(&self) -> Taking<'_> {
        Taking::By { meter: self.meter.as_ref(), celsius: self.celsius }
    }

    /// The day and the initials; none while neither is known.
    fn done(&self) -> Option<Done> {
        (self.today.is_some() || !self.by.is_empty()).then(|| Done { on: self.today, by: self.by.clone() })
    }
}

impl App {
    /// Says which day it is.
    pub fn set_today(&mut self, today: Date) {
        self.clerk.today = Some(today);
    }

    /// The thing and the test the cursor stands on.
    fn site_here(&self) -> Option<(Subject, Option<Test>)> {
        let (listing, scroll) = self.current();
        match listing?.lines.get(scroll.cursor)? {
            Line::Row(row) => Some((row.subject.clone()?, site_rows::test_of(row))),
            _ => None,
        }
    }

    /// Takes a reading as expected, or the next step as done, and goes on.
    pub(super) fn as_expected(&mut self) {
        if !self.writable() {
            return;
        }
        match self.site_here() {
            Some((subject, Some(test))) => {
                let _ = self.take_reading(&subject, test, "ok");
            }
            Some((subject, None)) => self.next_step(&subject),
            None => self.say("there is nothing to enter on this line"),
        }
    }

    /// Lets what was read be typed.
    pub(super) fn type_site(&mut self) {
        if !self.writable() {
            return;
        }
        let Some((subject, test)) = self.site_here() else {
            self.say("there is nothing to enter on this line");
            return;
        };
        let id = Id::new(&subject.id).ok();
        let note = match (&test, subject.kind) {
            (Some(test), _) => id.map_or_else(String::new, |id| {
                site_rows::expected_words(&self.design, &id, test, self.clerk.taking())
            }),
            (None, Kind::Cable) => {
                format!("{}: foot marks at its start and its end, like 412 350", subject.id)
            }
            (None, _) => {
                format!("{}: offsets from two walls, like north wall 4'2 / east wall 3'0", subject.id)
            }
        };
        let asked = if test.is_some() { Asked::Reading } else { Asked::Record };
        self.prompt = Some(Prompt { note: Some(note), ..Prompt::new(asked, Input::default()) });
    }

    /// Asks who enters and with what.
    pub(super) fn ask_clerk(&mut self) {
        let clerk = &self.clerk;
        let meter = clerk.meter.as_ref().map(|meter| format!("{meter} "));
        let warm = clerk.celsius.map(|celsius| format!("{celsius} C "));
        let text = format!("{}{}{}", meter.unwrap_or_default(), warm.unwrap_or_default(), clerk.by);
        let have: Vec<String> =
            self.design.job.catalogue.meters.iter().map(|meter| meter.id.to_string()).collect();
        let note = if have.is_empty() {
            "meters: none in the catalogue".to_owned()
        } else {
            format!("meters: {}", have.join(", "))
        };
        self.prompt = Some(Prompt { note: Some(note), ..Prompt::new(Asked::Clerk, Input::new(text.trim())) });
    }

    /// Takes who enters and with what, in any order: a meter's id, a temperature, initials.
    pub(super) fn clerk_taken(&mut self, text: &str) {
        let (mut meter, mut celsius, mut by) = (None, None, Vec::new());
        for word in text.split_whitespace() {
            let known =
                self.design.job.catalogue.meters.iter().find(|m| m.id.as_str().eq_ignore_ascii_case(word));
            if let Some(known) = known {
                meter = Some(known.id.clone());
            } else if word.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
                let read: Result<Reading, String> = format!("insulation: 1 at {word}").parse();
                match read {
                    Ok(read) => celsius = read.celsius,
                    Err(why) => return self.say(why),
                }
            } else if !["C", "F"].contains(&word) {
                by.push(word);
            }
        }
        self.clerk = Clerk { today: self.clerk.today, meter, celsius, by: by.join(" ") };
        // What is expected next hangs on the meter and on how warm it is.
        self.listings[View::Site.number()] = None;
        self.prepare(View::Site);
        let meter = self.clerk.meter.as_ref().map_or("a meter not named".into(), ToString::to_string);
        let who = if self.clerk.by.is_empty() { "nobody named" } else { &self.clerk.by };
        self.say(format!("from now on: {meter}, {who}"));
    }

    /// Takes the figure that was typed; empty is as expected.
    pub(super) fn reading_taken(&mut self, text: &str) {
        let Some((subject, Some(asked))) = self.site_here() else { return };
        let figure = if text.is_empty() { "ok" } else { text };
        match self.take_reading(&subject, asked, figure) {
            Ok(()) => {
                // On to the next reading of the same cable.
                if let Some((next, Some(_))) = self.site_here()
                    && next == subject
                {
                    let said = self.message.take();
                    self.type_site();
                    self.message = said;
                }
            }
            Err(why) => {
                let prompt = Prompt::new(Asked::Reading, Input::new(text));
                self.prompt = Some(Prompt { note: Some(why), ..prompt });
            }
        }
    }

    fn take_reading(&mut self, subject: &Subject, test: Test, figure: &str) -> Result<(), String> {
        let figure: Figure = figure.parse()?;
        let reading = Reading {
            meter: self.clerk.meter.clone(),
            celsius: self.clerk.celsius,
            by: self.clerk.done(),
            ..Reading::new(test, figure)
        };
        let value =
            held(&self.design.job, &self.design.index, subject).map(|held| held.value).unwrap_or_default();
        let mut readings = value.get("readings").and_then(Value::as_array).cloned().unwrap_or_default();
        readings.push(json!(reading.to_string()));
        let label = format!("read {} of {}", reading.test, subject.id);
        self.enter(subject, &label, "readings", Value::Array(readings))
    }

    /// Puts down the next step of a cable or box.
    fn next_step(&mut self, subject: &Subject) {
        let Some(done) = self.clerk.done() else {
            return self.say("first say who enters it: press D");
        };
        let step = site::stands(&self.design).iter().find(|s| s.subject == *subject).map(|stand| stand.step);
        let Some((step, field)) = step.and_then(Step::next).and_then(|next| Some((next, next.field()?)))
        else {
            return self.say(format!("{subject} is done with"));
        };
        let label = format!("{} {}", step.word(), subject.id);
        let mut site = self.site_value(subject);
        put(&mut site, &["done", field], json!(done.to_string()));
        let _ = self.enter(subject, &label, "site", site);
    }

    fn site_value(&self, subject: &Subject) -> Value {
        let held = held(&self.design.job, &self.design.index, subject).map(|held| held.value);
        held.and_then(|value| value.get("site").cloned()).unwrap_or_else(|| json!({}))
    }

    /// Takes the marks of a cable or the offsets of a box.
    pub(super) fn record_taken(&mut self, text: &str) {
        let Some((subject, None)) = self.site_here() else { return };
        if text.is_empty() {
            return;
        }
        let mut site = self.site_value(&subject);
        let put_down = if subject.kind == Kind::Cable {
            self.marks_of(text).map(|(start, end)| {
                put(&mut site, &["start_mark"], json!(start.written()));
                put(&mut site, &["end_mark"], json!(end.written()));
                // Marks are read off a cable that is pulled.
                if let (Some(done), true) = (self.clerk.done(), site.pointer("/done/pulled").is_none()) {
                    put(&mut site, &["done", "pulled"], json!(done.to_string()));
                }
                format!("marks of {}", subject.id)
            })
        } else {
            text.split('/').map(str::parse::<Offset>).collect::<Result<Vec<Offset>, String>>().map(|walls| {
                put(&mut site, &["walls"], walls.iter().map(|wall| json!(wall.to_string())).collect());
                format!("offsets of {}", subject.id)
            })
        };
        let entered = put_down.and_then(|label| self.enter(&subject, &label, "site", site));
        if let Err(why) = entered {
            self.prompt = Some(Prompt { note: Some(why), ..Prompt::new(Asked::Record, Input::new(text)) });
        }
    }

    fn marks_of(&self, text: &str) -> Result<(Length, Length), String> {
        let read = |text: &str| {
            Length::parse(text, Some(self.design.job.project.units)).map_err(|bad| bad.to_string())
        };
        let parted =
            text.split_once('/').or_else(|| text.split_once(" to ")).or_else(|| text.split_once(' '));
        let (start, end) = parted.ok_or("write both marks, like 412 350")?;
        Ok((read(start.trim())?, read(end.trim())?))
    }

    /// Makes the change and goes on to the next line.
    fn enter(&mut self, subject: &Subject, label: &str, field: &str, value: Value) -> Result<(), String> {
        let cursor = self.scroll().cursor;
        let edit = Edit::Set { subject: subject.clone(), field: field.into(), value };
        match self.commit(label.to_owned(), edit) {
            Ok(()) => {
                self.put(cursor + 1, 1);
                self.say(format!("{label}; u undoes it"));
                Ok(())
            }
            Err(why) => {
                self.say(format!("not entered: {why}"));
                Err(why)
            }
        }
    }

    /// Shows which fixtures that are still open are ready as wired, and what the others need.
    pub(super) fn show_options(&mut self) {
        let mut lines = Vec::new();
        for run in site::choices(&self.design) {
            lines.push(format!("loop {}", run.id));
            for choice in &run.choices {
                let boxes: Vec<String> = choice.boxes.iter().map(Id::to_string).collect();
                let state = options::state_word(&choice.state);
                lines.push(format!("  {}: {state} (in {})", choice.fixture, boxes.join(" ")));
                lines.extend(options::said(choice).into_iter().map(|(words, _)| format!("    {words}")));
            }
        }
        if lines.is_empty() {
            return self.say("nothing is open: every ceiling box holds its fixture, or none");
        }
        self.ask_from_top(Question {
            text: "Fixtures still open: ready as wired, or what they need; Esc leaves".into(),
            lines,
            answers: Vec::new(),
            may_wait: true,
        });
    }

    /// What the readings of the cable under the cursor tell.
    pub(in crate::tui) fn told_here(&self) -> Vec<String> {
        if self.view != View::Site {
            return Vec::new();
        }
        self.subject_here().map_or_else(Vec::new, |subject| site_rows::says_of(&self.design, &subject))
    }
}

/// Puts a value into what is known of the site.
fn put(site: &mut Value, path: &[&str], value: Value) {
    let mut at = site;
    for part in path {
        if !at.is_object() {
            *at = json!({});
        }
        at = &mut at[*part];
    }
    *at = value;
}
