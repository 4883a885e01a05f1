//! Finding, filtering and sorting, in every view.

use crate::desk::Desk;

/// The name of the view that is shown.
fn view(desk: &Desk) -> String {
    let screen = desk.screen();
    let line = screen.lines().nth(1).unwrap();
    line.split('[').nth(1).and_then(|rest| rest.split(']').next()).unwrap().to_owned()
}

/// The lines of the view, without headings, detail and keys.
fn lines(desk: &Desk) -> Vec<String> {
    let screen = desk.screen();
    let lines: Vec<&str> = screen.lines().collect();
    lines[4..lines.len() - 4]
        .iter()
        .filter(|line| !line.trim().is_empty())
        .map(|line| (*line).to_owned())
        .collect()
}

#[test]
fn finding_unfolds_only_the_way_to_what_is_found() {
    let mut desk = Desk::new("two-story");
    let before = lines(&desk).len();
    assert!(!desk.screen().contains("A1a1"), "folded away\n{}", desk.screen());
    desk.press("/a1a1\r");
    assert!(desk.line().contains("A1a1"), "{}", desk.screen());
    // Its box and its control are open, nothing else is.
    let wanted = [">", "A1a", "HR06"];
    assert!(wanted.iter().all(|word| desk.screen().contains(word)), "{}", desk.screen());
    assert!(!desk.screen().contains("L1a"), "{}", desk.screen());
    desk.press("g");
    assert!(!desk.screen().contains("L1a1"), "{}", desk.screen());
    assert!(lines(&desk).len() >= before);
}

#[test]
fn the_very_id_is_found_before_lines_that_name_it() {
    let mut desk = Desk::new("two-story");
    // The wall box's line names its home run, and so do others; the home run has a line of its own.
    desk.press("/hr01\r");
    assert!(desk.line().contains("HR01 home run"), "{}", desk.screen());
    desk.press("/L-3\r");
    assert!(desk.line().contains("L-3 "), "{}", desk.screen());
    desk.press("2/HR06\r");
    assert!(view(&desk).contains("Loading") && desk.line().contains("HR06"), "{}", desk.screen());
}

#[test]
fn what_this_view_does_not_show_is_found_where_it_is() {
    let mut desk = Desk::new("two-story");
    for (word, place, line) in
        [("PS2", "Slots", "PS2"), ("PS2.3", "Loading", "PS2.3"), ("down-6", "Parts", "down-6")]
    {
        desk.press("1g");
        let from = desk.line();
        desk.press(&format!("/{word}"));
        assert!(view(&desk).contains(place), "{word}\n{}", desk.screen());
        assert!(desk.screen().contains(&format!("found in {place}")), "{}", desk.screen());
        desk.press("\r");
        assert!(desk.line().contains(line), "{}", desk.screen());
        assert!(desk.said().contains("b goes back"), "{}", desk.said());
        desk.press("b");
        assert!(view(&desk).contains("Runs"));
        assert_eq!(desk.line(), from);
    }
    // A cable between two controls is in no outline.
    let link = desk.job().groups.iter().flat_map(|group| &group.links).next().unwrap().id.to_string();
    desk.press(&format!("/{link}\r"));
    assert!(view(&desk).contains("Cables") && desk.line().contains(&link), "{}", desk.screen());
}

#[test]
fn a_search_begins_anew_with_each_letter_and_esc_goes_back() {
    let mut desk = Desk::new("two-story");
    desk.press("jjj");
    let (screen, line) = (desk.screen(), desk.line());
    desk.press("/PS2.");
    assert_ne!(desk.screen(), screen);
    for _ in 0..4 {
        desk.key(studbay::terminal::KeyCode::Backspace);
    }
    desk.press("\u{1b}");
    assert_eq!(desk.screen(), screen, "as it was, what was folded too");
    desk.press("/zzz");
    assert!(desk.said().contains("nothing here is called 'zzz'"));
    desk.press("\u{1b}");
    assert_eq!(desk.line(), line);
}

#[test]
fn a_filter_shows_what_is_folded_away_with_what_it_is_part_of() {
    let mut desk = Desk::new("two-story");
    desk.press("fa1a1\r");
    let lines = lines(&desk);
    assert_eq!(lines.len(), 5, "level, room, box, control, loop\n{}", desk.screen());
    assert!(lines[4].contains("A1a1"));
    assert!(desk.screen().contains("only lines with 'a1a1', Esc:show all"), "{}", desk.screen());
    // What is left can be changed like any line.
    desk.find("A1a1");
    desk.press("e");
    assert!(desk.screen().contains("Change loop A1a1"), "{}", desk.screen());
    desk.press("\u{1b}\u{1b}");
    assert!(!desk.screen().contains("only lines with"), "{}", desk.screen());
    desk.press("fzzz");
    assert!(desk.screen().contains("no line holds that"), "{}", desk.screen());
}

/// The figures of a column of the lines that hold a word.
fn figures(desk: &Desk, word: &str, from_right: usize) -> Vec<f64> {
    let of = |line: &String| line.split_whitespace().rev().nth(from_right)?.parse().ok();
    lines(desk).iter().filter(|line| line.contains(word)).filter_map(of).collect()
}

#[test]
fn what_stands_side_by_side_in_the_house_is_sorted_and_the_heading_says_so() {
    let mut desk = Desk::new("two-story");
    desk.press("fkitchen\r");
    desk.press("\u{1b}");
    desk.find("K1");
    desk.press("jjjj");
    // Sorted by what it is called, then by length, then by watts, each both ways.
    let order = |desk: &Desk| -> Vec<String> {
        let named = |line: &String| {
            let word = line.trim_start_matches(['>', ' ', '+', '*', '#']).split(' ').next()?;
            (word.starts_with('K') && word.len() == 2).then(|| word.to_owned())
        };
        lines(desk).iter().filter_map(named).collect()
    };
    let as_in_job = order(&desk);
    assert_eq!(as_in_job, ["K1", "K2", "K3"], "{}", desk.screen());
    desk.press("oo");
    assert!(desk.said().contains("sorted by level, room, box, loop, fixture, backwards"), "{}", desk.said());
    desk.find("K1");
    desk.press("jjjj");
    assert_eq!(order(&desk), ["K3", "K2", "K1"], "{}", desk.screen());
    assert!(desk.screen().contains("fixture v"), "{}", desk.screen());
    desk.press("ooo");
    assert!(desk.said().contains("sorted by watts"), "{}", desk.said());
    assert!(desk.screen().contains("W ^"), "{}", desk.screen());
    desk.find("K1");
    desk.press("jjjj");
    let up = figures(&desk, "Kitchen,", 1);
    assert!(up.len() == 3 && up.is_sorted(), "{up:?}\n{}", desk.screen());
    desk.press("o");
    desk.find("K1");
    desk.press("jjjj");
    let down: Vec<f64> = figures(&desk, "Kitchen,", 1).into_iter().rev().collect();
    assert_eq!(down, up, "{}", desk.screen());
    // Levels and rooms stand in their order as long as they have no figure.
    assert!(lines(&desk)[0].contains("Main level") || desk.screen().contains("Kitchen"));
    desk.press("\u{1b}");
    assert!(desk.said().contains("in the order of the job"), "{}", desk.said());
    desk.find("K1");
    desk.press("jjjj");
    assert_eq!(order(&desk), as_in_job);
}

#[test]
fn loops_are_sorted_by_their_length() {
    let mut desk = Desk::new("two-story");
    desk.find("L1a1");
    desk.press("ooo");
    assert!(desk.said().contains("sorted by on, length"), "{}", desk.said());
    desk.find("L1a1");
    desk.press("jjj");
    let loops = |desk: &Desk| -> Vec<String> {
        let named = |line: &String| line.contains(" L1a1 ") || line.contains(" L1a2 ");
        lines(desk)
            .iter()
            .filter(|line| named(line))
            .map(|line| line.trim_start_matches(['>', ' ']).to_owned())
            .collect()
    };
    assert!(loops(&desk).first().is_some_and(|l| l.starts_with("+ L1a1")), "{}", desk.screen());
    desk.press("o");
    desk.find("L1a1");
    desk.press("jj");
    assert!(
        loops(&desk).first().is_some_and(|l| l.starts_with("+ L1a2")),
        "59 ft against 77 ft\n{}",
        desk.screen()
    );
}

#[test]
fn every_table_is_sorted_and_filtered() {
    for digit in "2345690".chars() {
        let mut desk = Desk::new("two-story");
        // Something is done, so that the list of that has lines too.
        desk.press(&format!("jxjx{digit}g"));
        let whole = lines(&desk);
        let mut orders = std::collections::HashSet::new();
        // Both ways by each column: the findings have two that say something.
        for _ in 0..4 {
            desk.press("o");
            assert!(desk.said().contains("sorted by"), "{digit}: {}", desk.said());
            assert!(desk.screen().lines().take(4).any(|line| line.contains(" ^") || line.contains(" v")));
            desk.press("g");
            orders.insert(lines(&desk));
        }
        assert!(digit == '5' || orders.len() > 1, "{digit}");
        desk.press("\u{1b}g");
        assert_eq!(lines(&desk).len(), whole.len());
        // Of the lines that hold a word some are left, and the bottom line says so.
        let word: String = desk.line().split_whitespace().nth(1).unwrap().chars().take(6).collect();
        desk.press(&format!("f{word}\r"));
        let screen = desk.screen();
        assert!(screen.contains(&format!("only lines with '{word}'")), "{screen}");
        assert!(desk.line().contains(&word) && lines(&desk).len() <= whole.len(), "{screen}");
        desk.press("fno such words\r");
        assert!(desk.line().is_empty(), "{}", desk.screen());
    }
}
