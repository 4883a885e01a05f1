//! Where edits are tried: working copies of the design for as many findings as somebody asks about.
//!
//! A trial makes its edit in a copy, looks, and takes the edit back, so that it costs what the edit touches. A copy holds
//! the regions of the house that the edit and the finding are in; where these are much of it, all of it. What the trials
//! of all findings look up is put in order once.

use super::copy::Copy;
use super::region::{Regions, Set};
use super::{MOST_TRIALS, OF_WHAT_IS_NEW, OF_WHAT_MOVES, Remedy, THEN, TIES, cable, light};
use crate::checks::Finding;
use crate::design::Design;
use crate::job::catalogue::FixtureType;
use crate::job::edit::Edit;
use crate::job::limits::{MOST_ENTRIES, MOST_THINGS};
use crate::job::{Id, Kind, Spot, Stage, Subject};
use crate::study::Outcome;
use std::cell::OnceCell;
use std::collections::HashMap;

/// As many copies as are kept, those used last.
const MOST_COPIES: usize = 8;

/// More things than one trial adds. A job that may not hold so many more is always tried whole, since a part of it would
/// take what the whole refuses.
const MOST_ADDED: usize = 1_000;

/// A design to try edits on, finding by finding.
#[derive(Debug)]
pub struct Bench<'a> {
    design: &'a Design,
    known: Known<'a>,
    copies: Vec<Held>,
}

/// What trials look up of the design as it is.
#[derive(Debug)]
struct Known<'a> {
    /// What is found already, by how far it is beyond its limit.
    excess: HashMap<(&'static str, &'a Subject), f64>,
    /// The things with findings of one check and one cause.
    of_cause: HashMap<(&'static str, &'a Subject), Vec<&'a str>>,
    /// The fixture that hangs most often, by its place in the catalogue, once it was asked for.
    usual: OnceCell<Option<usize>>,
    /// `None` where everything is tried in the whole house.
    regions: Option<Regions>,
}

/// A copy of the whole design, or of some of its regions.
#[derive(Debug)]
struct Held {
    /// `None` for the whole.
    regions: Option<Set>,
    /// What is found in those regions alone, as in a room whose lights are all on wires of another.
    found: Vec<Finding>,
    copy: Copy,
}

impl Held {
    fn of(design: &Design, known: &Known<'_>, set: Option<Set>) -> Self {
        match known.regions.as_ref().zip(set) {
            Some((regions, set)) => {
                let cut = Design::derive(regions.cut(design, &set));
                Self { regions: Some(set), found: cut.findings.clone(), copy: Copy::of(cut) }
            }
            None => Self { regions: None, found: Vec::new(), copy: Copy::of(design.clone()) },
        }
    }
}

impl<'a> Bench<'a> {
    /// A bench for the findings of a design.
    pub fn new(design: &'a Design) -> Self {
        // A choice for the whole house reaches everywhere; what a job may hold is held by all of it.
        let full =
            design.index.all().len() + MOST_ADDED > MOST_THINGS || design.job.panels.len() >= MOST_ENTRIES;
        let regions = (!full && !design.is_open()).then(|| Regions::of(design));
        Self { known: Known { regions, ..Self::of_whole_house(design).known }, design, copies: Vec::new() }
    }

    /// The same that tries everything in the whole house. What it finds is the same.
    pub fn of_whole_house(design: &'a Design) -> Self {
        let mut known = Known {
            excess: HashMap::with_capacity(design.findings.len()),
            of_cause: HashMap::new(),
            usual: OnceCell::new(),
            regions: None,
        };
        for finding in &design.findings {
            let excess = known.excess.entry((finding.code, &finding.subject)).or_default();
            *excess = excess.max(finding.excess());
            known.of_cause.entry((finding.code, &finding.cause)).or_default().push(&finding.subject.id);
        }
        Self { design, known, copies: Vec::new() }
    }

    /// The working copies with everything taken back that was tried in them, each with what it was made as; the two
    /// are equal.
    pub fn put_away(self) -> Vec<[Design; 2]> {
        let made = |regions| Held::of(self.design, &self.known, regions).copy.put_away();
        self.copies.into_iter().map(|held| [held.copy.put_away(), made(held.regions)]).collect()
    }

    /// Tries out what helps against a finding.
    pub(super) fn against(
        &mut self,
        finding: &Finding,
        tries: impl FnOnce(&mut Trials<'_>) -> Vec<Remedy>,
    ) -> Vec<Remedy> {
        let regions = self.known.regions.as_ref();
        let mut trials = Trials {
            design: self.design,
            finding,
            known: &self.known,
            home: regions.and_then(|all| all.of_subjects(self.design, &[&finding.subject, &finding.cause])),
            copies: std::mem::take(&mut self.copies),
            moving: false,
            left: MOST_TRIALS,
        };
        let found = tries(&mut trials);
        self.copies = trials.copies;
        found
    }
}

/// Trials of edits against one finding.
pub(super) struct Trials<'a> {
    pub(super) design: &'a Design,
    pub(super) finding: &'a Finding,
    known: &'a Known<'a>,
    /// The regions that the finding is in; `None` where it concerns the whole house.
    home: Option<Set>,
    copies: Vec<Held>,
    /// The edits tried take lights away that are to hang elsewhere.
    pub(super) moving: bool,
    left: usize,
}

/// A design with an edit applied, and what was found before in the regions that are in it.
#[derive(Clone, Copy)]
struct After<'a> {
    design: &'a Design,
    before: &'a [Finding],
}

impl<'a> Trials<'a> {
    /// What is to be seen of the design with an edit applied, if the job still hangs together.
    fn with<T>(&mut self, edit: &Edit, look: impl FnOnce(&Self, After<'_>) -> T) -> Option<T> {
        self.left = self.left.checked_sub(1)?;
        let regions = self.regions(edit);
        let held = match self.copies.iter().position(|held| held.regions == regions) {
            Some(at) => self.copies.remove(at),
            None => Held::of(self.design, self.known, regions),
        };
        let Held { regions, found, copy } = held;
        let (copy, seen) = copy.with(edit, |design| look(self, After { design, before: &found }));
        if let Some(copy) = copy {
            self.copies.push(Held { regions, found, copy });
        }
        if self.copies.len() > MOST_COPIES {
            self.copies.remove(0);
        }
        seen
    }

    /// The regions to try an edit in; `None` for the whole house.
    fn regions(&self, edit: &Edit) -> Option<Set> {
        let all = self.known.regions.as_ref()?;
        let mut set = self.home.clone()?;
        all.of_edit(self.design, edit, &mut set)?;
        all.are_few(&set).then_some(set)
    }

    /// Whether a design is rid of the finding and all of its cause, and nothing that is as bad came or got worse.
    fn clears(&self, after: After<'_>) -> bool {
        let same = |f: &Finding| f.code == self.finding.code && f.cause == self.finding.cause;
        !after.design.findings.iter().any(|finding| same(finding) || self.harms(after, finding))
    }

    fn harms(&self, after: After<'_>, finding: &Finding) -> bool {
        self.is_new(after, finding) && (TIES.contains(&finding.code) || !self.was_hidden(&finding.subject))
    }

    /// Whether a finding that is as bad as the one to clear was not there before, or was not so bad.
    fn is_new(&self, after: After<'_>, finding: &Finding) -> bool {
        let aside =
            OF_WHAT_IS_NEW.contains(&finding.code) || (self.moving && OF_WHAT_MOVES.contains(&finding.code));
        if finding.severity > self.finding.severity || finding.accepted.is_some() || aside {
            return false;
        }
        let worse = |known: f64| finding.excess() > known * (1.0 + 1e-6) + 1e-9;
        let known = self.known.excess.get(&(finding.code, &finding.subject));
        let same = |before: &&Finding| before.code == finding.code && before.subject == finding.subject;
        known.is_none_or(|&known| worse(known))
            && after.before.iter().filter(same).all(|before| worse(before.excess()))
    }

    /// Whether nothing could be said of a thing before: its figures were unknown. What is found of it afterwards was
    /// there all along. A run that can't carry its load is no such thing: that is bad enough.
    fn was_hidden(&self, subject: &Subject) -> bool {
        let (design, study) = (self.design, &self.design.study);
        match subject.kind {
            Kind::Output => {
                let output = study.outputs.iter().find(|output| output.output.to_string() == subject.id);
                output.is_some_and(|output| output.watts.is_none())
            }
            Kind::Panel => {
                let panel = study.panels.iter().find(|panel| panel.panel.as_str() == subject.id);
                panel.is_some_and(|panel| panel.ac_amps.is_none() || panel.output_watts.is_none())
            }
            Kind::Fixture | Kind::Cable | Kind::Control => {
                let run = cable::run_of(design, subject).and_then(|run| design.network.run(&run.id));
                match run.and_then(|run| study.run(&design.network, run)).map(|run| &run.outcome) {
                    Some(Outcome::Solved | Outcome::NoSolution) => false,
                    Some(Outcome::Unknown(_)) => true,
                    None => {
                        Id::new(&subject.id).is_ok_and(|id| design.index.spot(subject.kind, &id).is_some())
                    }
                }
            }
            _ => false,
        }
    }

    /// What comes to light once the finding is cleared, in words that follow those of the remedy.
    fn then(&self, after: After<'_>) -> String {
        let new = after.design.findings.iter().filter(|finding| self.is_new(after, finding));
        let mut codes: Vec<&str> = new.map(|finding| finding.code).collect();
        let count = codes.len();
        codes.dedup();
        match count {
            0 => String::new(),
            1 => format!("{THEN}one more comes to light: {}", codes.join(", ")),
            _ => format!("{THEN}{count} more come to light: {}", codes.join(", ")),
        }
    }

    /// What is to be seen of the design with an edit that clears the finding.
    pub(super) fn cleared<T>(&mut self, edit: &Edit, look: impl FnOnce(&Design) -> T) -> Option<T> {
        self.with(edit, |trials, after| trials.clears(after).then(|| look(after.design)))?
    }

    /// Whether an edit clears the finding.
    pub(super) fn helps(&mut self, edit: &Edit) -> bool {
        self.cleared(edit, |_| ()).is_some()
    }

    /// A remedy without a figure, if its edit clears the finding.
    pub(super) fn plain(&mut self, text: impl Into<String>, edit: Edit) -> Option<Remedy> {
        self.told(edit, |_| text.into())
    }

    /// A remedy with what its words say of the job with it.
    pub(super) fn told(&mut self, edit: Edit, text: impl FnOnce(&Design) -> String) -> Option<Remedy> {
        let said = |trials: &Self, after: After<'_>| {
            trials.clears(after).then(|| text(after.design) + &trials.then(after))
        };
        let text = self.with(&edit, said)??;
        Some(Remedy { text, edit })
    }

    /// Where the thing stands that the finding is about.
    pub(super) fn spot(&self) -> Option<Spot> {
        let subject = &self.finding.subject;
        self.design.index.spot(subject.kind, &Id::new(&subject.id).ok()?)
    }

    /// Whether cables and boxes are behind the board.
    pub(super) fn closed(&self) -> bool {
        self.design.job.project.stage == Stage::Trim
    }

    /// The things that this finding and the others of its cause are about.
    pub(super) fn of_cause(&self) -> Vec<String> {
        let all = self.known.of_cause.get(&(self.finding.code, &self.finding.cause));
        all.into_iter().flatten().map(|&id| id.to_owned()).collect()
    }

    /// The fixture that hangs most often in the house.
    pub(super) fn usual_fixture(&self) -> Option<&'a FixtureType> {
        let at = *self.known.usual.get_or_init(|| light::usual(self.design));
        self.design.job.catalogue.fixtures.get(at?)
    }

    /// The first id of a beginning and a number that is free in the design.
    pub(super) fn free_id(&self, kind: Kind, beginning: &str) -> String {
        let free = |id: &String| Id::new(id).is_ok_and(|id| self.design.index.spot(kind, &id).is_none());
        (1..=MOST_THINGS + 1).map(|number| format!("{beginning}{number}")).find(free).unwrap_or_default()
    }
}
