//! Copies of whole parts of a house, and where their home runs go.

use crate::desk::Desk;
use crate::support::{design_with, sample};
use std::collections::HashSet;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::job::house::Corner;
use studbay::job::wiring::{Source, WallBox};
use studbay::job::{Index, Job, Kind, Subject};
use studbay::plan::next::Outlets;
use studbay::plan::repeat::{How, MOST_COPIES, MOST_THINGS, Offset, copy};
use studbay::units::{Length, LengthUnit};

fn subject(kind: Kind, id: &str) -> Subject {
    Subject { kind, id: id.into() }
}

/// The job after a copy, and back again.
fn copied(design: &Design, subject: &Subject, how: &How) -> Job {
    let mut job = design.job.clone();
    let back = apply(&mut job, copy(&design.job, subject, how).unwrap()).unwrap();
    let mut before = job.clone();
    apply(&mut before, back).unwrap();
    assert_eq!(before, design.job, "the copy is one step");
    job
}

fn new_boxes<'a>(before: &Job, after: &'a Job) -> Vec<&'a WallBox> {
    let known: HashSet<String> = before.boxes.iter().map(|b| b.id.folded()).collect();
    after.boxes.iter().filter(|b| !known.contains(&b.id.folded())).collect()
}

#[test]
fn a_level_is_copied_with_all_that_is_in_it() {
    let design = sample("two-story");
    let upper = design.job.levels.last().unwrap().clone();
    let how = How { count: 1, ..How::default() };
    let after = copied(&design, &Subject::new(Kind::Level, &upper.id), &how);
    let copy =
        after.levels.iter().find(|level| !design.job.levels.iter().any(|l| l.id.same(&level.id))).unwrap();
    assert_eq!(copy.rooms.len(), upper.rooms.len());
    assert_eq!(copy.elevation, None, "how high it is was not said");
    let here = |job: &Job, rooms: &[studbay::job::house::Room]| -> Vec<WallBox> {
        let boxes = job.boxes.iter().filter(|b| rooms.iter().any(|room| room.id.same(&b.room)));
        boxes.cloned().collect()
    };
    let (old, new) = (here(&after, &upper.rooms), here(&after, &copy.rooms));
    assert!(!old.is_empty() && old.len() == new.len());
    assert_eq!(new_boxes(&design.job, &after).len(), new.len(), "nothing else was copied");
    for (old, new) in old.iter().zip(&new) {
        assert_eq!(old.place, new.place, "a floor stands above the other");
        assert!(
            new.feeds.iter().all(|feed| feed.measured.is_none() && matches!(feed.from, Source::Panel(_)))
        );
        let lights =
            |b: &WallBox| b.controls.iter().flat_map(|c| &c.loops).map(|l| l.ceiling.len()).sum::<usize>();
        assert_eq!(lights(old), lights(new));
        // A loop that returns to another control of the copy, and a light in another of its rooms, stay in the copy.
        for light in new.controls.iter().flat_map(|c| &c.loops).flat_map(|l| &l.ceiling) {
            assert!(light.room.as_ref().is_none_or(|room| !upper.rooms.iter().any(|r| r.id.same(room))));
        }
    }
    let up = upper.elevation.unwrap();
    let how = How { count: 2, up: Some(up.ticks()), ..How::default() };
    let after = copied(&design, &Subject::new(Kind::Level, &upper.id), &how);
    let at = after.levels.iter().position(|level| level.id.same(&upper.id)).unwrap();
    let heights: Vec<i64> = after.levels[at..at + 3].iter().map(|l| l.elevation.unwrap().ticks()).collect();
    assert_eq!(heights, [up.ticks(), 2 * up.ticks(), 3 * up.ticks()]);
}

#[test]
fn a_panel_is_copied_with_its_supplies_in_their_slots() {
    let design = sample("two-story");
    let after = copied(&design, &subject(Kind::Panel, "P1"), &How { count: 1, ..How::default() });
    let (old, new) = (&after.panels[0], &after.panels[1]);
    assert_eq!((new.id.as_str(), new.slots, new.supplies.len()), ("P2", old.slots, old.supplies.len()));
    for (old, new) in old.supplies.iter().zip(&new.supplies) {
        assert_eq!((&old.part, old.slot), (&new.part, new.slot));
        assert!(!old.id.same(&new.id));
    }
    assert_eq!(after.boxes, design.job.boxes, "its home runs stay where they are");
}

#[test]
fn a_group_is_copied_with_its_controls_and_a_home_run_by_itself() {
    let design = sample("two-story");
    let group = design.job.groups[0].clone();
    let after = copied(&design, &Subject::new(Kind::Group, &group.id), &How { count: 1, ..How::default() });
    let copy = after.groups.iter().find(|g| !design.job.groups.iter().any(|old| old.id.same(&g.id))).unwrap();
    let controls = || after.boxes.iter().flat_map(|b| b.controls.iter().map(move |c| (b, c)));
    let of = |id: &studbay::job::Id| controls().find(|(_, c)| c.id.same(id)).unwrap();
    for (old, new) in
        [&group.main].into_iter().chain(&group.remotes).zip([&copy.main].into_iter().chain(&copy.remotes))
    {
        assert!(!old.same(new));
        let ((old_box, old), (new_box, new)) = (of(old), of(new));
        assert_eq!((&old_box.id, &old.part, old.loops.len()), (&new_box.id, &new.part, new.loops.len()));
    }
    assert_eq!(copy.links.len(), group.links.len());
    let inside = |id: &studbay::job::Id| copy.main.same(id) || copy.remotes.iter().any(|r| r.same(id));
    assert!(copy.links.iter().all(|link| inside(&link.from) && inside(&link.to) && link.measured.is_none()));

    let feed = design.job.boxes[0].feeds[0].clone();
    let after = copied(&design, &Subject::new(Kind::Cable, &feed.id), &How { count: 1, ..How::default() });
    let copy = &after.boxes[0].feeds[1];
    assert_eq!((&copy.cable, copy.landed, copy.measured), (&feed.cable, false, None));
    assert!(matches!(&copy.from, Source::Panel(panel) if panel.as_str() == "P1"));
}

#[test]
fn home_runs_of_copies_go_to_outputs_that_have_room_for_them() {
    let design = design_with(&[]);
    let target = design.job.settings.target_load_percent.get();
    let how = How { count: 4, outlets: Some(Outlets::of(&design)), ..How::default() };
    // The first output takes another run, and so on: two on each within 80 %.
    let after = Design::derive(copied(&design, &Subject::new(Kind::WallBox, &design.job.boxes[0].id), &how));
    let count: Vec<usize> = after.study.outputs.iter().map(|output| output.runs.len()).collect();
    assert_eq!(count, [2, 2, 1, 0]);
    assert!(after.study.outputs.iter().all(|output| output.percent.unwrap() <= target));
    // Where there is no room it stays on the panel, and the form says so.
    let mut desk = Desk::new("cottage");
    desk.find("front door");
    desk.press("y20\t\t\t\t");
    desk.press("n");
    assert!(desk.screen().contains("on no output: none has room"), "{}", desk.screen());
    desk.look("repeat_onto_outputs");
}

#[test]
fn a_wall_box_is_copied_into_the_rooms_that_are_marked_or_named() {
    let mut desk = Desk::new("cottage");
    desk.find("Kitchen");
    desk.press("v");
    desk.find("Bath");
    desk.press("v");
    desk.find("front door");
    desk.press("y");
    desk.look("repeat_into_rooms");
    desk.press("\r");
    let new = new_boxes(&desk.before, desk.job());
    let rooms: Vec<&str> = new.iter().map(|b| b.room.as_str()).collect();
    assert_eq!(rooms, ["kitchen", "bath"]);
    let old = desk.job().boxes.iter().find(|b| b.id.as_str() == "L1").unwrap();
    for new in &new {
        assert_eq!(new.name, old.name, "in another room the name says enough");
        assert_eq!((old.place.is_some(), new.place), (true, None), "where it stands there is not known");
    }
    assert!(new[0].id.as_str().starts_with('K') && new[1].id.as_str().starts_with('B'), "{rooms:?}");
    desk.undone();
    // By part of their names, and where nothing goes.
    desk.press("\u{1b}");
    desk.find("front door");
    desk.press("y\t\t\tkit, bat\r");
    let rooms: Vec<&str> = new_boxes(&desk.before, desk.job()).iter().map(|b| b.room.as_str()).collect();
    assert_eq!(rooms, ["kitchen", "bath"]);
    desk.undone();
    desk.find("front door");
    desk.press("y\t\t\tcellar\r");
    assert!(desk.screen().contains("no room 'cellar'"), "{}", desk.screen());
}

#[test]
fn in_another_room_a_copy_stands_as_it_does_in_the_first() {
    let mut job = design_with(&[]).job;
    // A second room ten feet to the right of the first and five further up.
    let foot = 3_048_000;
    let first = job.levels[0].rooms.iter_mut().find(|room| room.id.same(&job.boxes[0].room)).unwrap();
    let corner = Corner {
        x: Length::from_ticks(20 * foot, LengthUnit::Feet),
        y: Length::from_ticks(0, LengthUnit::Feet),
    };
    first.corner = Some(corner);
    let mut room = first.clone();
    room.id = studbay::job::Id::new("twin").unwrap();
    let (x, y) = (corner.x.shifted(10 * foot).unwrap(), corner.y.shifted(5 * foot).unwrap());
    room.corner = Some(Corner { x, y });
    job.levels[0].rooms.push(room);
    let design = Design::derive(job);
    let old = &design.job.boxes[0];
    let how = How {
        count: 2,
        into: vec![subject(Kind::Room, "twin")],
        offset: Offset { x: foot, y: 0 },
        ..How::default()
    };
    let after = copied(&design, &Subject::new(Kind::WallBox, &old.id), &how);
    let light = |b: &WallBox| b.controls[0].loops[0].ceiling[0].place.unwrap();
    for (nth, new) in new_boxes(&design.job, &after).into_iter().enumerate() {
        let right = (10 + i64::try_from(nth).unwrap()) * foot;
        for (was, is) in [(old.place.unwrap(), new.place.unwrap()), (light(old), light(new))] {
            assert_eq!((is.x.ticks() - was.x.ticks(), is.y.ticks() - was.y.ticks()), (right, 5 * foot));
            assert_eq!(is.height, was.height);
        }
    }
}

#[test]
fn more_than_is_made_at_once_is_refused_with_what_it_would_be() {
    let design = sample("large-house");
    let upper = design.job.levels.last().unwrap();
    let all = |job: &Job| Index::new(job).0.all().len();
    let once = copied(&design, &Subject::new(Kind::Level, &upper.id), &How { count: 1, ..How::default() });
    let floor = all(&once) - all(&design.job);
    let made = |count| {
        let how = How { count, ..How::default() };
        copy(&design.job, &Subject::new(Kind::Level, &upper.id), &how)
    };
    let most = MOST_THINGS / floor;
    assert!(most < MOST_COPIES, "a floor of {floor} things");
    assert_eq!(made(most).err(), None);
    assert_eq!(
        made(most + 1).unwrap_err().to_string(),
        format!("{} copies hold {} things, more than the 5000 made at once", most + 1, (most + 1) * floor)
    );
    assert!(made(MOST_COPIES + 1).unwrap_err().to_string().contains("more than the 200 made at once"));
}

#[test]
fn copies_go_only_where_they_belong() {
    let design = sample("cottage");
    let into = |subject: Subject, into: Subject| {
        let how = How { count: 1, into: vec![into], ..How::default() };
        copy(&design.job, &subject, &how).map(|_| ()).map_err(|error| error.to_string())
    };
    assert_eq!(into(subject(Kind::WallBox, "L1"), subject(Kind::Room, "bath")), Ok(()));
    let wrong = into(subject(Kind::WallBox, "L1"), subject(Kind::Level, "main")).unwrap_err();
    assert!(wrong.contains("does not belong"), "{wrong}");
    let missing = into(subject(Kind::WallBox, "L1"), subject(Kind::Room, "attic")).unwrap_err();
    assert!(missing.contains("there is no"), "{missing}");
    let many = How { count: 150, into: vec![subject(Kind::Room, "bath"); 2], ..How::default() };
    assert!(copy(&design.job, &subject(Kind::WallBox, "L1"), &many).is_err());
    let far = How { count: 1, offset: Offset { x: i64::MAX, y: 0 }, ..How::default() };
    assert!(copy(&design.job, &subject(Kind::WallBox, "L1"), &far).is_err());
}
