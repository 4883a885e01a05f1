//! Deletes a thing with what cannot stay without it, or says what keeps it.
//!
//! What it contains goes with it, and so do feeds onward from it and links to its controls. A control leaves its groups; a
//! group without its main control, or without any other, goes. Home runs of a supply stay, on its panel and no output.
//! A part of the catalogue that is used, a room with a panel and a panel with home runs cannot go.

use crate::job::edit::Edit;
use crate::job::site::Reading;
use crate::job::wiring::{Source, WallBox};
use crate::job::{Id, Index, Job, Kind, Subject};
use serde_json::{Value, json};
use std::collections::HashSet;

/// As many things are named in a line; the rest are counted.
const MOST_NAMED: usize = 6;

/// What depends on a thing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Dependents {
    /// What goes with it or changes, a line each.
    pub goes: Vec<String>,
    /// What keeps it from going, with what to do, a line each.
    pub keeps: Vec<String>,
}

/// Why a thing is not deleted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DeleteError {
    /// There is no such thing.
    #[error("there is no {0}")]
    Missing(Subject),
    /// Something keeps it.
    #[error("{subject} cannot go: {}", keeps.join("; "))]
    Kept {
        /// What was to go.
        subject: Subject,
        /// What keeps it.
        keeps: Vec<String>,
    },
}

/// Says what goes with a thing, and what keeps it from going.
///
/// # Errors
/// [`DeleteError::Missing`] when it is not there.
pub fn dependents(job: &Job, subject: &Subject) -> Result<Dependents, DeleteError> {
    Ok(Sweep::of(job, subject)?.said())
}

/// Deletes a thing and what must go with it.
///
/// # Errors
/// [`DeleteError`] when it is not there or something keeps it.
pub fn delete(job: &Job, subject: &Subject) -> Result<Edit, DeleteError> {
    let sweep = Sweep::of(job, subject)?;
    if sweep.keeps.is_empty() {
        Ok(sweep.edit())
    } else {
        Err(DeleteError::Kept { subject: subject.clone(), keeps: sweep.keeps })
    }
}

/// What is gone when all is done, and what has changed.
struct Sweep<'a> {
    job: &'a Job,
    subject: Subject,
    gone: HashSet<(Kind, String)>,
    /// What is removed by itself, after the subject.
    removed: Vec<Subject>,
    sets: Vec<(Subject, &'static str, Value)>,
    goes: Vec<String>,
    keeps: Vec<String>,
}

impl<'a> Sweep<'a> {
    fn of(job: &'a Job, subject: &Subject) -> Result<Self, DeleteError> {
        let missing = || DeleteError::Missing(subject.clone());
        let mut sweep = Self {
            job,
            subject: subject.clone(),
            gone: HashSet::new(),
            removed: Vec::new(),
            sets: Vec::new(),
            goes: Vec::new(),
            keeps: Vec::new(),
        };
        match subject.kind {
            Kind::Project | Kind::Settings | Kind::Estimate | Kind::Output => {
                sweep.keeps.push(format!("a {} is part of what it belongs to", subject.kind.word()));
                return Ok(sweep);
            }
            _ => {}
        }
        let index = Index::new(job).0;
        let id = Id::new(&subject.id).map_err(|_| missing())?;
        index.spot(subject.kind, &id).ok_or_else(missing)?;
        match subject.kind {
            Kind::Level => {
                let rooms = job.levels.iter().find(|level| level.id.same(&id)).map(|level| &level.rooms);
                for room in rooms.into_iter().flatten() {
                    sweep.room(&room.id);
                }
            }
            Kind::Room => sweep.room(&id),
            Kind::Panel => sweep.panel(&id),
            Kind::Supply => sweep.supply(&id, &index),
            Kind::WallBox => {
                if let Some(wall_box) = job.boxes.iter().find(|wall_box| wall_box.id.same(&id)) {
                    sweep.wall_box(wall_box);
                }
            }
            Kind::Control => {
                if let Some((_, control)) = index.control(job, &id) {
                    sweep.control(control);
                }
            }
            Kind::Cable => {
                sweep.mark(Kind::Cable, &id);
                let fed = |b: &&WallBox| b.feeds.len() == 1 && b.feeds.iter().any(|feed| feed.id.same(&id));
                if let Some(wall_box) = job.boxes.iter().find(fed) {
                    sweep.goes.push(format!("nothing feeds wall box {} then", wall_box.id));
                }
                if let Some(wired) = loops(job).find(|wired| wired.id.same(&id)) {
                    wired.ceiling.iter().for_each(|light| sweep.mark(Kind::Fixture, &light.id));
                }
            }
            kind => {
                sweep.mark(kind, &id);
                sweep.catalogue(&id);
            }
        }
        sweep.mark(subject.kind, &id);
        sweep.follow();
        Ok(sweep)
    }

    fn mark(&mut self, kind: Kind, id: &Id) {
        self.gone.insert((kind, id.folded()));
    }

    fn is_gone(&self, kind: Kind, id: &Id) -> bool {
        self.gone.contains(&(kind, id.folded()))
    }

    fn room(&mut self, id: &Id) {
        let job = self.job;
        self.mark(Kind::Room, id);
        for panel in job.panels.iter().filter(|panel| panel.room.same(id)) {
            self.keeps.push(format!("panel {} hangs in room {id}; move it to another room first", panel.id));
        }
        for wall_box in job.boxes.iter().filter(|wall_box| wall_box.room.same(id)) {
            self.removed.push(Subject::new(Kind::WallBox, &wall_box.id));
            self.wall_box(wall_box);
        }
        // Lights of other rooms' loops that hang in this one.
        for light in loops(job).flat_map(|wired| &wired.ceiling) {
            if light.room.as_ref().is_some_and(|room| room.same(id))
                && !self.is_gone(Kind::Fixture, &light.id)
            {
                self.removed.push(Subject::new(Kind::Fixture, &light.id));
                self.mark(Kind::Fixture, &light.id);
            }
        }
    }

    fn panel(&mut self, id: &Id) {
        let job = self.job;
        let Some(panel) = job.panels.iter().find(|panel| panel.id.same(id)) else { return };
        let ours = |from: &Source| match from {
            Source::Panel(from) => from.same(id),
            Source::Output(output) => panel.supplies.iter().any(|supply| supply.id.same(&output.supply)),
            Source::Onward(_) => false,
        };
        let runs: Vec<String> = feeds(job).filter(|f| ours(&f.from)).map(|f| f.id.to_string()).collect();
        if !runs.is_empty() {
            let what = format!("{} come from it; bring them to another panel first", few("home runs", &runs));
            self.keeps.push(what);
        }
        for supply in &panel.supplies {
            self.mark(Kind::Supply, &supply.id);
        }
    }

    fn supply(&mut self, id: &Id, index: &Index) {
        let job = self.job;
        let Some((panel, _)) = index.supply(job, id) else { return };
        let mut runs = Vec::new();
        for feed in feeds(job) {
            if matches!(&feed.from, Source::Output(output) if output.supply.same(id)) {
                let subject = Subject::new(Kind::Cable, &feed.id);
                self.sets.push((subject, "from", json!({"Panel": panel.id.as_str()})));
                runs.push(feed.id.to_string());
            }
        }
        if !runs.is_empty() {
            self.goes.push(format!("{} stay on panel {}, on no output", few("home runs", &runs), panel.id));
        }
    }

    fn wall_box(&mut self, wall_box: &WallBox) {
        self.mark(Kind::WallBox, &wall_box.id);
        wall_box.feeds.iter().for_each(|feed| self.mark(Kind::Cable, &feed.id));
        wall_box.controls.iter().for_each(|control| self.control(control));
    }

    fn control(&mut self, control: &crate::job::wiring::Control) {
        self.mark(Kind::Control, &control.id);
        for wired in &control.loops {
            self.mark(Kind::Cable, &wired.id);
            wired.ceiling.iter().for_each(|light| self.mark(Kind::Fixture, &light.id));
        }
    }

    /// Whether a part of the catalogue is used, and where.
    fn catalogue(&mut self, id: &Id) {
        let job = self.job;
        let is = |other: &Id| other.same(id);
        let also = |other: &Option<Id>| other.as_ref().is_some_and(is);
        let links = || job.groups.iter().flat_map(|group| &group.links);
        let controls = || job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
        let mut found: Vec<(&str, Vec<String>)> = Vec::new();
        let mut used =
            |what, ids: Vec<&Id>| found.push((what, ids.iter().map(ToString::to_string).collect()));
        match self.subject.kind {
            Kind::FixtureType => {
                let lights = loops(job).flat_map(|wired| &wired.ceiling);
                let lights = lights.filter(|light| also(&light.fixture) || light.open.iter().any(is));
                used("ceiling boxes", lights.map(|light| &light.id).collect());
                let open = loops(job).filter(|wired| wired.open.iter().any(is));
                used("loops", open.map(|wired| &wired.id).collect());
                let rooms = job.levels.iter().flat_map(|level| &level.rooms);
                used("rooms", rooms.filter(|room| room.open.iter().any(is)).map(|room| &room.id).collect());
            }
            Kind::ControlType => {
                used(
                    "controls",
                    controls().filter(|c| c.types().iter().any(|id| is(id))).map(|c| &c.id).collect(),
                );
            }
            Kind::Meter => {
                let read = |readings: &[Reading]| readings.iter().any(|reading| also(&reading.meter));
                let cables = feeds(job).filter(|f| read(&f.readings)).map(|f| &f.id);
                let cables = cables.chain(loops(job).filter(|l| read(&l.readings)).map(|l| &l.id));
                used("cables", cables.chain(links().filter(|l| read(&l.readings)).map(|l| &l.id)).collect());
            }
            Kind::BoxType => {
                used("wall boxes", job.boxes.iter().filter(|b| also(&b.part)).map(|b| &b.id).collect());
                let lights = loops(job).flat_map(|wired| &wired.ceiling);
                used("ceiling boxes", lights.filter(|c| also(&c.part)).map(|c| &c.id).collect());
                if also(&job.estimate.ceiling_box) {
                    self.keeps.push("the estimate buys it where a ceiling box names no type".into());
                }
            }
            Kind::SupplyType => {
                let supplies = job.panels.iter().flat_map(|panel| &panel.supplies);
                used("supplies", supplies.filter(|s| is(&s.part)).map(|s| &s.id).collect());
            }
            Kind::CableType => {
                let cables = feeds(job).filter(|f| is(&f.cable)).map(|f| &f.id);
                let cables = cables.chain(loops(job).filter(|l| is(&l.cable)).map(|l| &l.id));
                used("cables", cables.chain(links().filter(|l| is(&l.cable)).map(|l| &l.id)).collect());
            }
            Kind::ConductorPlan => {
                let types = job.catalogue.cables.iter().filter(|cable| is(&cable.plan));
                used("cable types", types.map(|cable| &cable.id).collect());
                let cables = feeds(job).filter(|f| also(&f.plan)).map(|f| &f.id);
                let cables = cables.chain(loops(job).filter(|l| also(&l.plan)).map(|l| &l.id));
                used("cables", cables.chain(links().filter(|l| also(&l.plan)).map(|l| &l.id)).collect());
            }
            _ => {}
        }
        for (what, ids) in found.into_iter().filter(|(_, ids)| !ids.is_empty()) {
            self.keeps.push(format!("{} are of this type; give them another first", few(what, &ids)));
        }
    }

    /// Lets go what depends on what is gone, until nothing more does.
    fn follow(&mut self) {
        let job = self.job;
        loop {
            let before = self.gone.len();
            for wall_box in &job.boxes {
                for feed in &wall_box.feeds {
                    if let Source::Onward(from) = &feed.from
                        && self.is_gone(Kind::Cable, from)
                        && !self.is_gone(Kind::Cable, &feed.id)
                    {
                        self.mark(Kind::Cable, &feed.id);
                        self.removed.push(Subject::new(Kind::Cable, &feed.id));
                        self.goes.push(format!(
                            "feed {} goes too: wall box {} is fed onward from what goes",
                            feed.id, wall_box.id
                        ));
                    }
                }
            }
            if self.gone.len() == before {
                break;
            }
        }
        for control in job.boxes.iter().flat_map(|wall_box| &wall_box.controls) {
            if self.is_gone(Kind::Control, &control.id) {
                continue;
            }
            if control.on.as_ref().is_some_and(|on| self.is_gone(Kind::Cable, on)) {
                self.sets.push((Subject::new(Kind::Control, &control.id), "on", Value::Null));
                self.goes.push(format!("control {} is on no stated feed any more", control.id));
            }
            for wired in &control.loops {
                let lands = wired.returns_to.as_ref().is_some_and(|to| self.is_gone(Kind::Control, to));
                if lands && !self.is_gone(Kind::Cable, &wired.id) {
                    self.sets.push((Subject::new(Kind::Cable, &wired.id), "returns_to", Value::Null));
                    self.goes.push(format!(
                        "loop {} returns to control {}, where it leaves from",
                        wired.id, control.id
                    ));
                }
            }
        }
        self.groups();
        self.balance_rules();
    }

    /// Home runs that go leave the rules of the balance; a group of one says nothing.
    fn balance_rules(&mut self) {
        let job = self.job;
        let mut rules = job.settings.balance.clone();
        for groups in [&mut rules.apart, &mut rules.together, &mut rules.ways_out] {
            for group in groups.iter_mut() {
                group.retain(|run| !self.is_gone(Kind::Cable, run));
            }
            groups.retain(|group| group.len() > 1);
        }
        let left = serde_json::to_value(&rules);
        if rules == job.settings.balance {
            return;
        }
        if let Ok(left) = left {
            self.goes.push("what goes leaves the groups of the balance".to_owned());
            self.sets.push((Subject::new(Kind::Settings, "settings"), "balance", left));
        }
    }

    fn groups(&mut self) {
        let job = self.job;
        for group in &job.groups {
            if self.is_gone(Kind::Group, &group.id) {
                continue;
            }
            let left: Vec<&str> =
                group.remotes.iter().filter(|id| !self.is_gone(Kind::Control, id)).map(Id::as_str).collect();
            if self.is_gone(Kind::Control, &group.main) || (left.is_empty() && !group.remotes.is_empty()) {
                self.mark(Kind::Group, &group.id);
                self.removed.push(Subject::new(Kind::Group, &group.id));
                self.goes.push(format!("control group {} goes, with its links", group.id));
                continue;
            }
            let subject = Subject::new(Kind::Group, &group.id);
            if left.len() < group.remotes.len() {
                let names: Vec<String> = group
                    .remotes
                    .iter()
                    .filter(|id| self.is_gone(Kind::Control, id))
                    .map(Id::to_string)
                    .collect();
                self.goes.push(format!("{} leave control group {}", few("controls", &names), group.id));
                self.sets.push((subject, "remotes", json!(left)));
            }
            for link in &group.links {
                let ends = self.is_gone(Kind::Control, &link.from) || self.is_gone(Kind::Control, &link.to);
                if ends && !self.is_gone(Kind::Cable, &link.id) {
                    self.mark(Kind::Cable, &link.id);
                    self.removed.push(Subject::new(Kind::Cable, &link.id));
                    self.goes.push(format!("link {} goes", link.id));
                }
            }
        }
    }

    fn said(self) -> Dependents {
        let mut goes = Vec::new();
        let kinds = [Kind::Room, Kind::Supply, Kind::WallBox, Kind::Control, Kind::Cable, Kind::Fixture];
        for kind in kinds {
            let own = (self.subject.kind, self.subject.id.to_ascii_lowercase());
            let mut ids: Vec<String> = Index::new(self.job)
                .0
                .ids(kind)
                .filter(|id| self.is_gone(kind, id) && (kind, id.folded()) != own)
                .map(Id::to_string)
                .collect();
            ids.sort();
            if !ids.is_empty() {
                goes.push(format!("with it: {}", few(&kind.plural(), &ids)));
            }
        }
        goes.extend(self.goes);
        Dependents { goes, keeps: self.keeps }
    }

    fn edit(self) -> Edit {
        let sets = self.sets.into_iter().map(|(subject, field, value)| Edit::Set {
            subject,
            field: field.to_owned(),
            value,
        });
        // First what stands elsewhere, last the thing itself with what it contains.
        let removes = self.removed.into_iter().chain([self.subject]).map(|subject| Edit::Remove { subject });
        Edit::Together(sets.chain(removes).collect())
    }
}

fn feeds(job: &Job) -> impl Iterator<Item = &crate::job::wiring::Feed> {
    job.boxes.iter().flat_map(|wall_box| &wall_box.feeds)
}

fn loops(job: &Job) -> impl Iterator<Item = &crate::job::wiring::Loop> {
    job.boxes.iter().flat_map(|wall_box| &wall_box.controls).flat_map(|control| &control.loops)
}

/// The first few ids of a list, with how many there are more.
fn few(what: &str, ids: &[String]) -> String {
    let named = ids.get(..MOST_NAMED).unwrap_or(ids).join(", ");
    match ids.len().saturating_sub(MOST_NAMED) {
        0 => format!("{what} {named}"),
        more => format!("{what} {named} and {more} more"),
    }
}
