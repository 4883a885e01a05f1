//! Rooms: their lights, how light they are, and how far the lights are apart.

use super::finding::{Finding, Unit};
use super::{Seen, list};
use crate::format::Quantity;
use crate::job::house::Room;
use crate::job::wiring::CeilingBox;
use crate::job::{Kind, Stage, Subject};
use crate::network::LoopAt;
use crate::study::RoomStudy;

/// Ticks of 100 nm in a metre.
const METRE: f64 = 1e7;

/// A room, by its position among all of the house.
pub(super) fn check(seen: Seen<'_>, at: usize, findings: &mut Vec<Finding>) {
    let Some(study) = seen.study.rooms.get(at) else { return };
    let Some((level, room)) = seen.index.room(seen.job, &study.room) else { return };
    let subject = || Subject::new(Kind::Room, &room.id);
    let wish = room.illuminance.or(seen.job.settings.light.illuminance);
    // While a house is planned rooms are still to be laid out; those that ask for light, and all of them once cables
    // are pulled, are not to be forgotten.
    let wanted = room.illuminance.is_some() || seen.job.project.stage != Stage::Planning;
    if study.lights.is_empty() {
        if !wanted {
            return;
        }
        findings.push(
            seen.find(
                &list::ROOM_DARK,
                subject(),
                format!("room {} has no lights", room.id),
                "give it lights, unless it needs none",
            )
            .caused_by(Subject::new(Kind::Level, &level.id)),
        );
    } else if let Some(wish) = wish {
        level_of(seen, room, study, wish.si(), findings);
    }
    spacing(seen, room, study, findings);
}

fn level_of(seen: Seen<'_>, room: &Room, study: &RoomStudy, wish: f64, findings: &mut Vec<Finding>) {
    let subject = Subject::new(Kind::Room, &room.id);
    let Some(lux) = study.lux else {
        findings.push(seen.find(
            &list::LIGHT_UNKNOWN,
            subject,
            format!("the light level of room {} is unknown", room.id),
            "enter its area, and the lumens of its fixtures from their data sheets",
        ));
        return;
    };
    if lux < wish {
        let more = study.lumens.map(|lumens| lumens * (wish / lux - 1.0));
        let more = more.map(|more| format!("{} lm", (more / 10.0).ceil() * 10.0)).unwrap_or_default();
        let [found, wanted] = [lux, wish].map(|lux| Quantity::Lux.shown(Some(lux)));
        findings.push(
            seen.find(
                &list::LIGHT_LEVEL,
                subject,
                format!("room {} gets {found} by the lumen method; it is to have {wanted}", room.id),
                format!("hang lights of {more} more, or state the utilization from their data sheet"),
            )
            .figures(lux, wish, Unit::Lux),
        );
    }
}

/// Each light's nearest neighbour in its room, against what its height allows.
fn spacing(seen: Seen<'_>, room: &Room, study: &RoomStudy, findings: &mut Vec<Finding>) {
    let Some(ceiling) = room.ceiling else { return };
    let placed: Vec<(LoopAt, &CeilingBox, [f64; 2])> = study
        .lights
        .iter()
        .map(|&(at, light)| (at, &seen.loop_at(at).ceiling[light]))
        .filter_map(|(at, ceiling)| {
            let place = ceiling.place?;
            Some((at, ceiling, [place.x.metres(), place.y.metres()]))
        })
        .collect();
    // Where some places are unknown a neighbour may be nearer than any that is known.
    if placed.len() < study.lights.len() || placed.len() < 2 {
        return;
    }
    for (at, (on, held, here)) in placed.iter().enumerate() {
        let Some(ratio) = seen
            .held(seen.on(*on), held)
            .filter_map(|part| part.spacing_ratio)
            .map(crate::units::SpacingRatio::get)
            .reduce(f64::min)
        else {
            continue;
        };
        let hangs = held.place.and_then(|place| place.height).unwrap_or(ceiling);
        #[expect(clippy::cast_precision_loss, reason = "a height in a room is far below 2^53 ticks")]
        let above = (hangs.ticks() - seen.job.settings.light.work_plane.ticks()) as f64 / METRE;
        if above <= 0.0 {
            continue;
        }
        let distance = |there: &[f64; 2]| (here[0] - there[0]).hypot(here[1] - there[1]);
        let others = placed.iter().enumerate().filter(|(other, _)| *other != at);
        let nearest = others.map(|(_, (_, _, there))| distance(there)).fold(f64::INFINITY, f64::min);
        let limit = ratio * above;
        // Places are whole sixteenths: what is typed as the limit is not over it.
        if nearest > limit * (1.0 + 1e-9) {
            let feet = |metres: f64| metres / 0.3048;
            findings.push(
                seen.find(
                    &list::SPACING,
                    Subject::new(Kind::Fixture, &held.id),
                    format!(
                        "the nearest light to {} is {} away",
                        held.id,
                        Quantity::Feet.shown(Some(feet(nearest)))
                    ),
                    format!(
                        "hang lights {} apart or nearer",
                        Quantity::Feet.shown(Some((feet(limit) * 10.0).floor() / 10.0))
                    ),
                )
                .figures(feet(nearest), feet(limit), Unit::Feet)
                .caused_by(Subject::new(Kind::Room, &room.id)),
            );
        }
    }
}
