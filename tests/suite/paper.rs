//! Paper and spreadsheets: made-up sheets to look at, and laws that hold for any table.

use crate::support::snapshots;
use insta::assert_snapshot;
use jiff::civil::date;
use proptest::prelude::*;
use std::collections::BTreeSet;
use studbay::format::{Quantity, Text, is_hostile};
use studbay::job::{Kind, Subject};
use studbay::schedule::{Cell, Column, Layout, Row, Section, Table, Weight, Widths};
use studbay::sheets::{Heading, Paper, cautions, csv, text};
use studbay::units::{Length, LengthUnit};
use unicode_width::UnicodeWidthStr;

const FORM_FEED: char = '\u{c}';

pub(crate) fn heading() -> Heading {
    Heading {
        project: "Haus Br\u{fc}ckner \u{1b}[31mred\u{1b}[0m".into(),
        address: "7 Quarry Lane, Alder Mills".into(),
        revision: "C".into(),
        by: "J. \u{202e}Ortiz".into(),
        date: date(2026, 3, 9),
        unit: LengthUnit::Feet,
    }
}

fn feet(text: &str) -> Option<Length> {
    Length::parse(text, None).ok()
}

fn outputs() -> Table {
    let row = |id: &str, watts: Option<f64>, runs: &str| {
        Row::new(vec![
            id.into(),
            Cell::watts(watts),
            Cell::bar(watts.map(|w| w / 0.96), 80.0),
            Cell::Flag(Weight::Caution, "look".into()),
            runs.into(),
        ])
        .about(Subject::new(Kind::Output, id))
    };
    let mut table = Table::new(
        "outputs",
        "Loads, made up",
        vec![
            Column::text("output", "output"),
            Column::figure("watts", "load").bare(Quantity::Watts),
            Column::bar("percent", "of limit"),
            Column::text("sign", "").yields(2),
            Column::text("runs", "its home runs,\nin order").width(8, 60).yields(1).grow(),
        ],
    )
    .with_section(
        Section::headed(
            "Panel P1",
            vec![
                row("PS1.1", Some(71.04), "HR1 to the kitchen, HR2 to the pantry"),
                row("PS1.2", Some(81.0), "HR3"),
                row("PS1.3", Some(120.5), "HR4 to the great room with its gallery, HR5, HR6, HR7 and HR8"),
                row("PS1.4", None, "=HYPERLINK(\"http://x\")"),
            ],
        )
        .keyed("P1")
        .with_total(Row::new(vec!["sum".into(), Cell::watts(None)])),
    )
    .with_section(Section::headed("Panel P2, which has nothing in it yet", vec![]));
    table.lead.push("All figures here are made up.".into());
    table.notes.push("Watts hold at full level.".into());
    table.cautions.push("Do not build from made-up figures.".into());
    table
}

fn pulls() -> Table {
    let row = |tag: &str, to: &str, length: Option<Length>| {
        Row::new(vec![
            Cell::Tick,
            tag.into(),
            to.into(),
            Cell::length(length),
            Cell::Count(2),
            Cell::percent(1.25),
        ])
    };
    let legs = (1..8).map(|leg| {
        Row::new(vec![Cell::Blank, Cell::Blank, format!("  leg {leg}").into(), Cell::length(feet("4'2 1/2"))])
            .beneath()
    });
    let mut rows = vec![
        row("HR1", "Kitchen, by the \u{8336}\u{9593} door", feet("62'6")),
        row("HR2", "Salle \u{e0} manger", None),
        row("HR3", &"a very long way to go ".repeat(40), feet("19.2 m")),
        row("LP1", "round the great room", feet("33'8")),
    ];
    rows.extend(legs);
    let mut table = Table::new(
        "pulls",
        "Cables to pull, made up",
        vec![
            Column::text("done", "").width(3, 3),
            Column::text("tag", "tag").width(4, 10),
            Column::text("to", "to").width(8, 40).grow(),
            Column::figure("length_ft", "length"),
            Column::figure("ends", "ends").yields(1),
            Column::figure("waste_percent", "waste").yields(2),
        ],
    )
    .with_rows(rows);
    table.totals.push(Row::new(vec![
        Cell::Blank,
        "total".into(),
        "18/5".into(),
        Cell::length(feet("125'0")),
    ]));
    table
}

fn shown(paper: Paper) -> String {
    text::print(&heading(), &[outputs(), pulls()], paper).replace(FORM_FEED, "<form feed>\n")
}

#[test]
fn pages_of_every_width() {
    let _guard = snapshots("sheets").bind_to_scope();
    assert_snapshot!("made_up_80x40", shown(Paper::new(80, 40)));
    assert_snapshot!("made_up_40x30", shown(Paper::new(40, 30)));
    assert_snapshot!("made_up_132_endless", shown(Paper::new(132, 0)));
}

#[test]
fn a_spreadsheet_of_two_tables() {
    let _guard = snapshots("sheets").bind_to_scope();
    let bytes = csv::write(&[outputs(), pulls()]).unwrap();
    assert_snapshot!("made_up_csv", String::from_utf8(bytes).unwrap());
}

#[test]
fn an_empty_table_says_so() {
    let table = Table::new("none", "Nothing", vec![Column::text("a", "a")]);
    let sheet = text::print(&heading(), &[table], Paper::default());
    assert!(sheet.contains("(nothing to list)"), "{sheet}");
    assert_eq!(text::print(&heading(), &[], Paper::default()).lines().last(), Some(cautions::EVERY_PAGE));
}

#[test]
fn a_column_yields_by_its_order_and_returns_with_room() {
    let table = outputs();
    let widths = Widths::of(&table, LengthUnit::Feet);
    let left_off = |room| Layout::fit(&table.columns, &widths, room).left_off;
    assert_eq!(left_off(132), Vec::<usize>::new());
    assert_eq!(left_off(50), [3]);
    assert_eq!(left_off(40), [3, 4]);
    assert_eq!(left_off(6), [1, 2, 3, 4]);
    let layout = Layout::fit(&table.columns, &widths, 132);
    assert!(layout.width() > 120 && layout.width() <= 132, "room is used: {layout:?}");
}

/// Texts as a hostile job file could hold them.
pub(crate) fn hostile() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[a-z ]{0,60}",
        Just("\u{1b}]0;owned\u{7}\u{1b}[2J".to_owned()),
        Just("=cmd|' /C calc'!A0".to_owned()),
        Just("\u{202e}\u{200b}\u{feff}\u{9b}31m\r\n\u{c}".to_owned()),
        "\\PC{0,80}",
    ]
}

fn cell() -> impl Strategy<Value = Cell> {
    prop_oneof![
        hostile().prop_map(Cell::from),
        any::<f64>().prop_map(Cell::volts),
        prop::option::of(0.0..1e5).prop_map(Cell::watts),
        (prop::option::of(any::<f64>()), any::<f64>())
            .prop_map(|(percent, target)| Cell::bar(percent, target)),
        (0..i64::MAX).prop_map(|ticks| Cell::length(Length::from_ticks(ticks / 9000, LengthUnit::Feet))),
        any::<i64>().prop_map(Cell::Count),
        hostile().prop_map(|word| Cell::Flag(Weight::Bad, word.into())),
        Just(Cell::Tick),
        Just(Cell::Blank),
        Just(Cell::Unknown),
    ]
}

pub(crate) fn table() -> impl Strategy<Value = Table> {
    let columns = prop::collection::vec((0..3_usize, 0..50_usize, 0..90_usize, 0..4_u8, any::<bool>()), 0..9);
    let section =
        (prop::option::of(hostile()), prop::collection::vec(prop::collection::vec(cell(), 0..10), 0..12));
    (hostile(), columns, prop::collection::vec(section, 0..4), prop::collection::vec(hostile(), 0..3))
        .prop_map(|(title, columns, sections, words)| {
            let columns = columns.into_iter().map(|(kind, least, most, yields, grows)| {
                let column = match kind {
                    0 => Column::text("words", "some\nwords"),
                    1 => Column::figure("volts", "volts").bare(Quantity::Volts),
                    _ => Column::bar("percent", "of limit"),
                };
                Column { grows, ..column.width(least, most).yields(yields) }
            });
            let mut table = Table::new("any", title, columns.collect());
            for (heading, rows) in sections {
                let rows: Vec<Row> = rows.into_iter().map(Row::new).collect();
                let total = rows.first().cloned();
                table.sections.push(Section { heading: heading.map(Text::from), rows, total, key: None });
            }
            let words: Vec<Text> = words.into_iter().map(Text::from).collect();
            (table.lead, table.notes, table.cautions) = (words.clone(), words.clone(), words);
            table
        })
}

/// A table whose every word names its row, so that a split row shows.
pub(crate) fn marked(rows: &[(usize, bool)]) -> Table {
    let made = rows.iter().scan(0, |owner, &(words, beneath)| {
        *owner += usize::from(!beneath || *owner == 0);
        let text = format!("r{owner} ").repeat(words + 1);
        let row = Row::new(vec![Cell::from(text), Cell::volts(1.0)]);
        Some(if beneath { row.beneath() } else { row })
    });
    let columns = vec![Column::text("words", "words").width(6, 12), Column::figure("volts", "volts")];
    Table::new("marked", "Marked", columns).with_rows(made.collect())
}

proptest! {
    #[test]
    fn no_line_is_too_wide_no_page_too_long_and_nothing_steers(
        one in table(), two in table(), width in 40..=200_usize, lines in prop_oneof![Just(0), 30..90_usize],
        project: String, by in hostile(),
    ) {
        let heading = Heading { project: project.as_str().into(), by: by.into(), ..heading() };
        let sheet = text::print(&heading, &[one, two], Paper::new(width, lines));
        prop_assert!(!sheet.replace(['\n', FORM_FEED], "").contains(is_hostile));
        let last = sheet.split(FORM_FEED).count() - 1;
        for (nth, page) in sheet.split(FORM_FEED).enumerate() {
            let short = nth == last && page.lines().count() < lines;
            prop_assert!(short || lines == 0 || page.lines().count() == lines, "{} lines of {lines}", page.lines().count());
            prop_assert!(page.contains("Not a permit"));
            for line in page.lines() {
                prop_assert!(line.width() <= width, "{width}: {line}");
            }
        }
        prop_assert!(lines > 0 || !sheet.contains(FORM_FEED));
    }

    #[test]
    fn a_row_is_never_split_and_what_is_beneath_stays_with_it(
        rows in prop::collection::vec((0..16_usize, prop::bool::weighted(0.3)), 1..150),
        width in 40..=200_usize,
        lines in 30..90_usize,
    ) {
        // Only so many beneath one another as a page holds can be kept together.
        let longest = rows.split(|(_, beneath)| !beneath).map(<[_]>::len).max().unwrap_or(0);
        prop_assume!(longest <= 3);
        let rows: Vec<_> = rows.iter().map(|&(words, beneath)| (if beneath { 0 } else { words }, beneath)).collect();
        let sheet = text::print(&heading(), &[marked(&rows)], Paper::new(width, lines));
        let mut seen = BTreeSet::new();
        let marks = |page: &str| -> BTreeSet<String> {
            page.split_whitespace()
                .filter(|word| word.strip_prefix('r').is_some_and(|n| n.parse::<usize>().is_ok()))
                .map(str::to_owned)
                .collect()
        };
        for page in sheet.split(FORM_FEED) {
            for mark in marks(page) {
                prop_assert!(seen.insert(mark.clone()), "{mark} is on two pages");
            }
        }
        let owners = rows.iter().filter(|(_, beneath)| !beneath).count() + usize::from(rows[0].1);
        prop_assert_eq!(seen.len(), owners);
    }

    #[test]
    fn a_spreadsheet_gets_rectangles_and_runs_nothing(one in table()) {
        let bytes = csv::write(std::slice::from_ref(&one)).unwrap();
        let written = String::from_utf8(bytes).unwrap();
        prop_assert!(!written.replace('\n', "").contains(is_hostile));
        // An empty table has no heading to check rows against.
        let mut reader = ::csv::Reader::from_reader(written.as_bytes());
        let rows = reader.records().collect::<Result<Vec<_>, _>>().map_err(|e| TestCaseError::fail(e.to_string()))?;
        if !one.columns.is_empty() {
            prop_assert_eq!(rows.len(), one.rows().count());
        }
        for field in rows.iter().flat_map(|row| row.iter()) {
            let runs = field.trim_start().starts_with(['=', '+', '-', '@', '\t', '\r']);
            prop_assert!(!runs || field.parse::<f64>().is_ok(), "{field}");
        }
    }
}
