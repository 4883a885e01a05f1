//! Fast ways to type a house in: what is proposed, and how little has to be typed over it.

use crate::desk::Desk;
use crate::support::{design_of, design_with};
use ratatui::buffer::Cell;
use ratatui::style::Modifier;
use studbay::job::Job;
use studbay::job::wiring::Source;
use studbay::terminal::KeyCode;
use studbay::units::Length;

/// The job `studbay new` writes has one run; this is nothing but its name.
const EMPTY: &str = "(format: (1, 0), project: (title: \"House\"))";

fn names(desk: &Desk) -> Vec<&str> {
    desk.job().levels.iter().flat_map(|level| &level.rooms).map(|room| room.name.as_str()).collect()
}

/// The reversed text on the screen.
fn reversed(desk: &Desk) -> String {
    let cells = desk.buffer.content().iter();
    cells.filter(|cell| cell.modifier.contains(Modifier::REVERSED)).map(Cell::symbol).collect()
}

#[test]
fn the_first_key_replaces_what_is_proposed_and_a_cursor_key_keeps_it() {
    let mut desk = Desk::new("cottage");
    desk.press("6");
    desk.find("downlight");
    desk.press("e");
    let name = desk.job().catalogue.fixtures[0].name.clone();
    assert_eq!(reversed(&desk), name, "what is chosen is shown, in mono too\n{}", desk.screen());
    assert!(desk.screen().contains("type:replace"), "{}", desk.screen());
    desk.press("Lamp");
    assert_eq!(reversed(&desk), "");
    desk.press("\r");
    assert_eq!(desk.job().catalogue.fixtures[0].name, "Lamp");
    desk.press("e");
    desk.key(KeyCode::End);
    assert_eq!(reversed(&desk), "");
    assert!(desk.screen().contains("^U:clear"), "{}", desk.screen());
    desk.press(" 7\r");
    assert_eq!(desk.job().catalogue.fixtures[0].name, "Lamp 7");
    desk.press("e");
    desk.key(KeyCode::Left);
    desk.key(KeyCode::Backspace);
    desk.press("-\r");
    assert_eq!(desk.job().catalogue.fixtures[0].name, "Lamp-7");
    desk.press("e");
    desk.key(KeyCode::Backspace);
    desk.press("\r");
    assert_eq!(desk.job().catalogue.fixtures[0].name, "", "chosen text goes whole");
    // Pasted text replaces as typed text does.
    desk.press("e");
    desk.paste("one");
    desk.paste(" two");
    desk.press("\r");
    assert_eq!(desk.job().catalogue.fixtures[0].name, "one two");
}

#[test]
fn rooms_are_typed_in_a_row() {
    let mut desk = Desk::of(design_of(EMPTY), "empty");
    desk.press("aGround floor\ra");
    desk.press("Bedroom 1\t120\t\t\t8'\u{e}");
    assert!(desk.screen().contains("done: make room R1"), "{}", desk.screen());
    assert!(reversed(&desk).contains("Bedroom 2"), "the next name is proposed\n{}", desk.screen());
    desk.press("\t140\u{e}");
    desk.press("Bath\t60\u{e}");
    // Nothing was typed into the next one, so nothing is lost and nothing asked.
    desk.press("\u{1b}");
    assert!(!desk.screen().contains("New room"), "{}", desk.screen());
    assert_eq!(names(&desk), ["Bedroom 1", "Bedroom 2", "Bath"]);
    let rooms = &desk.job().levels[0].rooms;
    let area = |at: usize| rooms[at].area.map(|area| area.to_string());
    assert_eq!((area(0), area(1)), (Some("120 ft2".into()), Some("140 ft2".into())));
    assert!(rooms.iter().all(|room| room.ceiling.is_some()), "a height is alike from room to room");
    assert!(desk.line().contains("Bath"), "{}", desk.screen());
    // Each is a step of its own.
    desk.press("uu");
    assert_eq!(names(&desk), ["Bedroom 1"]);
}

#[test]
fn what_was_added_last_is_added_again() {
    let mut desk = Desk::new("cottage");
    desk.find("Kitchen");
    desk.press("a");
    assert!(desk.screen().contains("New wall box in"), "{}", desk.screen());
    desk.press("\u{1b}Ar");
    assert!(desk.screen().contains("New room in"), "{}", desk.screen());
    desk.press("\u{1b}");
    desk.find("Bath");
    desk.press("a");
    assert!(desk.screen().contains("New room in"), "{}", desk.screen());
    desk.press("\u{1b}Ab\u{1b}a");
    assert!(desk.screen().contains("New wall box in"), "{}", desk.screen());
    // Where anything may be meant it is asked once.
    desk.press("\u{1b}6ga");
    assert!(desk.screen().contains("add f:fixture"), "{}", desk.screen());
    desk.press("s");
    assert!(desk.screen().contains("New supply type"), "{}", desk.screen());
    desk.press("\u{1b}ga");
    assert!(desk.screen().contains("New supply type"), "{}", desk.screen());
}

#[test]
fn a_field_is_changed_down_the_lines() {
    let mut desk = Desk::new("cottage");
    desk.press("4g");
    let before = desk.line();
    desk.press("e\t\t\t\t44'\u{e}");
    assert!(desk.screen().contains("done: change feed") || desk.screen().contains("done: change cable"));
    assert_ne!(desk.line(), before);
    desk.press("45'\u{e}\u{e}47'\r");
    // The view stands in pull order, by room.
    let measured = |job: &Job, id: &str| {
        let mut feeds = job.boxes.iter().flat_map(|wall_box| &wall_box.feeds);
        feeds.find(|feed| feed.id.as_str() == id).and_then(|feed| feed.measured.map(Length::written))
    };
    let now: Vec<Option<String>> =
        ["HR01", "HR08", "HR02", "HR06"].map(|id| measured(desk.job(), id)).into_iter().collect();
    let third = measured(&desk.before, "HR02");
    let typed = |text: &str| Some(text.to_owned());
    assert_eq!(now, [typed("44'0"), typed("45'0"), third, typed("47'0")]);
    // At the end it says so.
    desk.find("U1a1");
    desk.press("e");
    while desk.screen().contains("Change loop") {
        desk.press("\u{e}");
    }
    assert!(desk.said().contains("that was the last"), "{}", desk.screen());
}

/// The outputs of the home runs of a job, in the order of the file.
fn sources(desk: &Desk) -> Vec<String> {
    let feeds = desk.job().boxes.iter().flat_map(|wall_box| &wall_box.feeds);
    feeds
        .map(|feed| match &feed.from {
            Source::Output(output) => output.to_string(),
            Source::Panel(panel) => panel.to_string(),
            Source::Onward(feed) => feed.to_string(),
        })
        .collect()
}

#[test]
fn a_home_run_is_proposed_on_the_next_output_with_room() {
    // One home run on the first output of a supply of four, each with one terminal.
    let mut desk = Desk::of(design_with(&[("terminals: 2", "terminals: 1")]), "starter");
    assert_eq!(sources(&desk), ["PS1.1"]);
    let wall_box = desk.job().boxes[0].id.to_string();
    for _ in 0..4 {
        desk.find(&wall_box);
        desk.press("Ah\r");
    }
    // When none is left it comes from the panel, on no output.
    assert_eq!(sources(&desk), ["PS1.1", "PS1.2", "PS1.3", "PS1.4", "P1"]);

    // Two terminals: the first output takes a second run only if a run like the others keeps within the target.
    let usual = design_with(&[]).study.outputs[0].watts.unwrap();
    for (watts, output) in
        [(96.0, "PS1.1"), (usual * 2.0 / 0.8 + 0.1, "PS1.1"), (usual * 2.0 / 0.8 - 0.1, "PS1.2")]
    {
        let watts = format!("output_watts: {watts:.3}");
        let mut desk = Desk::of(design_with(&[("output_watts: 96", &watts)]), "starter");
        desk.find(&wall_box);
        desk.press("Ah\t");
        let screen = desk.screen();
        assert!(screen.contains("pick: ") && screen.contains(" W free"), "{screen}");
        desk.press("\r");
        assert_eq!(sources(&desk), ["PS1.1", output], "{watts}");
    }

    // A few characters pick another.
    let mut desk = Desk::of(design_with(&[]), "starter");
    desk.find(&wall_box);
    desk.press("Ah\t.4\r");
    assert_eq!(sources(&desk), ["PS1.1", "PS1.4"]);
}

#[test]
fn the_outputs_to_pick_from_say_what_is_free() {
    let design = design_with(&[]);
    let outputs = studbay::plan::next::outputs(&design);
    // What is free is the target less what the study says is taken.
    let taken = design.study.outputs[0].watts.unwrap();
    let target = 96.0 * design.job.settings.target_load_percent.get() / 100.0;
    assert!((outputs[0].watts - (target - taken)).abs() < 1e-9 && !outputs[0].before_cable);
    assert_eq!(outputs[0].terminals, 1);
    assert!((outputs[3].watts - target).abs() < 1e-9 && outputs[3].terminals == 2);
    // With a length unknown only the ratings count, and that is said: four lights of 6 W and the control's own draw.
    let place = "id: \"F2\", place: (x: \"24'0\", y: \"8'0\"), ";
    let design = design_with(&[(place, "id: \"F2\", ")]);
    let own = design.job.catalogue.controls[0].own_watts.get();
    let outputs = studbay::plan::next::outputs(&design);
    assert!(outputs[0].before_cable && (outputs[0].watts - (target - 24.0 - own)).abs() < 1e-9);
    let mut desk = Desk::of(design, "starter");
    let wall_box = desk.job().boxes[0].id.to_string();
    desk.find(&wall_box);
    desk.press("Ah\t");
    assert!(desk.screen().contains("free before cable"), "{}", desk.screen());
}

#[test]
fn a_supply_is_proposed_in_the_next_free_slot_and_parts_as_used_last() {
    let mut desk = Desk::of(design_with(&[]), "starter");
    desk.press("3ga\u{e}\r");
    let slots: Vec<_> = desk.job().panels[0].supplies.iter().map(|supply| supply.slot).collect();
    let numbers: Vec<u16> = slots.into_iter().map(|slot| slot.unwrap().get()).collect();
    assert_eq!(numbers, [1, 3, 5]);
    // A loop ends like the one made before it, wherever that is.
    desk.press("1");
    let control = desk.job().boxes[0].controls[0].id.to_string();
    desk.find(&control);
    desk.press("a\t\t\tReturnedC\r");
    desk.find(&control);
    desk.press("a\r");
    let loops = &desk.job().boxes[0].controls[0].loops;
    assert_eq!(loops[loops.len() - 1].path, loops[loops.len() - 2].path);
    assert_eq!(loops[loops.len() - 1].path, studbay::job::wiring::LoopPath::ReturnedCapped);
}

#[test]
fn a_block_of_cells_fills_fields_of_what_is_marked_or_of_the_lines_below() {
    let mut desk = Desk::new("cottage");
    let room = |desk: &Desk, id: &str| {
        desk.job().levels[0].rooms.iter().find(|room| room.id.as_str() == id).unwrap().clone()
    };
    let rooms: Vec<String> = desk.job().levels[0].rooms.iter().map(|room| room.id.to_string()).collect();
    // From the cursor down: three rooms, two columns; the second column is the field after the first.
    desk.find(&rooms[0]);
    desk.paste("One\t101\nTwo\t\nThree\t103\n");
    desk.press("nam");
    desk.look("paste_block");
    assert!(desk.screen().contains("An empty cell leaves what is there."), "{}", desk.screen());
    assert_eq!(*desk.job(), desk.before, "nothing before it is taken");
    desk.press("\r");
    for (id, name) in rooms.iter().zip(["One", "Two", "Three"]) {
        assert_eq!(room(&desk, id).name, name);
    }
    assert_eq!(room(&desk, &rooms[0]).area.unwrap().to_string(), "101 ft2");
    let second = desk.before.levels[0].rooms[1].area;
    assert_eq!(room(&desk, &rooms[1]).area, second, "an empty cell leaves what is there");
    desk.undone();
    // Headings name the fields, wherever they stand; marks say which lines.
    desk.find(&rooms[3]);
    desk.press("v");
    desk.find(&rooms[1]);
    desk.press("v");
    desk.paste("ceiling\tname\n8'\tLast\n9'\tFirst\n");
    desk.press("\r");
    assert_eq!((room(&desk, &rooms[3]).name, room(&desk, &rooms[1]).name), ("Last".into(), "First".into()));
    assert!((room(&desk, &rooms[3]).ceiling.unwrap().feet() - 8.0).abs() < 1e-9);
    desk.undone();
    // A column in between is passed over, and another named.
    desk.paste("A\tx\t7'\nB\ty\t7'6\n");
    desk.press("name\t^\tceil\r");
    assert_eq!(room(&desk, &rooms[3]).name, "A", "{}", desk.screen());
    assert!((room(&desk, &rooms[3]).ceiling.unwrap().feet() - 7.0).abs() < 1e-9);
    desk.undone();
}

#[test]
fn a_pasted_block_says_its_mistakes_by_row_and_column_before_anything_changes() {
    let mut desk = Desk::new("cottage");
    let first = desk.job().levels[0].rooms[0].id.to_string();
    desk.find(&first);
    desk.paste("One\twide\nTwo\t120\nThree\t-4\n");
    desk.press("name\r");
    assert!(desk.screen().contains("row 1, area: 'wide' is no area"), "{}", desk.screen());
    assert!(desk.screen().contains("row 3, area:"), "{}", desk.screen());
    assert!(desk.said().contains("and 1 more"), "{}", desk.said());
    assert!(desk.line().starts_with("> column 2"), "the cursor is on the column to blame: {}", desk.screen());
    assert_eq!(*desk.job(), desk.before);
    desk.press("\u{1b}\u{1b}");
    // What the types refuse is said of the cell too, and of all cells that only do not go together.
    desk.press("6");
    desk.find("down-6");
    desk.paste("30\t20\n");
    desk.press("least\r");
    assert!(desk.said().contains("row 1, least volts: "), "{}", desk.screen());
    desk.look("paste_misfit");
    desk.press("\u{1b}\u{1b}1");
    // A thing that is not there is a mistake of its cell; by its whole name it is found.
    desk.press("+");
    let light = desk.job().boxes[0].controls[0].loops[0].ceiling[0].id.to_string();
    desk.find(&light);
    desk.paste("\tpend-7\n\tno such lamp\n");
    desk.press("name\r");
    assert!(desk.screen().contains("row 2, fixture: no fixture type 'no such lamp'"), "{}", desk.screen());
    desk.press("\u{1b}\u{1b}");
    desk.paste("\tpend-7\n\tPendant 7 W\n");
    desk.press("name\r");
    let lights = &desk.job().boxes[0].controls[0].loops[0].ceiling;
    let held = |at: usize| lights[at].fixture.as_ref().unwrap().to_string();
    assert_eq!((held(0), held(1)), ("pend-7".into(), "pend-7".into()), "{}", desk.screen());
    desk.undone();
    // More rows than lines, more columns than fields are taken at once, and a single word.
    let many = "x\n".repeat(500);
    desk.paste(&many);
    assert!(desk.said().contains("not pasted: 500 lines"), "{}", desk.said());
    desk.paste(&"x\t".repeat(9));
    assert!(desk.said().contains("at most 8"), "{}", desk.said());
    desk.paste("word");
    assert!(desk.said().contains("open the field it is for"), "{}", desk.said());
    assert_eq!(*desk.job(), desk.before);
}
