//! Every thing of a job with what it belongs to, where it is, and how far it is on site.

use crate::job::site::Step;
use crate::job::wiring::WallBox;
use crate::job::{Id, Job, Kind, Subject};

/// A thing in the order of the file.
#[derive(Debug, Clone)]
pub(super) struct Thing<'a> {
    pub subject: Subject,
    /// What it belongs to: its control, its loop, its wall box.
    pub within: Option<&'a Id>,
    /// The room in which a crew finds it.
    pub room: Option<&'a Id>,
    /// How far it is.
    pub step: Step,
}

/// Every thing that somebody builds, buys or looks up, in the order of the file.
pub(super) fn things(job: &Job) -> Vec<Thing<'_>> {
    let mut all =
        vec![plain(Subject::new(Kind::Project, "project")), plain(Subject::new(Kind::Settings, "settings"))];
    let parts = &job.catalogue;
    all.extend(parts.plans.iter().map(|e| plain(Subject::new(Kind::ConductorPlan, &e.id))));
    all.extend(parts.cables.iter().map(|e| plain(Subject::new(Kind::CableType, &e.id))));
    all.extend(parts.fixtures.iter().map(|e| plain(Subject::new(Kind::FixtureType, &e.id))));
    all.extend(parts.supplies.iter().map(|e| plain(Subject::new(Kind::SupplyType, &e.id))));
    all.extend(parts.controls.iter().map(|e| plain(Subject::new(Kind::ControlType, &e.id))));
    all.extend(parts.boxes.iter().map(|e| plain(Subject::new(Kind::BoxType, &e.id))));
    for level in &job.levels {
        all.push(plain(Subject::new(Kind::Level, &level.id)));
        all.extend(level.rooms.iter().map(|room| Thing {
            within: Some(&level.id),
            room: Some(&room.id),
            ..plain(Subject::new(Kind::Room, &room.id))
        }));
    }
    for panel in &job.panels {
        all.push(Thing { room: Some(&panel.room), ..plain(Subject::new(Kind::Panel, &panel.id)) });
        all.extend(panel.supplies.iter().map(|supply| Thing {
            within: Some(&panel.id),
            room: Some(&panel.room),
            ..plain(Subject::new(Kind::Supply, &supply.id))
        }));
    }
    job.boxes.iter().for_each(|wall_box| in_box(wall_box, &mut all));
    for group in &job.groups {
        let room = room_of_control(job, &group.main);
        all.push(Thing { room, ..plain(Subject::new(Kind::Group, &group.id)) });
        all.extend(group.links.iter().map(|link| Thing {
            subject: Subject::new(Kind::Cable, &link.id),
            within: Some(&group.id),
            room: room_of_control(job, &link.from),
            step: link.site.done.step(),
        }));
    }
    all
}

const fn plain<'a>(subject: Subject) -> Thing<'a> {
    Thing { subject, within: None, room: None, step: Step::ToPull }
}

fn in_box<'a>(wall_box: &'a WallBox, all: &mut Vec<Thing<'a>>) {
    let room = Some(&wall_box.room);
    let done = wall_box.site.done.step();
    all.push(Thing { room, step: done, ..plain(Subject::new(Kind::WallBox, &wall_box.id)) });
    all.extend(wall_box.feeds.iter().map(|feed| Thing {
        subject: Subject::new(Kind::Cable, &feed.id),
        within: Some(&wall_box.id),
        room,
        step: feed.site.done.step(),
    }));
    for control in &wall_box.controls {
        let subject = Subject::new(Kind::Control, &control.id);
        all.push(Thing { subject, within: Some(&wall_box.id), room, step: done });
        for run in &control.loops {
            let step = run.site.done.step();
            let subject = Subject::new(Kind::Cable, &run.id);
            all.push(Thing { subject, within: Some(&control.id), room, step });
            all.extend(run.ceiling.iter().map(|ceiling| Thing {
                subject: Subject::new(Kind::Fixture, &ceiling.id),
                within: Some(&run.id),
                room: ceiling.room.as_ref().or(room),
                step: ceiling.site.done.step(),
            }));
        }
    }
}

fn room_of_control<'a>(job: &'a Job, control: &Id) -> Option<&'a Id> {
    let holds = |wall_box: &&WallBox| wall_box.controls.iter().any(|entry| entry.id.same(control));
    job.boxes.iter().find(holds).map(|wall_box| &wall_box.room)
}
