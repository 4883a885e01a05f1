//! How figures came about: the working that the study takes down gives every figure of every sample, to the bit.

use crate::support::{STARTER, project, snapshots};
use insta::assert_snapshot;
use serde_json::Value;
use std::fs;
use studbay::design::Design;
use studbay::explain::{NoFigure, Workings, explain, of_findings};
use studbay::job::{Kind, Subject, read};
use studbay::schedule::{cables, loading, voltages};
use studbay::study::Study;
use studbay::working::{Node, Number, Origin, Tape, Traced};

fn design(text: &str) -> Design {
    Design::derive(read::from_str("job", text).unwrap().0)
}

fn samples() -> Vec<(String, Design)> {
    let files = fs::read_dir(project("sample-jobs")).unwrap();
    let paths = files.map(|file| file.unwrap().path());
    paths.map(|path| (path.display().to_string(), design(&fs::read_to_string(&path).unwrap()))).collect()
}

/// Every figure that the sheets give for machines, by its name.
fn figures(design: &Design) -> Vec<(String, f64)> {
    let voltages = serde_json::to_value(voltages::document(design)).unwrap();
    let loading = serde_json::to_value(loading::document(design)).unwrap();
    let cables = serde_json::to_value(cables::document(design)).unwrap();
    let lists = [
        (&voltages, "runs", "run"),
        (&voltages, "fixtures", "fixture"),
        (&loading, "outputs", "output"),
        (&loading, "panels", "panel"),
        (&cables, "cables", "tag"),
    ];
    let mut figures = Vec::new();
    for (document, list, kind) in lists {
        for entry in document[list].as_array().unwrap() {
            let id = entry[kind].as_str().unwrap();
            for (key, value) in entry.as_object().unwrap() {
                if let Value::Number(number) = value {
                    let kind = if kind == "tag" { "cable" } else { kind };
                    figures.push((format!("{kind}/{id}/{key}"), number.as_f64().unwrap()));
                }
            }
        }
    }
    for room in &design.study.rooms {
        let keyed = [("lumens", room.lumens), ("lux", room.lux), ("watts", room.watts)];
        for (key, figure) in keyed {
            figures.extend(figure.map(|figure| (format!("room/{}/{key}", room.room), figure)));
        }
    }
    figures
}

/// The largest residual among what the solver found, in this working and those it goes on from.
fn largest_residual(traced: &Traced) -> f64 {
    match traced.node() {
        Node::Input(_) => 0.0,
        Node::Figure(_, _, traced) => largest_residual(traced),
        Node::Solved(_, by) => (traced.value() - by.value()).abs().max(largest_residual(by)),
        Node::Both(_, a, b) => largest_residual(a).max(largest_residual(b)),
    }
}

#[test]
fn every_figure_of_every_sample_is_what_its_working_gives() {
    let mut checked = 0;
    for (name, design) in samples() {
        let workings = Workings::new(&design);
        for (figure, value) in figures(&design) {
            let (_, traced) = workings.tape().get(&figure).unwrap_or_else(|| panic!("{name}: {figure}"));
            assert_eq!(traced.value().to_bits(), value.to_bits(), "{name}: {figure}");
            assert_eq!(traced.evaluated().to_bits(), value.to_bits(), "{name}: {figure} by its formula");
            // A solved figure is no input: by Kirchhoff's and Ohm's laws it comes to the same, but for rounding.
            assert!(largest_residual(traced) < 1e-9, "{name}: {figure}: {}", largest_residual(traced));
            checked += 1;
        }
    }
    assert!(checked > 5000, "only {checked}");
}

#[test]
fn taking_down_changes_no_figure() {
    for (name, design) in samples() {
        let mut tape = Tape::default();
        let recorded = Study::recorded(&design.job, &design.index, &design.network, &mut tape);
        // Debug writes every float so that it reads back to the bit.
        assert!(format!("{recorded:?}") == format!("{:?}", design.study), "{name}");
    }
}

#[test]
fn every_working_is_told_in_80_columns_down_to_its_inputs() {
    let small = ["cottage", "two-story", "usual-mistakes"];
    for (name, design) in samples().into_iter().filter(|(name, _)| small.iter().any(|s| name.contains(s))) {
        let workings = Workings::new(&design);
        for figure in workings.tape().names() {
            let text = workings.explain(figure).unwrap();
            let wide = text.lines().find(|line| line.chars().count() > 80);
            assert!(wide.is_none(), "{name}: {figure}: {wide:?}");
            // Each step ends in inputs that say where they come from, or in figures told in their turn.
            assert!(text.starts_with(figure), "{name}: {text}");
        }
    }
}

#[test]
fn workings_read_as_they_should() {
    let starter = design(STARTER);
    let names = ["fixture/F4/drop_percent", "panel/P1/ac_amps", "run/HR1/max_watts", "room/bed-1/lux"];
    let text = explain(&starter, &names.map(String::from)).unwrap();
    let _guard = snapshots("explain").bind_to_scope();
    assert_snapshot!("starter", text);
    assert_snapshot!("fixture", Workings::new(&starter).about(&Subject::new(Kind::Fixture, "F1")));
}

#[test]
fn what_cannot_be_explained_says_why() {
    let starter = design(STARTER);
    let workings = Workings::new(&starter);
    let said = |name: &str| workings.explain(name).unwrap_err().to_string();
    assert!(said("drop").contains("write kind/id/key"));
    assert!(said("fixture/F1/drop").contains("of it there are amps, drop_percent"));
    assert!(said("fixture/F99/volts").contains("nothing is computed of fixture 'F99'"));
    let landed = STARTER.replace("Output(\"PS1.1\")", "Panel(\"P1\")");
    let unlanded = design(&landed);
    let error = Workings::new(&unlanded).explain("fixture/F1/volts").unwrap_err();
    assert!(matches!(error, NoFigure::Unknown { .. }), "{error}");
}

#[test]
fn every_figure_of_every_finding_is_what_its_working_gives() {
    let (mut checked, mut told) = (0, 0);
    for (name, design) in samples() {
        let workings = Workings::new(&design);
        for (figure, finding) in of_findings(&design) {
            for (figure, value) in
                [(figure.clone(), finding.found), (format!("{figure}-limit"), finding.limit)]
            {
                let Some(value) = value else { continue };
                let (_, traced) = workings.tape().get(&figure).unwrap_or_else(|| panic!("{name}: {figure}"));
                assert_eq!(traced.value().to_bits(), value.to_bits(), "{name}: {figure}");
                assert_eq!(traced.evaluated().to_bits(), value.to_bits(), "{name}: {figure} by its formula");
                let text = workings.explain(&figure).unwrap();
                assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
                // It is a formula, or it says where it comes from.
                assert!(text.contains(": ") || text.contains(" = "), "{text}");
                told += usize::from(
                    !matches!(traced.node(), Node::Input(input) if input.origin != Origin::Figure),
                );
                checked += 1;
            }
        }
    }
    assert!(checked > 60 && told > 15, "{checked} figures, {told} by a formula");
}

#[test]
fn a_length_that_is_the_estimated_one_is_told_once() {
    let cottage = design(&fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap());
    let about = Workings::new(&cottage).about(&Subject::new(Kind::Cable, "B1a1"));
    assert!(about.contains("cable/B1a1/estimated_ft, length_ft = 20 ft\n"), "{about}");
    assert_eq!(about.matches("across, along, up and down").count(), 1, "{about}");
}
