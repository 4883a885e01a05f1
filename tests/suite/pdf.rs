//! Sheets as PDF: laws of the layout, and each file read back by a program that is not ours (poppler's pdftotext).

use crate::paper::{heading, hostile, marked, table};
use crate::support::{SAMPLES, sample};
use jiff::civil::date;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::io::Write as _;
use std::process::{Command, Stdio};
use studbay::format::Quantity;
use studbay::schedule::{Cell, Row, Table};
use studbay::sheets::pdf::ink::{Ink, Leaf};
use studbay::sheets::pdf::labels::{self, Grid, Label, Labels};
use studbay::sheets::pdf::{self, Content, Face, Form, MISSING, Size, Turn};
use studbay::sheets::{Book, Heading, Paper, SHEETS, cautions, svg};
use studbay::units::{Length, LengthUnit};

/// Half an inch, which every printer leaves free.
const MARGIN: f32 = 36.0;

fn form() -> impl Strategy<Value = Form> {
    let turn = prop_oneof![Just(None), Just(Some(Turn::Portrait)), Just(Some(Turn::Landscape))];
    (prop_oneof![Just(Size::Letter), Just(Size::A4)], turn).prop_map(|(size, turn)| Form { size, turn })
}

/// The words of a page with what they cover: left, top, right, bottom.
fn words(leaf: &Leaf) -> Vec<(&str, [f32; 4])> {
    let words = leaf.ink.iter().filter_map(|ink| match ink {
        Ink::Words { x, y, text, size, face } => {
            // Letters go 0.76 of their size above their foot and 0.24 beneath it.
            Some((text.as_str(), [*x, y - 0.76 * size, x + face.width(text, *size), y + 0.24 * size]))
        }
        _ => None,
    });
    words.collect()
}

fn overlap(a: [f32; 4], b: [f32; 4]) -> bool {
    let slack = 0.3;
    a[0] + slack < b[2] && b[0] + slack < a[2] && a[1] + slack < b[3] && b[1] + slack < a[3]
}

proptest! {
    #[test]
    fn nothing_leaves_its_page_or_stands_on_another(
        one in table(), two in table(), form in form(), project: String, by in hostile(),
    ) {
        let heading = Heading { project: project.as_str().into(), by: by.into(), ..heading() };
        for leaf in pdf::pages(&heading, &Content::Tables(vec![one, two]), form) {
            let words = words(&leaf);
            prop_assert!(words.iter().any(|(text, _)| text.contains("Not a permit")));
            for (text, [left, top, right, bottom]) in &words {
                let inside = *left >= MARGIN - 0.1 && *right <= leaf.width - MARGIN + 0.1
                    && *top >= MARGIN - 1.0 && *bottom <= leaf.height - MARGIN + 1.0;
                prop_assert!(inside, "{text:?} at {left} {top} {right} {bottom} of {} {}", leaf.width, leaf.height);
            }
            for (nth, (text, place)) in words.iter().enumerate() {
                for (other, elsewhere) in &words[..nth] {
                    prop_assert!(!overlap(*place, *elsewhere), "{text:?} stands on {other:?}: {place:?} {elsewhere:?}");
                }
            }
        }
    }

    #[test]
    fn a_row_is_never_split_and_what_is_beneath_stays_with_it(
        rows in prop::collection::vec((0..16_usize, prop::bool::weighted(0.3)), 1..150), form in form(),
    ) {
        let longest = rows.split(|(_, beneath)| !beneath).map(<[_]>::len).max().unwrap_or(0);
        prop_assume!(longest <= 3);
        let rows: Vec<_> = rows.iter().map(|&(words, beneath)| (if beneath { 0 } else { words }, beneath)).collect();
        let mut seen = BTreeSet::new();
        for leaf in pdf::pages(&heading(), &Content::Tables(vec![marked(&rows)]), form) {
            let page: Vec<&str> = words(&leaf).iter().flat_map(|(text, _)| text.split(' ')).collect();
            let marks = page.into_iter().filter(|w| w.strip_prefix('r').is_some_and(|n| n.parse::<usize>().is_ok()));
            for mark in marks.map(str::to_owned).collect::<BTreeSet<_>>() {
                prop_assert!(seen.insert(mark.clone()), "{mark} is on two pages");
            }
        }
        let owners = rows.iter().filter(|(_, beneath)| !beneath).count() + usize::from(rows[0].1);
        prop_assert_eq!(seen.len(), owners);
    }
}

#[test]
fn the_same_sheet_of_the_same_day_is_the_same_file() {
    let design = sample("cottage");
    let print = |day| {
        let heading = Heading::of(&design.job.project, date(2026, 3, day));
        SHEETS[0].pdf(&design, &heading, Form::default()).unwrap()
    };
    assert!(print(9) == print(9));
    assert!(print(9) != print(10));
}

#[test]
fn what_the_fonts_lack_is_seen_and_explained() {
    let rows = vec![Row::new(vec!["tea \u{8336} \u{5ba4}".into()])];
    let columns = vec![studbay::schedule::Column::text("room", "room")];
    let table = Table::new("rooms", "Rooms", columns).with_rows(rows);
    let leaves = pdf::pages(&heading(), &Content::Tables(vec![table]), Form::default());
    let all: Vec<&str> = leaves.iter().flat_map(words).map(|(text, _)| text).collect();
    assert!(all.contains(&format!("tea {MISSING} {MISSING}").as_str()), "{all:?}");
    assert!(all.join(" ").contains(cautions::MISSING), "{all:?}");
}

#[test]
fn a_book_has_every_sheet_where_its_contents_say() {
    let design = sample("two-story");
    let heading = Heading::of(&design.job.project, date(2026, 3, 9));
    let book = Book { sheets: SHEETS.iter().collect(), since: None };
    let chapters: Vec<pdf::Chapter> = SHEETS
        .iter()
        .map(|entry| pdf::Chapter { title: entry.name.into(), content: entry.content(&design) })
        .collect();
    let leaves = pdf::book_pages(&heading, &chapters, Form::default());
    let of = leaves.len();
    for (nth, leaf) in leaves.iter().enumerate() {
        let mark = format!("page {} of {of}", nth + 1);
        assert!(words(leaf).iter().any(|(text, _)| *text == mark), "{mark} is not on its page");
    }
    let contents: Vec<&str> = words(&leaves[0]).iter().map(|(text, _)| *text).collect();
    let page_of = |name: &str| {
        let at = contents.iter().position(|text| *text == name).unwrap();
        contents[at + 1].parse::<usize>().unwrap()
    };
    assert_eq!(words(&leaves[page_of("riser") - 1])[0].0, "RISER");
    assert_eq!(words(&leaves[page_of("cables") - 1])[0].0, "CABLE SCHEDULE");
    // The same of the text, whose pages are parted by form feeds.
    let printed = book.printed(&design, &heading, Paper::default());
    let pages: Vec<&str> = printed.split('\u{c}').collect();
    for (nth, page) in pages.iter().enumerate() {
        let first = page.lines().next().unwrap();
        assert!(first.ends_with(&format!("page {} of {}", nth + 1, pages.len())), "{first}");
    }
    let entry = pages[0].lines().find(|line| line.starts_with("Cable schedule")).unwrap();
    let page: usize = entry.split_whitespace().last().unwrap().parse().unwrap();
    assert!(pages[page - 1].starts_with("CABLE SCHEDULE"), "{page}");
    let written = book.pdf(&design, &heading, Form::default()).unwrap();
    if let Some(text) = read_back(&written, "-layout") {
        assert_eq!(text.matches('\u{c}').count(), of);
    }
}

#[test]
fn a_picture_names_everything_that_it_draws() {
    for name in ["cottage", "two-story", "large-house"] {
        let design = sample(name);
        let heading = Heading::of(&design.job.project, date(2026, 3, 9));
        for entry in SHEETS.iter().filter(|entry| entry.is_picture()) {
            for size in [Size::Letter, Size::A4] {
                let form = Form { size, turn: None };
                let leaves = pdf::pages(&heading, &entry.content(&design), form);
                let all: Vec<&str> = leaves.iter().flat_map(words).map(|(text, _)| text).collect();
                let all = format!(" {}", all.join(" "));
                for wall_box in &design.job.boxes {
                    let placed = entry.name == "riser" || wall_box.place.is_some();
                    let id = wall_box.id.as_str();
                    assert!(!placed || all.contains(&format!(" {id}")), "{name} {}: no {id}", entry.name);
                }
                for leaf in &leaves {
                    for (text, [left, top, right, bottom]) in words(leaf) {
                        let inside = left >= MARGIN - 1.0
                            && right <= leaf.width - MARGIN + 6.0
                            && top >= MARGIN - 1.0
                            && bottom <= leaf.height - MARGIN + 1.0;
                        assert!(
                            inside,
                            "{name} {} {size:?}: '{text}' at {left} {top} {right} {bottom}",
                            entry.name
                        );
                    }
                }
            }
            let drawn =
                svg::write(entry.name, &pdf::unbroken(&heading, &entry.content(&design), Form::default()));
            assert!(drawn.starts_with("<?xml") && drawn.ends_with("</svg>\n"));
            assert!(!drawn.contains("NaN") && !drawn.contains("inf"), "{name}: a place is no number");
        }
    }
}

#[test]
fn what_an_inspector_asks_for_is_on_one_page() {
    for name in ["cottage", "two-story"] {
        let design = sample(name);
        let heading = Heading::of(&design.job.project, date(2026, 3, 9));
        let entry = SHEETS.iter().find(|entry| entry.name == "inspection").unwrap();
        assert_eq!(pdf::pages(&heading, &entry.content(&design), Form::default()).len(), 1, "{name}");
    }
}

/// A house of several panels has a card, and a page for the inspector, to hang at each of them.
#[test]
fn what_hangs_at_a_panel_is_a_page_of_its_own_under_its_own_title() {
    let design = sample("large-house");
    let heading = Heading::of(&design.job.project, date(2026, 3, 9));
    let panels = design.job.panels.len();
    assert!(panels > 1);
    for (sheet, more) in [("directory", 0), ("inspection", 1)] {
        let entry = SHEETS.iter().find(|entry| entry.name == sheet).unwrap();
        let content = entry.content(&design);
        for size in [Size::Letter, Size::A4] {
            let leaves = pdf::pages(&heading, &content, Form { size, ..Form::default() });
            assert_eq!(leaves.len(), panels + more, "{sheet}");
            for (leaf, panel) in leaves.iter().zip(&design.job.panels) {
                let words: Vec<String> = leaf.ink.iter().filter_map(words_of).collect();
                let title = format!("PANEL {}", panel.id);
                assert!(words.iter().any(|words| words.contains(&title)), "{sheet}: {words:?}");
                assert!(words.iter().any(|words| words == "CAUTIONS"), "{sheet} {}", panel.id);
                let others = design.job.panels.iter().filter(|other| other.id != panel.id);
                for supply in others.flat_map(|other| &other.supplies) {
                    assert!(words.iter().all(|words| words != supply.id.as_str()), "{sheet} {}", supply.id);
                }
            }
        }
        let text = entry.printed(&design, &heading, Paper::default());
        assert!(text.split('\u{c}').count() >= panels + more);
        for panel in &design.job.panels {
            let mark = format!("PANEL {}", panel.id);
            assert!(text.split('\u{c}').any(|page| page.lines().next().unwrap().contains(&mark)), "{text}");
        }
    }
}

fn words_of(ink: &Ink) -> Option<String> {
    match ink {
        Ink::Words { text, .. } => Some(text.clone()),
        _ => None,
    }
}

#[test]
fn labels_stand_in_their_grid() {
    let inches = |n: i64| Length::from_ticks(n * 254_000 / 4, LengthUnit::Feet);
    // Seven by twenty labels of 1 by 1/2 in.
    let grid = Grid {
        columns: 7,
        rows: 20,
        width: inches(4),
        height: inches(2),
        left: inches(3),
        top: inches(2),
        across: inches(0),
        down: inches(0),
    };
    let label = |n: usize| Label {
        big: format!("HR{n:02} IN").into(),
        small: vec!["K1 Kitchen, by the sink".into()],
    };
    let labels =
        Labels { title: "Tags".into(), not_ready: None, labels: (0..150).map(label).collect(), grid };
    let leaves = labels::leaves(&labels, Form::default()).unwrap();
    assert_eq!(leaves.len(), 2);
    for (nth, (text, [left, top, right, bottom])) in
        words(&leaves[0]).chunks(2).map(|pair| pair[0]).enumerate()
    {
        let at = |n: usize| f32::from(u8::try_from(n).unwrap());
        let (x, y) = (54.0 + 72.0 * at(nth % 7), 36.0 + 36.0 * at(nth / 7));
        assert_eq!(text, format!("HR{nth:02} IN"));
        assert!(
            left >= x && right <= x + 72.0 && top >= y - 1.0 && bottom <= y + 36.0,
            "{text}: {left} {top}"
        );
    }
    let early = Labels { not_ready: Some("not yet".into()), ..labels.clone() };
    assert_eq!(labels::leaves(&early, Form::default()).unwrap_err().to_string(), "not yet");
    let side = Form { turn: Some(Turn::Landscape), ..Form::default() };
    assert!(labels::leaves(&labels, side).unwrap_err().to_string().contains("do not fit"));
}

#[test]
fn a_figure_is_set_where_it_is_read_at_arms_length() {
    // Ten points where they fit: every sheet of the usual house but the list of findings.
    for name in ["cottage", "two-story"] {
        let design = sample(name);
        let heading = Heading::of(&design.job.project, date(2026, 3, 9));
        for entry in SHEETS
            .iter()
            .filter(|entry| !entry.is_picture() && !["findings", "inspection"].contains(&entry.name))
        {
            let leaves = pdf::pages(&heading, &entry.content(&design), Form::default());
            let body = leaves[0].ink.iter().filter_map(|ink| match ink {
                Ink::Words { size, face: Face::Regular, .. } => Some(*size),
                _ => None,
            });
            // Notes and cautions are of nine points.
            let least = body.filter(|size| (size - 9.0).abs() > 0.01).fold(f32::MAX, f32::min);
            assert!(least >= 10.0, "{name} {}: {least}", entry.name);
        }
    }
}

/// The text of a PDF as poppler reads it, if poppler is there. Where everything is to be checked it has to be.
pub(crate) fn read_back(pdf: &[u8], how: &str) -> Option<String> {
    let run = Command::new("pdftotext")
        .args([how, "-enc", "UTF-8", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn();
    let Ok(mut child) = run else {
        assert!(std::env::var_os("STUDBAY_POPPLER").is_none(), "pdftotext cannot be run");
        eprintln!("left out: there is no pdftotext (poppler-utils)");
        return None;
    };
    let (mut input, bytes) = (child.stdin.take().unwrap(), pdf.to_vec());
    let feed = std::thread::spawn(move || input.write_all(&bytes));
    let output = child.wait_with_output().unwrap();
    feed.join().unwrap().unwrap();
    assert!(output.status.success());
    Some(String::from_utf8(output.stdout).unwrap())
}

/// The words of every cell in reading order; those of a row that stands on one line together.
pub(crate) fn cells(table: &Table, unit: LengthUnit) -> Vec<Vec<String>> {
    let row = |row: &Row| -> Vec<String> {
        let cells = table.columns.iter().zip(&row.cells);
        let words =
            |(column, cell): (&studbay::schedule::Column, &Cell)| cell.words(unit, column.unit.is_some());
        cells
            .map(words)
            .map(|text| Face::Regular.shown(&text))
            .filter(|text| !text.trim().is_empty())
            .collect()
    };
    let sections = table.sections.iter().flat_map(|section| {
        let heading = section.heading.iter().map(|h| vec![Face::Bold.shown(h.as_str())]);
        heading.chain(section.rows.iter().chain(&section.total).map(row)).collect::<Vec<_>>()
    });
    sections.chain(table.totals.iter().map(row)).collect()
}

fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn another_program_reads_every_cell_in_order() {
    for name in SAMPLES {
        let design = sample(name);
        let heading = Heading::of(&design.job.project, date(2026, 3, 9));
        for entry in SHEETS.iter().filter(|entry| !entry.is_picture()) {
            let tables = (entry.tables)(&design);
            let content = Content::Tables(tables.clone());
            let written = pdf::print(&heading, &content, Form::default()).unwrap();
            let (Some(raw), Some(laid_out)) = (read_back(&written, "-raw"), read_back(&written, "-layout"))
            else {
                return;
            };
            let raw = squeezed(&raw);
            let lines: Vec<String> = laid_out.lines().map(squeezed).collect();
            let mut lines = lines.iter();
            let mut from = 0;
            for row in tables.iter().flat_map(|table| cells(table, heading.unit)) {
                // As it was written, a cell over several lines is one text.
                for cell in &row {
                    let wanted = squeezed(cell);
                    let found = raw[from..].find(&wanted);
                    let at =
                        found.unwrap_or_else(|| panic!("{name} {}: no '{cell}' after {from}", entry.name));
                    from += at + wanted.len();
                }
                // As a person sees it, the cells of a row stand beside each other, unless one goes over lines.
                let wanted: Vec<String> = row.iter().map(|cell| squeezed(cell)).collect();
                let in_order = |line: &String| {
                    let next =
                        |at: usize, cell: &String| line[at..].find(cell).map(|found| at + found + cell.len());
                    wanted.iter().try_fold(0, next).is_some()
                };
                let ahead = lines.clone().position(in_order);
                if let Some(nth) = ahead {
                    lines.nth(nth);
                } else {
                    assert!(
                        row.iter().any(|cell| cell.chars().count() > 20),
                        "{name} {}: {row:?}",
                        entry.name
                    );
                }
            }
        }
    }
}

/// What the key of a column has to say of the unit of its figures.
const fn unit_words(quantity: Quantity) -> &'static [&'static str] {
    match quantity {
        Quantity::Volts => &["volts"],
        Quantity::Amps => &["amps"],
        Quantity::Watts => &["watts"],
        Quantity::VoltAmps => &["volt_amps"],
        Quantity::Percent => &["percent"],
        Quantity::Ohms => &["ohms"],
        Quantity::Heat => &["btu"],
        Quantity::Feet => &["_ft", "feet"],
        Quantity::Metres => &["_m", "metres"],
        Quantity::CubicInches => &["in3", "cubic_inches"],
        Quantity::Lux => &["lx", "lux"],
        Quantity::Lumens => &["lm", "lumens"],
        Quantity::SquareMetres => &["m2"],
        Quantity::Count | Quantity::Ratio => &[""],
    }
}

#[test]
fn a_spreadsheet_has_its_units_in_its_headings() {
    let design = sample("two-story");
    for entry in SHEETS.iter().filter(|entry| !entry.is_picture()) {
        for table in (entry.tables)(&design) {
            for row in table.rows() {
                for (column, cell) in table.columns.iter().zip(&row.cells) {
                    let words = match cell {
                        Cell::Figure(quantity, _) => unit_words(*quantity),
                        Cell::Length(_) => &["_ft", "_m"],
                        _ => continue,
                    };
                    let said = words.iter().any(|word| column.key.contains(word));
                    assert!(said, "{}: '{}' does not say {words:?}", entry.name, column.key);
                }
            }
        }
    }
}
