//! Cables: what they are made of, what their conductors do, where they go, and whether there is enough of them.

use super::finding::Finding;
use super::{Seen, list};
use crate::job::catalogue::{CableType, Function, Listing, Metal};
use crate::job::wiring::{ControlGroup, Link, Source, WallBox, Way};
use crate::job::{Id, Kind, Stage, Subject};
use crate::network::{Basis, Lengths};
use crate::standards::conductor::ohms_per_metre;
use std::collections::HashSet;

/// A cable that is drawn.
struct Drawn<'a> {
    id: &'a Id,
    cable: &'a Id,
    plan: Option<&'a Id>,
    way: &'a [Way],
    home_run: bool,
    estimated: bool,
}

/// The types of which a cable is drawn.
pub(super) fn types(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    let used: HashSet<String> = ids(seen).map(Id::folded).collect();
    for part in seen.job.catalogue.cables.iter().filter(|part| used.contains(&part.id.folded())) {
        cable_type(seen, part, findings);
    }
}

/// The types of all cables that are drawn.
fn ids(seen: Seen<'_>) -> impl Iterator<Item = &Id> {
    let feeds = seen.job.boxes.iter().flat_map(|wall_box| &wall_box.feeds).map(|feed| &feed.cable);
    let controls = seen.job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let loops = controls.flat_map(|control| &control.loops).map(|wired| &wired.cable);
    let links = seen.job.groups.iter().flat_map(|group| &group.links).map(|link| &link.cable);
    feeds.chain(loops).chain(links)
}

/// The feeds and the loops of a wall box.
pub(super) fn of_box(seen: Seen<'_>, wall_box: &WallBox, findings: &mut Vec<Finding>) {
    for cable in &drawn_in(seen, wall_box) {
        one(seen, cable, findings);
    }
}

/// The links of a group.
pub(super) fn links(seen: Seen<'_>, group: &ControlGroup, findings: &mut Vec<Finding>) {
    for cable in &drawn_links(seen, group) {
        one(seen, cable, findings);
    }
}

fn one(seen: Seen<'_>, cable: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let Some(part) = seen.index.cable_type(seen.job, cable.cable) else { return };
    plan(seen, cable, part, findings);
    way(seen, cable, part, findings);
    if seen.job.project.stage != Stage::Planning && cable.estimated {
        findings.push(
            seen.find(
                &list::ESTIMATED,
                Subject::new(Kind::Cable, cable.id),
                format!("the length of {} is estimated, in a house past planning", cable.id),
                "measure it between the foot marks of its jacket",
            )
            .caused_by(Subject::new(Kind::Job, "job")),
        );
    }
}

fn drawn_in<'a>(seen: Seen<'a>, wall_box: &'a WallBox) -> Vec<Drawn<'a>> {
    let lengths = Lengths::new(seen.job, seen.index);
    let mut all = Vec::new();
    for feed in &wall_box.feeds {
        let length = lengths.feed(wall_box, feed);
        all.push(Drawn {
            id: &feed.id,
            cable: &feed.cable,
            plan: feed.plan.as_ref(),
            way: &feed.way,
            home_run: !matches!(feed.from, Source::Onward(_)),
            estimated: length.is_some_and(|length| length.basis == Basis::Estimated),
        });
    }
    for wired in wall_box.controls.iter().flat_map(|control| &control.loops) {
        let length = lengths.wired_loop(wall_box, wired).whole;
        all.push(Drawn {
            id: &wired.id,
            cable: &wired.cable,
            plan: wired.plan.as_ref(),
            way: &wired.way,
            home_run: false,
            estimated: length.is_some_and(|length| length.basis == Basis::Estimated),
        });
    }
    all
}

fn drawn_links<'a>(seen: Seen<'a>, group: &'a ControlGroup) -> Vec<Drawn<'a>> {
    let lengths = Lengths::new(seen.job, seen.index);
    let drawn = |link: &'a Link| {
        let length = lengths.link(link);
        Drawn {
            id: &link.id,
            cable: &link.cable,
            plan: link.plan.as_ref(),
            way: &link.way,
            home_run: false,
            estimated: length.is_some_and(|length| length.basis == Basis::Estimated),
        }
    };
    group.links.iter().map(drawn).collect()
}

fn cable_type(seen: Seen<'_>, part: &CableType, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::CableType, &part.id);
    let metal = match part.metal {
        Metal::Copper => None,
        Metal::Aluminum => Some("aluminum"),
        Metal::CopperCladAluminum => Some("copper-clad aluminum"),
    };
    if let Some(metal) = metal {
        findings.push(seen.find(
            &list::METAL,
            subject(),
            format!("cable type {} is {metal}: more ohms, and terminals that may not take it", part.id),
            "use copper",
        ));
    } else if ohms_per_metre(part.gauge.get(), part.stranding, 75.0).is_none() {
        findings.push(seen.find(
            &list::GAUGE,
            subject(),
            format!("no table gives the ohms of {} AWG as cable type {} has it", part.gauge, part.id),
            "check its gauge and stranding against the jacket",
        ));
    }
}

fn plan(seen: Seen<'_>, cable: &Drawn<'_>, part: &CableType, findings: &mut Vec<Finding>) {
    let Some(plan) = seen.index.plan(seen.job, cable.plan.unwrap_or(&part.plan)) else { return };
    let (planned, has) = (plan.conductors.len(), usize::from(part.conductors.get()));
    if planned != has {
        findings.push(
            seen.find(
                &list::PLAN_COUNT,
                Subject::new(Kind::Cable, cable.id),
                format!("plan {} of {} has {planned} conductors; its cable has {has}", plan.id, cable.id),
                "give the cable a plan with each of its conductors, spare ones too",
            )
            .counts(planned, has)
            .caused_by(Subject::new(Kind::ConductorPlan, &plan.id)),
        );
    }
    if seen.job.settings.ground_conductor && cable.home_run && plan.count(Function::Ground) == 0 {
        findings.push(
            seen.find(
                &list::GROUND,
                Subject::new(Kind::Cable, cable.id),
                format!("plan {} of home run {} has no ground conductor", plan.id, cable.id),
                "give a conductor of its plan to ground",
            )
            .counts(0, 1)
            .caused_by(Subject::new(Kind::ConductorPlan, &plan.id)),
        );
    }
}

fn way(seen: Seen<'_>, cable: &Drawn<'_>, part: &CableType, findings: &mut Vec<Finding>) {
    for way in cable.way {
        let id = cable.id;
        let mut report = |check, what: String, remedy: &str| {
            findings.push(seen.find(check, Subject::new(Kind::Cable, id), what, remedy));
        };
        let enough = |least: Listing| part.listing.is_some_and(|listing| listing >= least);
        match way {
            Way::Riser if !enough(Listing::Riser) => report(
                &list::CABLE_PLACE,
                format!("{id} goes through a riser shaft; {} is not listed as a riser cable", part.id),
                "use CL2R, CL3R or plenum cable, or state its listing",
            ),
            Way::Plenum if !enough(Listing::Plenum) => report(
                &list::CABLE_PLACE,
                format!("{id} goes through a space for air; {} is not listed as a plenum cable", part.id),
                "use CL2P or CL3P cable, or state its listing",
            ),
            Way::Wet if !part.wet => report(
                &list::CABLE_PLACE,
                format!("{id} goes through a wet place; {} is not listed for one", part.id),
                "use cable listed for wet places, or state that it is",
            ),
            Way::Sunlight if !part.sunlight => report(
                &list::CABLE_PLACE,
                format!("{id} lies in the sun; {} is not listed for it", part.id),
                "use sunlight-resistant cable, or state that it is",
            ),
            Way::SharedHole => report(
                &list::SHARED_HOLE,
                format!("{id} shares a bored hole with line voltage"),
                "bore a hole of its own for it, 2 in away",
            ),
            Way::NearEdge => report(
                &list::NAIL_PLATE,
                format!("{id} lies within 1-1/4 in of the edge of the wood, with no plate"),
                "set a steel plate of 1/16 in or more, or move the cable back",
            ),
            Way::OnConduit => {
                report(&list::SUPPORT, format!("{id} is strapped to a conduit"), "fasten it to the building");
            }
            Way::Riser | Way::Plenum | Way::Wet | Way::Sunlight => {}
        }
    }
}

/// Whether any estimate leaves cable for make-up.
pub(super) fn slack(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    let estimated = |cable: &Drawn<'_>| cable.estimated;
    let any = || {
        seen.job.boxes.iter().any(|wall_box| drawn_in(seen, wall_box).iter().any(estimated))
            || seen.job.groups.iter().any(|group| drawn_links(seen, group).iter().any(estimated))
    };
    let settings = &seen.job.settings;
    for (name, left) in [
        ("in panel and wall boxes", settings.makeup_cable_end),
        ("in ceiling boxes", settings.makeup_ceiling_box),
    ] {
        if left.ticks() == 0 && any() {
            findings.push(seen.find(
                &list::SLACK,
                Subject::new(Kind::Settings, "settings"),
                format!("no cable is left {name} for make-up, so every estimate is short"),
                "leave as much as the hands need: 3 ft at an end and 10 to 20 in a box are usual",
            ));
        }
    }
}
