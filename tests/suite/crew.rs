//! What the crew works from: cables by part of the house, tags, rough-in and trim by room, the card in the panel door.

use crate::cli::{drive, folder_with};
use crate::support::{SAMPLES, design_with, project, sample};
use jiff::civil::date;
use std::collections::BTreeSet;
use studbay::design::Design;
use studbay::schedule::narrow::Narrow;
use studbay::schedule::{cables, directory};
use studbay::sheets::{Heading, Paper, text};

fn heading(design: &Design) -> Heading {
    Heading::of(&design.job.project, date(2026, 3, 9))
}

fn narrow(design: &Design, level: Option<&str>, panel: Option<&str>, cable: Option<&str>) -> Narrow {
    Narrow::typed(&design.job, level, panel, cable).unwrap()
}

#[test]
fn parts_of_a_house_make_up_its_cable_schedule() {
    for name in SAMPLES {
        let design = sample(name);
        let tags = |narrow: &Narrow| -> Vec<String> {
            cables::document_of(&design, narrow).cables.into_iter().map(|cable| cable.tag).collect()
        };
        let whole: BTreeSet<String> = tags(&Narrow::ALL).into_iter().collect();
        let job = &design.job;
        let by_level = job.levels.iter().flat_map(|e| tags(&narrow(&design, Some(e.id.as_str()), None, None)));
        let by_cable = job
            .catalogue
            .cables
            .iter()
            .flat_map(|e| tags(&narrow(&design, None, None, Some(e.id.as_str()))));
        for (of, parts) in [("level", by_level.collect::<Vec<_>>()), ("cable", by_cable.collect())] {
            assert_eq!(parts.len(), whole.len(), "{name} by {of}: a cable is on two sheets or on none");
            assert_eq!(parts.into_iter().collect::<BTreeSet<_>>(), whole, "{name} by {of}");
        }
        let by_panel: Vec<String> = job
            .panels
            .iter()
            .flat_map(|e| tags(&narrow(&design, None, Some(e.id.as_str()), None)))
            .collect();
        assert_eq!(by_panel.iter().collect::<BTreeSet<_>>().len(), by_panel.len(), "{name}: on two panels");
        let fed: BTreeSet<&str> = design.network.runs.iter().map(|run| run.id.as_str()).collect();
        assert!(fed.iter().all(|run| by_panel.iter().any(|tag| tag == run)), "{name}: a home run of no panel");
    }
}

#[test]
fn estimated_and_pulled_lengths_stand_apart() {
    let estimated = design_with(&[]);
    let pulled = design_with(&[(
        "from: Output(\"PS1.1\"), cable: \"18-5\"",
        "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"71'4\"",
    )]);
    let (before, after) = (cables::document(&estimated), cables::document(&pulled));
    let (before, after) = (&before.cables[0], &after.cables[0]);
    assert!(before.estimated_ft.is_some() && before.estimated_ft == before.length_ft, "{before:?}");
    assert_eq!(before.pulled_ft, None);
    assert_eq!(after.estimated_ft, before.estimated_ft, "what was pulled changes no estimate");
    assert_eq!(after.pulled_ft, after.length_ft);
    assert!((after.pulled_ft.unwrap() - (71.0 + 4.0 / 12.0)).abs() < 1e-9);
    let sheet = text::print(&heading(&pulled), &[cables::table(&pulled, true)], Paper::default());
    assert!(sheet.contains("71'4") && sheet.contains("_______") && sheet.contains("pulled"), "{sheet}");
}

#[test]
fn the_card_of_a_panel_fits_one_page() {
    for name in SAMPLES {
        let design = sample(name);
        for panel in &design.job.panels {
            let one = narrow(&design, None, Some(panel.id.as_str()), None);
            let card = text::print(&heading(&design), &directory::tables_of(&design, &one), Paper::default());
            assert_eq!(card.split('\u{c}').count(), 1, "{name} {}: {card}", panel.id);
            let all = design.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
            for run in all.flat_map(|output| &output.runs) {
                assert!(card.contains(design.network.runs[*run].id.as_str()), "{name} {}: {card}", panel.id);
            }
        }
    }
}

#[test]
fn a_part_that_is_not_there_is_refused() {
    let cottage = std::fs::read(project("sample-jobs/cottage.ron")).unwrap();
    let folder = folder_with(&[("cottage.ron", &cottage)]);
    for (args, said) in [
        (&["--level", "attic"][..], "there is no level 'attic'; there are: main"),
        (&["--panel", "P9"], "there is no panel 'P9'; there are: P1"),
        (&["--cable", "18-7"], "there is no cable type '18-7'; there are: 18-5, 18-2, 20-2"),
    ] {
        let text = drive(folder.path(), &[&["sheet", "cables", "DIR/cottage.ron"], args].concat());
        assert!(text.contains(said) && text.ends_with("exit 2"), "{text}");
    }
    let text = drive(folder.path(), &["sheet", "loading", "DIR/cottage.ron", "--panel", "P1"]);
    assert!(text.contains("takes no --panel; cables and directory can"), "{text}");
    let text = drive(folder.path(), &["sheet", "cables", "DIR/cottage.ron", "--level", "main floor"]);
    assert!(text.contains("Only level main Main floor.") && text.ends_with("exit 0"), "{text}");
}
