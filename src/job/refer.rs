//! Checks that what a job names is there: every reference, every id, and what no single field can tell by itself.

mod across;

use super::catalogue::{FixtureType, Load};
use super::locate::Step::{self, Field, Item};
use super::read::{MOST_LISTED, nearest};
use super::site::{CableRecord, Reading, Steps};
use super::wiring::{CeilingBox, Control, ControlGroup, Feed, Loop, Source, WallBox};
use super::{Id, Index, Job, Kind, Spot};
use crate::units::Length;

/// A flaw whose place in the text is still to be found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lost {
    /// The way to the field that is wrong.
    pub path: Vec<Step>,
    /// What is wrong.
    pub what: String,
    /// What was probably meant.
    pub hint: Option<String>,
}

/// As many flaws get a guess at what was meant.
const MOST_HINTED: usize = 5 * MOST_LISTED;

/// Checks the whole job and gives the index that was made on the way.
pub(super) fn check(job: &Job) -> (Index, Vec<Lost>) {
    let (index, twice) = Index::new(job);
    let mut checker = Checker { index: &index, job, lost: Vec::new(), path: Vec::new() };
    for (kind, id, spot) in twice {
        let mut path = path_of(spot);
        path.push(Field("id"));
        let what = format!("the id '{id}' is given to two {}", kind.plural());
        let hint =
            Some("ids that differ by case only count as the same; give one of them another".to_owned());
        checker.lost.push(Lost { path, what, hint });
    }
    checker.catalogue();
    checker.balance_rules();
    checker.estimate();
    checker.rooms();
    checker.panels();
    for (at, wall_box) in job.boxes.iter().enumerate() {
        checker.within(&[Field("boxes"), Item(at)], |checker| checker.wall_box(wall_box));
    }
    for (at, group) in job.groups.iter().enumerate() {
        checker.within(&[Field("groups"), Item(at)], |checker| checker.group(group));
    }
    checker.circles();
    checker.tags();
    let lost = checker.lost;
    (index, lost)
}

/// The way from the top of the file to a thing.
fn path_of(spot: Spot) -> Vec<Step> {
    match spot {
        Spot::ConductorPlan(at) => vec![Field("catalogue"), Field("plans"), Item(at)],
        Spot::CableType(at) => vec![Field("catalogue"), Field("cables"), Item(at)],
        Spot::FixtureType(at) => vec![Field("catalogue"), Field("fixtures"), Item(at)],
        Spot::SupplyType(at) => vec![Field("catalogue"), Field("supplies"), Item(at)],
        Spot::ControlType(at) => vec![Field("catalogue"), Field("controls"), Item(at)],
        Spot::BoxType(at) => vec![Field("catalogue"), Field("boxes"), Item(at)],
        Spot::SmallPart(at) => vec![Field("catalogue"), Field("small_parts"), Item(at)],
        Spot::Meter(at) => vec![Field("catalogue"), Field("meters"), Item(at)],
        Spot::Level(at) => vec![Field("levels"), Item(at)],
        Spot::Room { level, room } => {
            vec![Field("levels"), Item(level), Field("rooms"), Item(room)]
        }
        Spot::Panel(at) => vec![Field("panels"), Item(at)],
        Spot::Supply { panel, supply } => vec![Field("panels"), Item(panel), Field("supplies"), Item(supply)],
        Spot::WallBox(at) => vec![Field("boxes"), Item(at)],
        Spot::Feed { wall_box, feed } => {
            vec![Field("boxes"), Item(wall_box), Field("feeds"), Item(feed)]
        }
        Spot::Control { wall_box, control } => {
            vec![Field("boxes"), Item(wall_box), Field("controls"), Item(control)]
        }
        Spot::Loop { wall_box, control, at } => {
            let mut path = path_of(Spot::Control { wall_box, control });
            path.extend([Field("loops"), Item(at)]);
            path
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let mut path = path_of(Spot::Loop { wall_box, control, at });
            path.extend([Field("ceiling"), Item(ceiling)]);
            path
        }
        Spot::Group(at) => vec![Field("groups"), Item(at)],
        Spot::Link { group, link } => {
            vec![Field("groups"), Item(group), Field("links"), Item(link)]
        }
    }
}

struct Checker<'a> {
    index: &'a Index,
    job: &'a Job,
    lost: Vec<Lost>,
    path: Vec<Step>,
}

impl Checker<'_> {
    fn within(&mut self, steps: &[Step], check: impl FnOnce(&mut Self)) {
        let depth = self.path.len();
        self.path.extend_from_slice(steps);
        check(self);
        self.path.truncate(depth);
    }

    fn report(&mut self, field: &[Step], what: String, hint: Option<String>) {
        let path = self.path.iter().chain(field).cloned().collect();
        self.lost.push(Lost { path, what, hint });
    }

    /// Checks that a reference leads somewhere.
    fn refers(&mut self, owner: &str, field: &'static str, kind: Kind, id: &Id) {
        self.refers_at(owner, &[Field(field)], kind, id);
    }

    fn refers_at(&mut self, owner: &str, field: &[Step], kind: Kind, id: &Id) {
        if self.index.spot(kind, id).is_some() {
            return;
        }
        // Looking for what is like it takes a while in a large job, and only the first flaws are listed.
        let hint = (self.lost.len() < MOST_HINTED)
            .then(|| nearest(id.as_str(), self.index.ids(kind).map(Id::as_str)))
            .flatten();
        let hint = hint.or_else(|| {
            let none = self.index.ids(kind).next().is_none();
            none.then(|| format!("this job has no {} yet", kind.word()))
        });
        self.report(field, format!("{owner} names the {} '{id}', which is not there", kind.word()), hint);
    }

    fn some_length(&mut self, owner: &str, field: &'static str, length: Option<Length>) {
        if length.is_some_and(|length| length.ticks() == 0) {
            let hint = Some("leave the field out while nothing was measured".to_owned());
            self.report(&[Field(field)], format!("{owner} has a measured length of zero"), hint);
        }
    }

    /// What is known of a cable from the site hangs together.
    fn cable_record(&mut self, owner: &str, site: &CableRecord, readings: &[Reading]) {
        let marks = site.start_mark.zip(site.end_mark);
        if marks.is_some_and(|(start, end)| start.ticks() == end.ticks()) {
            let hint = Some("read both marks again; the difference is the cable between them".to_owned());
            self.report(
                &[Field("site"), Field("end_mark")],
                format!("{owner} has the same mark at both ends"),
                hint,
            );
        }
        self.steps(owner, &site.done, site.done.is_tested());
        for (at, reading) in readings.iter().enumerate() {
            if let Some(meter) = &reading.meter {
                self.refers_at(owner, &[Field("readings"), Item(at)], Kind::Meter, meter);
            }
        }
    }

    /// Nothing is boarded untested, unless somebody answers for it.
    fn steps(&mut self, owner: &str, done: &Steps, tested: bool) {
        if done.boarded.is_some() && !tested && !done.is_signed_for() {
            let what = format!("{owner} is boarded and was not tested");
            let hint = "test it first, or give a reason with the initials of who answers for it";
            self.report(&[Field("site"), Field("done"), Field("boarded")], what, Some(hint.into()));
        }
    }

    fn rooms(&mut self) {
        let job = self.job;
        for (level, entry) in job.levels.iter().enumerate() {
            for (at, room) in entry.rooms.iter().enumerate() {
                let path = [Field("levels"), Item(level), Field("rooms"), Item(at)];
                self.within(&path, |checker| {
                    let owner = format!("room '{}'", room.id);
                    checker.some_length(&owner, "width", room.width);
                    checker.some_length(&owner, "depth", room.depth);
                    checker.some_length(&owner, "ceiling", room.ceiling);
                    checker.open(&owner, Kind::FixtureType, &room.open);
                });
            }
        }
    }

    fn catalogue(&mut self) {
        let job = self.job;
        for (at, cable) in job.catalogue.cables.iter().enumerate() {
            self.within(&[Field("catalogue"), Field("cables"), Item(at)], |checker| {
                checker.refers(
                    &format!("cable type '{}'", cable.id),
                    "plan",
                    Kind::ConductorPlan,
                    &cable.plan,
                );
                for (at, reel) in cable.reels.iter().enumerate() {
                    if reel.length.ticks() == 0 {
                        let what = format!("cable type '{}' has a reel of no length", cable.id);
                        checker.report(&[Field("reels"), Item(at), Field("length")], what, None);
                    }
                }
            });
        }
        for (at, fixture) in job.catalogue.fixtures.iter().enumerate() {
            self.within(&[Field("catalogue"), Field("fixtures"), Item(at)], |checker| {
                checker.volts_in_order(fixture);
            });
        }
    }

    fn volts_in_order(&mut self, fixture: &FixtureType) {
        if let Load::Power { volts: Some(range), .. } | Load::Current { volts: Some(range), .. } =
            fixture.load
            && range.least > range.most
        {
            let what = format!(
                "fixture type '{}' needs at least {} V but bears at most {} V",
                fixture.id, range.least, range.most
            );
            self.report(&[Field("load")], what, Some("exchange the two".into()));
        }
    }

    /// What the estimate names is there, and a margin leaves something of the price.
    fn estimate(&mut self) {
        let estimate = &self.job.estimate;
        self.within(&[Field("estimate")], |checker| {
            if let Some(part) = &estimate.ceiling_box {
                checker.refers("the estimate", "ceiling_box", Kind::BoxType, part);
            }
            for (at, reel) in estimate.reels_on_hand.iter().enumerate() {
                let path = [Field("reels_on_hand"), Item(at), Field("cable")];
                checker.refers_at("the estimate", &path, Kind::CableType, &reel.cable);
            }
            if estimate.margin_percent.is_some_and(|margin| margin.get() >= 100.into()) {
                let what = "the margin is to be below 100 % of the price".to_owned();
                let hint = "it is what is left of the price when all costs are paid, not what is put on them";
                checker.report(&[Field("margin_percent")], what, Some(hint.into()));
            }
        });
    }

    /// A rule of the balance names home runs, and in one group each run once.
    fn balance_rules(&mut self) {
        let rules = &self.job.settings.balance;
        let lists = [("apart", &rules.apart), ("together", &rules.together), ("ways_out", &rules.ways_out)];
        for (field, groups) in lists {
            for (at, group) in groups.iter().enumerate() {
                for (nth, run) in group.iter().enumerate() {
                    let path = [Field("settings"), Field("balance"), Field(field), Item(at), Item(nth)];
                    self.refers_at("the balance", &path, Kind::Cable, run);
                    let feed = self.index.feed(self.job, run);
                    let home_run = feed.is_some_and(|(_, feed)| !matches!(feed.from, Source::Onward(_)));
                    if self.index.spot(Kind::Cable, run).is_some() && !home_run {
                        let what = format!("the balance names the cable '{run}', which is no home run");
                        self.report(&path, what, Some("name home runs; what hangs on them follows".into()));
                    }
                    if group[..nth].iter().any(|other| other.same(run)) {
                        self.report(&path, format!("the balance names '{run}' twice in one group"), None);
                    }
                }
            }
        }
    }

    fn panels(&mut self) {
        let job = self.job;
        for (at, panel) in job.panels.iter().enumerate() {
            self.within(&[Field("panels"), Item(at)], |checker| {
                checker.refers(&format!("panel '{}'", panel.id), "room", Kind::Room, &panel.room);
                for (at, supply) in panel.supplies.iter().enumerate() {
                    checker.within(&[Field("supplies"), Item(at)], |checker| {
                        checker.refers(
                            &format!("supply '{}'", supply.id),
                            "part",
                            Kind::SupplyType,
                            &supply.part,
                        );
                    });
                }
            });
        }
    }

    fn wall_box(&mut self, wall_box: &WallBox) {
        let owner = format!("wall box '{}'", wall_box.id);
        self.refers(&owner, "room", Kind::Room, &wall_box.room);
        let feeds = wall_box.feeds.iter().all(|feed| feed.site.done.is_tested());
        let mut loops = wall_box.controls.iter().flat_map(|control| &control.loops);
        let tested = feeds && loops.all(|run| run.site.done.is_tested());
        let done = &wall_box.site.done;
        self.steps(&owner, done, done.is_tested() || tested);
        if let Some(part) = &wall_box.part {
            self.refers(&owner, "part", Kind::BoxType, part);
        }
        for (at, feed) in wall_box.feeds.iter().enumerate() {
            self.within(&[Field("feeds"), Item(at)], |checker| checker.feed(feed));
        }
        for (at, control) in wall_box.controls.iter().enumerate() {
            self.within(&[Field("controls"), Item(at)], |checker| checker.control(wall_box, control));
        }
    }

    fn feed(&mut self, feed: &Feed) {
        let owner = format!("feed '{}'", feed.id);
        self.cable(&owner, &feed.cable, feed.plan.as_ref());
        self.some_length(&owner, "measured", feed.measured);
        self.cable_record(&owner, &feed.site, &feed.readings);
        match &feed.from {
            Source::Panel(panel) => self.refers(&owner, "from", Kind::Panel, panel),
            Source::Output(output) => {
                self.refers(&owner, "from", Kind::Supply, &output.supply);
                let part = self.index.supply(self.job, &output.supply).map(|(_, supply)| &supply.part);
                if let Some(part) = part.and_then(|part| self.index.supply_type(self.job, part))
                    && output.number > part.outputs.get()
                {
                    let what = format!(
                        "{owner} is on output {output}, but '{}' has {} outputs",
                        part.id, part.outputs
                    );
                    self.report(
                        &[Field("from")],
                        what,
                        Some(format!("use {}.1 to .{}", output.supply, part.outputs)),
                    );
                }
            }
            Source::Onward(from) => {
                self.refers(&owner, "from", Kind::Cable, from);
                let is_feed = matches!(self.index.spot(Kind::Cable, from), None | Some(Spot::Feed { .. }));
                if !is_feed {
                    let what =
                        format!("{owner} goes onward from '{from}', which brings no power to a wall box");
                    self.report(
                        &[Field("from")],
                        what,
                        Some("name a home run or another onward feed".into()),
                    );
                }
            }
        }
    }

    fn cable(&mut self, owner: &str, cable: &Id, plan: Option<&Id>) {
        self.refers(owner, "cable", Kind::CableType, cable);
        if let Some(plan) = plan {
            self.refers(owner, "plan", Kind::ConductorPlan, plan);
        }
    }

    fn control(&mut self, wall_box: &WallBox, control: &Control) {
        let owner = format!("control '{}'", control.id);
        self.refers(&owner, "part", Kind::ControlType, &control.part);
        self.open(&owner, Kind::ControlType, &control.open);
        if let Some(on) = &control.on
            && !wall_box.feeds.iter().any(|feed| feed.id.same(on))
        {
            let hint = nearest(on.as_str(), wall_box.feeds.iter().map(|feed| feed.id.as_str()))
                .or_else(|| Some(format!("a control is on a feed of its own wall box '{}'", wall_box.id)));
            self.report(
                &[Field("on")],
                format!("{owner} is on '{on}', which does not come to its wall box"),
                hint,
            );
        }
        for (at, run) in control.loops.iter().enumerate() {
            self.within(&[Field("loops"), Item(at)], |checker| checker.wired_loop(run));
        }
    }

    fn wired_loop(&mut self, run: &Loop) {
        let owner = format!("loop '{}'", run.id);
        self.cable(&owner, &run.cable, run.plan.as_ref());
        self.some_length(&owner, "measured", run.measured);
        self.cable_record(&owner, &run.site, &run.readings);
        self.some_length(&owner, "return_leg", run.return_leg);
        self.open(&owner, Kind::FixtureType, &run.open);
        if let Some(control) = &run.returns_to {
            self.refers(&owner, "returns_to", Kind::Control, control);
        }
        for (at, ceiling) in run.ceiling.iter().enumerate() {
            self.within(&[Field("ceiling"), Item(at)], |checker| checker.ceiling(run, ceiling));
        }
    }

    fn ceiling(&mut self, run: &Loop, ceiling: &CeilingBox) {
        let owner = format!("ceiling box '{}'", ceiling.id);
        let done = &ceiling.site.done;
        self.steps(&owner, done, done.is_tested() || run.site.done.is_tested());
        self.some_length(&owner, "leg", ceiling.leg);
        if let Some(room) = &ceiling.room {
            self.refers(&owner, "room", Kind::Room, room);
        }
        if let Some(fixture) = &ceiling.fixture {
            self.refers(&owner, "fixture", Kind::FixtureType, fixture);
            if !ceiling.open.is_empty() {
                let what = format!("{owner} has a fixture and is still open");
                self.report(&[Field("open")], what, Some("keep 'fixture' or 'open'".into()));
            }
        }
        if let Some(part) = &ceiling.part {
            self.refers(&owner, "part", Kind::BoxType, part);
        }
        self.open(&owner, Kind::FixtureType, &ceiling.open);
        if ceiling.blank && (ceiling.fixture.is_some() || !ceiling.open.is_empty()) {
            let what = format!("{owner} is to stay blank and has a fixture, or one that is open");
            self.report(&[Field("blank")], what, Some("take 'blank' out, or the fixture".into()));
        }
    }

    /// The entries of the catalogue that are still open for something.
    fn open(&mut self, owner: &str, kind: Kind, entries: &[Id]) {
        for (at, entry) in entries.iter().enumerate() {
            self.refers_at(owner, &[Field("open"), Item(at)], kind, entry);
        }
    }

    fn group(&mut self, group: &ControlGroup) {
        let owner = format!("control group '{}'", group.id);
        self.refers(&owner, "main", Kind::Control, &group.main);
        for (at, remote) in group.remotes.iter().enumerate() {
            self.refers_at(&owner, &[Field("remotes"), Item(at)], Kind::Control, remote);
        }
        for (at, link) in group.links.iter().enumerate() {
            self.within(&[Field("links"), Item(at)], |checker| {
                let owner = format!("link '{}'", link.id);
                checker.cable(&owner, &link.cable, link.plan.as_ref());
                checker.some_length(&owner, "measured", link.measured);
                checker.cable_record(&owner, &link.site, &link.readings);
                checker.refers(&owner, "from", Kind::Control, &link.from);
                checker.refers(&owner, "to", Kind::Control, &link.to);
            });
        }
    }
}
