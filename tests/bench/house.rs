//! Houses of any size that are alike in everything but size: flats of ten rooms, each with a wall box, a home run, a
//! control and a loop of ten lights; a panel with three supplies in each flat.

use std::fmt::Write;

/// Lights of a room, rooms of a flat.
const LIGHTS: usize = 10;
const ROOMS: usize = 10;

/// A job file with so many fixtures, a multiple of ten; parts and settings are those of the cottage.
///
/// # Panics
/// When the sample is no job any more.
pub(crate) fn text(fixtures: usize) -> String {
    let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-jobs/cottage.ron");
    let sample = std::fs::read_to_string(sample).expect("the sample is there");
    let (head, _) = sample.split_once("    levels: [").expect("it has levels");
    let rooms = fixtures / LIGHTS;
    let (mut levels, mut panels, mut boxes) = (String::new(), String::new(), String::new());
    for flat in 0..rooms.div_ceil(ROOMS) {
        let here = (rooms - flat * ROOMS).min(ROOMS);
        let _ = write!(levels, "(id: \"F{flat}\", name: \"Flat {flat}\", elevation: \"0'0\", rooms: [");
        for room in 0..here {
            let _ = write!(
                levels,
                "(id: \"R{flat}-{room}\", name: \"Room {room} of flat {flat}\", area: \"200 ft2\", ceiling: \"9'0\"),"
            );
            boxes.push_str(&wall_box(flat, room));
        }
        levels.push_str("]),");
        let supplies = (0..here.div_ceil(4))
            .map(|supply| format!("(id: \"PS{flat}-{supply}\", part: \"s24\", slot: {}),", supply * 2 + 1));
        let _ = write!(
            panels,
            "(id: \"P{flat}\", name: \"Panel of flat {flat}\", room: \"R{flat}-0\", \
             place: (x: \"1'0\", y: \"1'0\", height: \"5'0\"), slots: 8, feed: (volts: 120, breaker_amps: 15), \
             supplies: [{}]),",
            supplies.collect::<String>()
        );
    }
    format!("{head}    levels: [{levels}],\n    panels: [{panels}],\n    boxes: [{boxes}],\n)\n")
}

fn wall_box(flat: usize, room: usize) -> String {
    let id = format!("{flat}-{room}");
    let (x, y) = (room % 5 * 12 + 2, room / 5 * 14 + 2);
    // Watts differ from room to room, so that a balance has something to do.
    let lights = LIGHTS - (flat * 7 + room * 3) % 4;
    let ceiling = (0..LIGHTS).map(|light| {
        let part = if light < lights { "down-6" } else { "wall-5" };
        format!(
            "(id: \"L{id}-{light}\", place: (x: \"{}'0\", y: \"{}'0\"), fixture: \"{part}\"),",
            x + light % 5 * 2,
            y + light / 5 * 6
        )
    });
    format!(
        "(id: \"B{id}\", name: \"Room {room}, door\", room: \"R{id}\", place: (x: \"{x}'0\", y: \"{y}'0\", \
         height: \"4'0\"), part: \"wall-2\", feeds: [(id: \"HR{id}\", from: Output(\"PS{flat}-{}.{}\"), \
         cable: \"18-5\")], controls: [(id: \"C{id}\", name: \"Downlights\", part: \"dim-12\", loops: [(id: \
         \"LP{id}\", cable: \"18-2\", path: ReturnedCapped, ceiling: [{}])])]),",
        room / 4,
        room % 4 + 1,
        ceiling.collect::<String>()
    )
}
