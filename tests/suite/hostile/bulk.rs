//! Files that are too much: refused at once, with a reason.

use crate::keep::kill::eprintln;
use crate::support::{STARTER, design_of, starter_with};
use std::time::Duration;
use studbay::job::{limits, read};

/// Long for a person who waits, with room for a program that is not built for speed.
const AT_ONCE: Duration = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 1 });

/// The time this thread has worked: what others do on the machine is not the program's fault.
fn worked() -> Duration {
    let times = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap();
    Duration::from_nanos(times.split(' ').next().unwrap().parse().unwrap())
}

/// What is said of a text that is no usable job; saying it must not take long.
fn refused(what: &str, text: &str) -> String {
    let start = worked();
    let said = match read::from_str("job.ron", text) {
        Ok(_) => panic!("{what} is taken"),
        Err(error) => error.to_string(),
    };
    let took = worked().saturating_sub(start);
    eprintln(&format!("{what}: {took:?}: {}", said.lines().next().unwrap_or_default()));
    assert!(took < AT_ONCE, "{what}: {took:?}");
    assert!(said.len() < 20_000, "{what}: {} bytes are said", said.len());
    said
}

/// The starter with so many more entries in a list.
fn many(list: &str, count: usize, entry: impl Fn(usize) -> String) -> String {
    let entries: String = (0..count).map(entry).collect();
    starter_with(&[(list, &format!("{list}{entries}"))])
}

#[test]
fn more_than_8_mb_is_refused_by_its_size() {
    let said = refused("spaces", &(STARTER.to_owned() + &" ".repeat(read::MOST_BYTES)));
    assert!(said.contains("more than the 8 MB"), "{said}");
}

#[test]
fn deep_nesting_is_refused() {
    for (open, close) in
        [("(", ")"), ("[", "]"), ("Some(", ")"), ("{", "}"), ("(a:", ")"), ("#![", "]"), ("/*", "*/")]
    {
        for depth in [100, 10_000, 1_000_000] {
            let nest = open.repeat(depth) + &close.repeat(depth);
            let nest = &nest[..nest.len().min(7_000_000)];
            for text in [
                nest.to_owned(),
                STARTER.replacen("project: (", &format!("project: {nest}("), 1),
                STARTER.replacen("format: (", &format!("format: {nest}("), 1),
                STARTER.replacen("project: (", &format!("project: (notes: [{nest}],"), 1),
                STARTER.replacen("levels: [", &format!("levels: [{nest},"), 1),
            ] {
                if text == STARTER || (open == "/*" && read::from_str("job.ron", &text).is_ok()) {
                    continue;
                }
                refused(&format!("{depth} times {open}"), &text);
            }
        }
    }
}

#[test]
fn an_unclosed_file_is_refused_at_once() {
    for (what, tail) in
        [("a text", "\""), ("a comment", "/*"), ("a raw text", "r#\""), ("brackets", "((((((")]
    {
        let text = format!("(format: (1, 0), project: (title: {}", tail.repeat(1_000_000));
        refused(what, &text[..text.len().min(7_000_000)]);
        refused(what, &text.replace("(format", &format!("{}(format", tail.repeat(100_000))));
    }
}

#[test]
fn many_flaws_are_refused_as_fast_as_one() {
    let twice = refused("one id 4,900 times", &many("rooms: [", 4_900, |_| "(id:\"x\"),".into()));
    assert!(twice.contains("'x'") && twice.contains("more"), "{twice}");
    let none = refused(
        "4,900 boxes in rooms that are not there",
        &many("boxes: [\n        (\n            id: \"B1\"", 0, |_| String::new()).replace(
            "            id: \"B1\"",
            &((0..4_900).map(lost_box).collect::<Vec<_>>().join("),(") + "),(id: \"B1\""),
        ),
    );
    assert!(none.contains("which is not there") && none.contains("more"), "{none}");
    let rooms = many("rooms: [", 4_900, |n| format!("(id:\"room-{n}\"),"));
    let boxes = (0..4_900).map(|n| format!("(id:\"Z{n}\",room:\"rom-{n}\"),")).collect::<Vec<_>>().concat();
    let near = refused(
        "4,900 rooms, and boxes in none of them",
        &rooms.replacen(
            "boxes: [\n        (\n            id: \"B1\"",
            &format!("boxes: [{boxes}\n        (\n            id: \"B1\""),
            1,
        ),
    );
    assert!(near.contains("did you mean"), "{near}");
}

fn lost_box(n: usize) -> String {
    format!("id:\"Z{n}\",room:\"none-{n}\",feeds:[(id:\"W{n}\",from:Output(\"PS{n}.1\"),cable:\"c\")]")
}

/// Boxes that are fed one from another, each from the one before or each from the one after.
fn chain(length: usize, forward: bool) -> String {
    let link = |n: usize| {
        let from = if n == 0 { "HR1".to_owned() } else { format!("W{}", n - 1) };
        format!("(id:\"Z{n}\",room:\"bed-1\",feeds:[(id:\"W{n}\",from:Onward(\"{from}\"),cable:\"18-5\")]),")
    };
    let links: Vec<String> = (0..length).map(link).collect();
    let links: String = if forward { links.concat() } else { links.into_iter().rev().collect() };
    let begin = "boxes: [\n        (\n            id: \"B1\"";
    starter_with(&[(begin, &begin.replace('[', &format!("[{links}")))])
}

#[test]
fn a_long_chain_of_boxes_is_refused_and_one_that_just_may_be_is_studied() {
    for forward in [true, false] {
        let said = refused("a chain of 4,900 boxes", &chain(4_900, forward));
        assert!(said.contains("comes over more than 50 others"), "{said}");
        let design = design_of(&chain(limits::MOST_ONWARD - 1, forward));
        assert!(design.job.boxes.len() == limits::MOST_ONWARD);
    }
}

/// The most that is taken comes out in a time in which a person still waits.
#[test]
fn the_largest_job_that_is_taken_is_still_studied() {
    let lights = |of: usize, count: usize| {
        (0..count)
            .map(|n| format!("(id:\"x{of}-{n}\",place:(x:\"{n} ft\",y:\"2 ft\"),fixture:\"down-6\"),"))
            .collect::<Vec<_>>()
            .concat()
    };
    let one = |of: usize, count: usize| {
        format!(
            "(id:\"Z{of}\",room:\"bed-1\",place:(x:\"1 ft\",y:\"2 ft\",height:\"4 ft\"),feeds:[(id:\"W{of}\",from:Output(\"PS1.{}\"),cable:\"18-5\")],\
             controls:[(id:\"K{of}\",part:\"dim-10\",loops:[(id:\"L{of}\",cable:\"18-2\",path:Returned,ceiling:[{}])])]),",
            of % 4 + 1,
            lights(of, count)
        )
    };
    let with = |boxes: usize, count: usize| {
        let boxes: String = (0..boxes).map(|of| one(of, count)).collect();
        let begin = "boxes: [\n        (\n            id: \"B1\"";
        starter_with(&[(begin, &begin.replace('[', &format!("[{boxes}")))])
    };
    for (what, boxes, count) in [("long loops", 10, 500), ("many runs", 1_000, 4)] {
        let start = worked();
        let design = design_of(&with(boxes, count));
        let took = worked().saturating_sub(start);
        eprintln(&format!("{what}: {took:?}"));
        assert!(design.job.boxes.len() == boxes + 1);
        assert!(took < 3 * AT_ONCE, "{what}: {took:?}");
    }
    let said = refused("a loop of 501 lights", &with(1, limits::MOST_ON_A_LOOP + 1));
    assert!(said.contains("501 ceiling boxes"), "{said}");
    let said = refused("21,000 things", &with(2_000, 8));
    assert!(said.contains("more than the 20000"), "{said}");
}

#[test]
fn absurd_counts_are_refused() {
    for (what, text) in [
        ("a thousand million lights", starter_with(&[("id: \"F1\"", "id: \"F1\", lights: 1000000000")])),
        ("a long number", starter_with(&[("outputs: ", &format!("outputs: 1{}", "0".repeat(1_000_000)))])),
        ("outputs", starter_with(&[("outputs: ", "outputs: 1000000000")])),
        ("rooms", many("rooms: [", 300_000, |n| format!("(id:\"x{n}\"),"))),
        ("ceiling boxes", many("ceiling: [", 300_000, |n| format!("(id:\"x{n}\"),"))),
        ("boxes", many("boxes: [", 150_000, |n| format!("(id:\"x{n}\",room:\"bed-1\"),"))),
        ("notes", many("project: (", 1, |_| format!("notes: [{}],", "\"x\",".repeat(1_500_000)))),
        ("a name of 7 MB", many("project: (", 1, |_| format!("notes: [\"{}\"],", "x".repeat(7_000_000)))),
    ] {
        refused(what, &text);
    }
}
