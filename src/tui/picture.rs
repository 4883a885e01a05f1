//! The riser and the plan as views: which part is shown, at what scale, and on which thing the cursor stands.

use super::action::Action;
use super::app::View;
use crate::design::Design;
use crate::job::{Id, Kind, Spot, Subject};
use crate::schedule::canvas::LineSet;
use crate::schedule::picture::{Direction, Picture, Shape, Spot as Cell};
use crate::schedule::plan::{Plan, Viewport};
use crate::schedule::riser::{Detail, Riser};

/// What is looked at in the two pictures.
#[derive(Debug, Default)]
pub(super) struct Pictures {
    /// The characters that lines are drawn with.
    pub set: LineSet,
    /// The thing under the cursor.
    pub here: Option<Subject>,
    /// What was drawn last.
    pub shown: Picture,
    level: usize,
    plan: Option<Plan>,
    viewport: Option<Viewport>,
    riser: Option<Riser>,
    detail: Detail,
    top: usize,
    size: (u16, u16),
    /// What was found last, by its place in the order of the job, and what the cursor was put on for it.
    found: Option<(usize, Subject)>,
}

impl Pictures {
    /// Throws away what was laid out, since the job has changed.
    pub(super) fn forget(&mut self) {
        self.plan = None;
        self.riser = None;
    }

    fn plan(&mut self, design: &Design) -> &Plan {
        self.level = self.level.min(design.job.levels.len().saturating_sub(1));
        let level = self.level;
        self.plan.get_or_insert_with(|| Plan::new(design, level))
    }

    fn riser(&mut self, design: &Design) -> &Riser {
        let detail = self.detail;
        self.riser.get_or_insert_with(|| Riser::new(design, detail))
    }

    fn viewport(&mut self, design: &Design) -> Viewport {
        let (width, height) = self.size;
        let view = match self.viewport {
            Some(view) => Viewport { width, height, ..view },
            None => Viewport::fit(self.plan(design), design.job.project.units, width, height),
        };
        self.viewport = Some(view);
        view
    }

    /// The heading of the view.
    pub(super) fn title(&mut self, design: &Design, view: View) -> String {
        if view == View::Riser {
            let shown = match self.detail {
                Detail::Outputs => "outputs only; + shows runs",
                Detail::Runs => "runs; + shows loops",
                Detail::Loops => "loops; - shows runs only",
            };
            return format!("Riser: {shown}");
        }
        let count = design.job.levels.len();
        let level = self.level.min(count.saturating_sub(1)) + 1;
        let plan = self.plan(design);
        let missing = plan.unplaced_words().map(|words| format!("; {words}")).unwrap_or_default();
        format!("{} (level {level} of {count}){missing}", plan.title())
    }

    /// Draws a view into a picture of that size, with the thing under the cursor in it.
    pub(super) fn draw(&mut self, design: &Design, view: View, width: u16, height: u16) {
        // A plan that was shown whole stays whole when the terminal changes its size.
        if self.size != (width, height) {
            self.viewport = None;
        }
        self.size = (width, height);
        self.shown = self.drawn(design, view);
        if let Some(here) = self.here.clone()
            && self.shown.anchor_of(&here).is_some()
        {
            return;
        }
        if self.here.is_some() && self.bring(design, view) {
            self.shown = self.drawn(design, view);
        }
        if self.cursor().is_none() {
            let things = || self.shown.anchors.iter().filter(|anchor| is_words(&anchor.shape));
            // The heading of the riser is no place to begin at.
            let first = things().find(|anchor| anchor.shape.spot().y > 0).or_else(|| things().next());
            self.here = first.map(|anchor| anchor.subject.clone());
        }
    }

    fn drawn(&mut self, design: &Design, view: View) -> Picture {
        let (set, (width, height)) = (self.set, self.size);
        if view == View::Riser {
            let lines = self.riser(design).height();
            self.top = self.top.min(lines.saturating_sub(1));
            let top = self.top;
            return self.riser(design).draw(design, top, width, height, set);
        }
        let view = self.viewport(design);
        self.plan(design).draw(view, design.job.project.units, set)
    }

    /// Where the cursor stands in what was drawn last.
    pub(super) fn cursor(&self) -> Option<Cell> {
        let here = self.here.as_ref()?;
        self.shown.anchor_of(here).map(|anchor| anchor.shape.spot())
    }

    /// Moves what is shown so that the thing under the cursor is in it.
    fn bring(&mut self, design: &Design, view: View) -> bool {
        let Some(here) = self.here.clone() else { return false };
        if view == View::Riser {
            let Some(line) = self.riser(design).line_of(design, &here) else { return false };
            let lines = usize::from(self.size.1.saturating_sub(1)).max(1);
            if line < self.top {
                self.top = line;
            } else if line >= self.top + lines {
                self.top = line + 1 - lines;
            }
            return true;
        }
        if self.plan(design).place_of(&here).is_none()
            && let Some(level) = level_of(design, &here)
            && level != self.level
        {
            self.go_to_level(level);
        }
        let Some(place) = self.plan(design).place_of(&here) else { return false };
        self.viewport = Some(self.viewport(design).showing(place));
        true
    }

    fn go_to_level(&mut self, level: usize) {
        self.level = level;
        self.plan = None;
        self.viewport = None;
    }

    /// Puts the cursor on a thing; false if the view does not show it.
    pub(super) fn go_to(&mut self, design: &Design, view: View, subject: &Subject) -> bool {
        let before = self.here.replace(subject.clone());
        let found = self.bring(design, view) && (view == View::Plan || self.riser_shows(design, subject));
        if !found {
            self.here = before;
        }
        found
    }

    /// The riser draws controls and ceiling boxes only as counts; the cursor then stands on their loop or box.
    fn riser_shows(&mut self, design: &Design, subject: &Subject) -> bool {
        let picture = self.drawn(design, View::Riser);
        if picture.anchor_of(subject).is_some() {
            return true;
        }
        let line = self.riser(design).line_of(design, subject);
        let Some(y) = line.and_then(|line| u16::try_from(line + 1 - self.top).ok()) else { return false };
        let on_line = picture.anchors.iter().rfind(|anchor| anchor.shape.spot().y == y);
        self.here = on_line.map(|anchor| anchor.subject.clone());
        self.here.is_some()
    }

    /// Does what is asked if it is about the picture; says something where that did nothing.
    pub(super) fn act(&mut self, design: &Design, view: View, action: Action) -> Option<String> {
        match action {
            Action::Up => return self.go(design, view, Direction::Up),
            Action::Down => return self.go(design, view, Direction::Down),
            Action::Left => return self.go(design, view, Direction::Left),
            Action::Right => return self.go(design, view, Direction::Right),
            Action::PageUp | Action::PageDown if view == View::Plan => {
                return self.change_level(design, action == Action::PageUp);
            }
            Action::PageUp => self.page(design, false),
            Action::PageDown => self.page(design, true),
            Action::First | Action::Last => self.edge(design, view, action == Action::First),
            Action::Larger | Action::Smaller => self.zoom(design, view, action == Action::Larger),
            Action::Whole => {
                self.viewport = None;
                self.detail = Detail::default();
                self.riser = None;
            }
            Action::NextHere => return self.next_here(),
            _ => {}
        }
        None
    }

    /// The nearest thing in a direction, also just beyond what is shown.
    fn go(&mut self, design: &Design, view: View, way: Direction) -> Option<String> {
        let around = self.around(design, view);
        let from = self.here.as_ref().and_then(|here| around.anchor_of(here)).map(|a| a.shape.spot());
        let middle = Cell { x: around.width / 2, y: around.height / 2 };
        let Some(next) = around.nearest(from.unwrap_or(middle), way) else {
            return Some("there is nothing further on this side".into());
        };
        self.here = Some(next.subject.clone());
        self.bring(design, view);
        None
    }

    /// What is shown and as much again on each side.
    fn around(&mut self, design: &Design, view: View) -> Picture {
        let (set, (width, height)) = (self.set, self.size);
        if view == View::Riser {
            let top = self.top.saturating_sub(usize::from(height));
            return self.riser(design).draw(design, top, width, height.saturating_mul(3), set);
        }
        let view = self.viewport(design);
        let wider = Viewport {
            left: view.left.saturating_sub(i64::from(width)),
            top: view.top.saturating_sub(i64::from(height)),
            width: width.saturating_mul(3),
            height: height.saturating_mul(3),
            ..view
        };
        self.plan(design).draw(wider, design.job.project.units, set)
    }

    fn change_level(&mut self, design: &Design, up: bool) -> Option<String> {
        let to = if up { Some(self.level + 1) } else { self.level.checked_sub(1) };
        let Some(to) = to.filter(|level| *level < design.job.levels.len()) else {
            return Some(format!("there is no level {} this one", if up { "above" } else { "below" }));
        };
        self.go_to_level(to);
        self.here = None;
        None
    }

    fn page(&mut self, design: &Design, down: bool) {
        let lines = usize::from(self.size.1).saturating_sub(2).max(1);
        let last = self.riser(design).height().saturating_sub(1);
        self.top = if down { (self.top + lines).min(last) } else { self.top.saturating_sub(lines) };
        self.shown = self.drawn(design, View::Riser);
        let first = self.shown.anchors.iter().find(|anchor| anchor.shape.spot().y > 0);
        self.here = first.map(|anchor| anchor.subject.clone());
    }

    /// To the first or the last thing there is.
    fn edge(&mut self, design: &Design, view: View, first: bool) {
        if view == View::Riser {
            self.top = if first { 0 } else { self.riser(design).height().saturating_sub(1) };
            let picture = self.drawn(design, view);
            let mut things = picture.anchors.iter().filter(|anchor| anchor.shape.spot().y > 0);
            let thing = if first { things.next() } else { things.next_back() };
            self.here = thing.map(|anchor| anchor.subject.clone());
            self.top = if first { 0 } else { (self.top + 2).saturating_sub(usize::from(self.size.1)) };
            return;
        }
        let things = self.plan(design).things();
        let thing = if first { things.first() } else { things.last() };
        self.here = thing.map(|thing| thing.subject.clone());
        self.bring(design, view);
    }

    fn zoom(&mut self, design: &Design, view: View, larger: bool) {
        if view == View::Riser {
            self.detail = if larger { self.detail.more() } else { self.detail.less() };
            self.riser = None;
            if let Some(here) = self.here.clone()
                && !self.go_to(design, view, &here)
            {
                self.here = None;
            }
            return;
        }
        let unit = design.job.project.units;
        let before = self.viewport(design);
        let scale = if larger { before.scale.larger(unit) } else { before.scale.smaller(unit) };
        let (columns, lines) = before.inner();
        let middle = (
            before.scale.x(before.left.saturating_add(i64::from(columns / 2))),
            before.scale.y(before.top.saturating_add(i64::from(lines / 2))),
        );
        let place = self.here.clone().and_then(|here| self.plan(design).place_of(&here));
        self.viewport = Some(Viewport { scale, ..before }.centred(place.unwrap_or(middle)));
    }

    /// The next thing in the cell of the cursor: what shares it, and the cables that pass.
    fn next_here(&mut self) -> Option<String> {
        let spot = self.cursor()?;
        let things: Vec<&Subject> = self.shown.things_at(spot).map(|anchor| &anchor.subject).collect();
        let at = things.iter().position(|subject| Some(*subject) == self.here.as_ref());
        let next = things.get((at? + 1) % things.len()).copied().cloned();
        if things.len() < 2 {
            return Some("nothing else is at this place".into());
        }
        self.here = next;
        None
    }

    /// Puts the cursor on the next thing in the order of the job for which a test holds.
    pub(super) fn seek(
        &mut self,
        design: &Design,
        view: View,
        (skip, forwards): (usize, bool),
        fits: impl Fn(&Subject) -> bool,
    ) -> bool {
        let all = subjects(design);
        let count = all.len();
        let found = self.found.as_ref().filter(|(at, on)| Some(on) == self.here.as_ref() && *at < count);
        let here = self.here.as_ref().and_then(|here| all.iter().position(|subject| subject == here));
        // Where the cursor is on none of them the first one comes next.
        let from = found.map(|(at, _)| *at).or(here).unwrap_or(count.saturating_sub(1));
        for step in skip..count + skip {
            let at = if forwards { from + step } else { from + count - step % count } % count;
            if fits(&all[at]) && self.go_to(design, view, &all[at]) {
                self.found = self.here.clone().map(|on| (at, on));
                return true;
            }
        }
        false
    }
}

const fn is_words(shape: &Shape) -> bool {
    matches!(shape, Shape::Words { .. })
}

/// The level that a thing is on.
fn level_of(design: &Design, subject: &Subject) -> Option<usize> {
    let (job, index) = (&design.job, &design.index);
    let of_room = |room: &Id| match index.spot(Kind::Room, room)? {
        Spot::Room { level, .. } => Some(level),
        _ => None,
    };
    let of_box = |at: usize| of_room(&job.boxes.get(at)?.room);
    match index.spot(subject.kind, &Id::new(&subject.id).ok()?)? {
        Spot::Level(level) | Spot::Room { level, .. } => Some(level),
        Spot::Panel(at) | Spot::Supply { panel: at, .. } => of_room(&job.panels.get(at)?.room),
        Spot::WallBox(at) | Spot::Control { wall_box: at, .. } | Spot::Loop { wall_box: at, .. } => {
            of_box(at)
        }
        // The way of a feed is drawn on the lower level of its two ends.
        Spot::Feed { wall_box, .. } => (0..job.levels.len())
            .find(|&level| Plan::new(design, level).place_of(subject).is_some())
            .or_else(|| of_box(wall_box)),
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let wall_box = job.boxes.get(wall_box)?;
            let ceiling = wall_box.controls.get(control)?.loops.get(at)?.ceiling.get(ceiling)?;
            of_room(ceiling.room.as_ref().unwrap_or(&wall_box.room))
        }
        _ => None,
    }
}

/// Everything a picture may show, in the order of the job.
fn subjects(design: &Design) -> Vec<Subject> {
    let job = &design.job;
    let mut all = Vec::new();
    for panel in &job.panels {
        all.push(Subject::new(Kind::Panel, &panel.id));
        for supply in &panel.supplies {
            all.push(Subject::new(Kind::Supply, &supply.id));
            let outputs = design.study.outputs.iter().filter(|o| o.output.supply.same(&supply.id));
            all.extend(outputs.map(|output| Subject::new(Kind::Output, &output.output)));
        }
    }
    for level in &job.levels {
        all.extend(level.rooms.iter().map(|room| Subject::new(Kind::Room, &room.id)));
    }
    for wall_box in &job.boxes {
        all.push(Subject::new(Kind::WallBox, &wall_box.id));
        all.extend(wall_box.feeds.iter().map(|feed| Subject::new(Kind::Cable, &feed.id)));
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            all.push(Subject::new(Kind::Cable, &run.id));
            all.extend(run.ceiling.iter().map(|ceiling| Subject::new(Kind::Fixture, &ceiling.id)));
        }
    }
    all
}
