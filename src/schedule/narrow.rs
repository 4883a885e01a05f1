//! The part of a house that a sheet is wanted for.

use crate::design::Design;
use crate::job::wiring::{Feed, Link, WallBox};
use crate::job::{Id, Job, Kind, Spot};
use crate::network::{ControlAt, FeedAt};

/// Which part of a house is wanted: each that is set must hold.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Narrow {
    /// Only what stands on this level, or goes to a box on it.
    pub level: Option<Id>,
    /// Only what comes from this panel.
    pub panel: Option<Id>,
    /// Only this cable type.
    pub cable: Option<Id>,
}

impl Narrow {
    /// Nothing left out.
    pub const ALL: Self = Self { level: None, panel: None, cable: None };

    /// Takes what was typed, each by id or by name.
    ///
    /// # Errors
    /// What is not there, and what there is.
    pub fn typed(
        job: &Job,
        level: Option<&str>,
        panel: Option<&str>,
        cable: Option<&str>,
    ) -> Result<Self, String> {
        let levels: Vec<_> = job.levels.iter().map(|e| (&e.id, e.name.as_str())).collect();
        let panels: Vec<_> = job.panels.iter().map(|e| (&e.id, e.name.as_str())).collect();
        let cables: Vec<_> = job.catalogue.cables.iter().map(|e| (&e.id, e.name.as_str())).collect();
        Ok(Self {
            level: pick("level", level, &levels)?,
            panel: pick("panel", panel, &panels)?,
            cable: pick("cable type", cable, &cables)?,
        })
    }

    /// Whether nothing is left out.
    pub const fn is_all(&self) -> bool {
        self.level.is_none() && self.panel.is_none() && self.cable.is_none()
    }

    /// What is wanted, in words; `None` where nothing is left out.
    pub fn words(&self, job: &Job) -> Option<String> {
        let mut words = Vec::new();
        if let Some(id) = &self.level {
            let name = job.levels.iter().find(|e| e.id.same(id)).map_or("", |e| &e.name);
            words.push(format!("level {}", super::names::with_name(id, name)));
        }
        words.extend(self.panel.as_ref().map(|id| format!("panel {id}")));
        words.extend(self.cable.as_ref().map(|id| format!("cable {id}")));
        (!words.is_empty()).then(|| format!("Only {}.", words.join(", ")))
    }

    /// Whether a thing on that level, from that panel and of that cable type is wanted.
    pub(super) fn wants(&self, level: Option<&Id>, panel: Option<&Id>, cable: &Id) -> bool {
        let same = |wanted: &Option<Id>, is: Option<&Id>| {
            wanted.as_ref().is_none_or(|wanted| is.is_some_and(|is| is.same(wanted)))
        };
        same(&self.level, level) && same(&self.panel, panel) && same(&self.cable, Some(cable))
    }
}

fn pick(what: &str, typed: Option<&str>, there: &[(&Id, &str)]) -> Result<Option<Id>, String> {
    let Some(typed) = typed else { return Ok(None) };
    let by_id = there.iter().find(|(id, _)| id.as_str().eq_ignore_ascii_case(typed));
    let mut named = there.iter().filter(|(_, name)| name.eq_ignore_ascii_case(typed));
    let found = by_id.or_else(|| named.next().filter(|_| named.next().is_none()));
    found.map(|(id, _)| Some((*id).clone())).ok_or_else(|| {
        let ids: Vec<&str> = there.iter().map(|(id, _)| id.as_str()).collect();
        match ids.as_slice() {
            [] => format!("there is no {what} '{typed}'; the job has none"),
            ids => format!("there is no {what} '{typed}'; there are: {}", ids.join(", ")),
        }
    })
}

/// The level a wall box stands on.
pub(super) fn level_of<'a>(design: &'a Design, wall_box: &WallBox) -> Option<&'a Id> {
    design.index.room(&design.job, &wall_box.room).map(|(level, _)| &level.id)
}

/// The panel that a feed comes from, by way of other boxes or not.
pub(super) fn panel_of_feed<'a>(design: &'a Design, feed: &Feed) -> Option<&'a Id> {
    let Spot::Feed { wall_box, feed } = design.index.spot(Kind::Cable, &feed.id)? else { return None };
    let (run, _) = design.network.run_of_feed.get(&FeedAt { wall_box, feed })?;
    design.network.runs.get(*run).map(|run| &run.panel)
}

/// The panel that feeds a control.
pub(super) fn panel_of_control<'a>(design: &'a Design, control: &Id) -> Option<&'a Id> {
    let Spot::Control { wall_box, control } = design.index.spot(Kind::Control, control)? else { return None };
    let run = design.network.run_of_control.get(&ControlAt { wall_box, control })?;
    design.network.runs.get(*run).map(|run| &run.panel)
}

/// The panel whose lights a link is for: that of the control it leaves from, or of the other where that is on no feed.
pub(super) fn panel_of_link<'a>(design: &'a Design, link: &Link) -> Option<&'a Id> {
    panel_of_control(design, &link.from).or_else(|| panel_of_control(design, &link.to))
}
