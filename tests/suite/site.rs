//! Readings, what they tell, the table they come from, progress, open choices and service, on small houses.

use crate::support::{design_of, project, sample, snapshots, starter_with};
use insta::assert_snapshot;
use serde_json::json;
use std::fs;
use studbay::design::Design;
use studbay::intake::read_readings;
use studbay::job::edit::{Edit, apply};
use studbay::job::site::{Reading, Test};
use studbay::job::{Id, Kind, Subject};
use studbay::schedule::{options, punch, readings, service};
use studbay::sheets::{Heading, Paper, text};
use studbay::site::{
    Band, ChoiceState, Judged, Taking, Verdict, dark, diagnose, expected, line, lines, substitute,
};

/// The starter's loop LP1 with these readings, and more changes to the text.
fn read_as(readings: &[&str], changes: &[(&str, &str)]) -> Design {
    let text = starter_with(changes);
    let readings: Vec<String> = readings.iter().map(|reading| format!("\"{reading}\",")).collect();
    let readings = readings.concat();
    design_of(&text.replacen("ceiling: [\n", &format!("readings: [{readings}], ceiling: [\n"), 1))
}

/// The verdict on a cable with all that is said of it.
fn told(design: &Design, cable: &str) -> (Verdict, Vec<String>) {
    let line = line(design, &Id::new(cable).unwrap()).unwrap();
    let diagnosis = diagnose(design, &line);
    (diagnosis.verdict, readings::says(design, &line, &diagnosis))
}

#[test]
fn a_conductor_reads_its_gauge_times_its_length_as_warm_as_it_is() {
    let design = design_of(&starter_with(&[(
        "from: Output(\"PS1.1\"),",
        "from: Output(\"PS1.1\"), site: (start_mark: \"200 ft\", end_mark: \"100 ft\"),",
    )]));
    let home = line(&design, &Id::new("HR1").unwrap()).unwrap();
    // NEC ch. 9 table 8: 7.77 ohm/kFT at 75 C; with note 2 at 20 C 6.390, 100 ft of it 0.639.
    let ohms = home.conductor_ohms(20.0).unwrap();
    assert!((ohms - 0.639).abs() < 0.0005, "{ohms}");
    // Two conductors side by side out and two back: half of each, so one in all.
    assert!((home.pair_ohms(20.0).unwrap() - ohms).abs() < 1e-12);
    let tests = expected(&design, &home, Taking::Usual);
    let one = tests.iter().find(|one| one.test == Test::Conductor("1".into())).unwrap();
    let Band::Between { low, typical, high } = one.band else { panic!("{:?}", one.band) };
    assert!((typical - ohms).abs() < 1e-9);
    // 3 % copper, 1 % and 1 ft length, then the usual meter: 1 % and 3 counts of 0.1 with half a digit.
    let off = ohms * (0.03 + 0.01 + 0.01);
    assert!((high - ((ohms + off) * 1.01 + 0.35)).abs() < 1e-9, "{high}");
    assert!((low - ((ohms - off) * 0.99 - 0.35)).abs() < 1e-9 && low > 0.0, "{low}");
}

#[test]
fn a_sound_loop_is_continuous_and_not_bridged_and_no_more() {
    let both = ["joined from near: 1.2", "across from near: OL"];
    assert_eq!(told(&read_as(&both, &[]), "LP1").0, Verdict::Sound);
    assert_eq!(told(&read_as(&both, &[]), "LP1").1, ["continuous, not bridged"]);
    let (verdict, said) = told(&read_as(&both[..1], &[]), "LP1");
    assert_eq!(verdict, Verdict::Partly);
    assert!(said[0].contains("whether it is bridged is not told"), "{said:?}");
    let (verdict, said) = told(&read_as(&both[1..], &[]), "LP1");
    assert_eq!(verdict, Verdict::Partly);
    assert!(said[0].contains("whether it is continuous is not told"), "{said:?}");
    assert_eq!(told(&read_as(&[], &[]), "LP1").0, Verdict::NotRead);
    // No word anywhere calls a cable whole.
    assert!(Verdict::Sound.word() == "continuous, not bridged");
}

#[test]
fn an_open_is_bracketed_and_the_next_box_named() {
    let (verdict, said) = told(&read_as(&["joined from near: OL", "conductor 1: OL"], &[]), "LP1");
    assert_eq!(verdict, Verdict::Damaged);
    assert!(
        said[0].contains("1 open between wall box B1 and the return at B1; read it joined at box F3 next"),
        "{said:?}"
    );
    let half = ["joined from near: OL", "joined at F2 from near: 0.5", "joined at F3 from near: OL"];
    let (_, said) = told(&read_as(&half, &[]), "LP1");
    assert!(said[0].contains("between box F2 and box F3; look at the splices at both"), "{said:?}");
    // From the far end the same box is read from behind.
    let far = ["joined from near: OL", "joined at F2 from far: OL", "joined at F3 from far: 0.6"];
    assert!(told(&read_as(&far, &[]), "LP1").1[0].contains("between box F2 and box F3"));
    let against = ["joined at F2 from near: OL", "joined at F3 from near: 0.5"];
    let (_, said) = told(&read_as(&against, &[]), "LP1");
    assert!(said.iter().any(|said| said.contains("contradicts")), "{said:?}");
}

#[test]
fn a_box_that_is_cut_stops_readings_and_a_fixture_lets_others_through() {
    let cut = [("(id: \"F2\",", "(id: \"F2\", site: (splice: Cut),")];
    let (verdict, said) = told(&read_as(&["joined from near: OL"], &cut), "LP1");
    assert_eq!(verdict, Verdict::Partly, "{said:?}");
    assert!(said[0].contains("a box on the way is cut: splice it through first"), "{said:?}");
    // Up to the cut box itself a reading counts.
    let (verdict, _) = told(&read_as(&["joined at F2 from near: OL"], &cut), "LP1");
    assert_eq!(verdict, Verdict::Damaged);
    let on = [("(id: \"F2\",", "(id: \"F2\", site: (splice: FixtureOn),")];
    let (_, said) = told(&read_as(&["across from near: 800"], &on), "LP1");
    assert!(said[0].contains("fixtures are on"), "{said:?}");
}

#[test]
fn a_bridge_needs_both_ends_and_a_leak_no_place() {
    let (verdict, said) = told(&read_as(&["across from near: 0.6"], &[]), "LP1");
    assert_eq!(verdict, Verdict::Damaged);
    assert!(said[0].starts_with("bridged, at most "), "{said:?}");
    let both = [
        "across from near: 0.60 with b",
        "across from far: 0.90 with b",
        "conductor 1: 0.55 with b",
        "conductor 2: 0.55 with b",
    ];
    let meter = [(
        "        boxes: [",
        "        meters: [(id: \"b\", ohms: (percent: 0.1, counts: 1, resolution: 0.01))],\n        boxes: [",
    )];
    let (_, said) = told(&read_as(&both, &meter), "LP1");
    assert!(said[0].contains("bridged ") && said[0].contains("19 times in 20"), "{said:?}");
    assert!(said[1].starts_with("that is in "), "{said:?}");
    let (_, said) = told(&read_as(&["across from near: 20k", "across from far: 20k"], &[]), "LP1");
    assert!(said[0].contains("too high to be placed by ohms"), "{said:?}");
    let (verdict, said) = told(&read_as(&["insulation: 0.2M"], &[]), "LP1");
    assert_eq!(verdict, Verdict::Damaged);
    assert!(said[0].contains("0.2M ohm, too low"), "{said:?}");
}

#[test]
fn a_battery_shows_crossings_and_exchanged_tails() {
    let crossed = [
        "battery at F1 in: 9.1",
        "battery at F2 in: -9.1",
        "battery at F3 in: -9.0",
        "battery at F4 in: 9.0",
    ];
    let (verdict, said) = told(&read_as(&crossed, &[]), "LP1");
    assert_eq!(verdict, Verdict::Damaged);
    assert!(
        said[0].contains("between box F1 and box F2") && said[1].contains("between box F3 and box F4"),
        "{said:?}"
    );
    let cut = [("(id: \"F2\",", "(id: \"F2\", site: (splice: Cut),")];
    let (_, said) = told(&read_as(&["battery at F2 in: 0.0", "battery at F2 out: 9.0"], &cut), "LP1");
    assert!(said[0].contains("IN and OUT are exchanged in box F2"), "{said:?}");
    let home = design_of(&starter_with(&[(
        "from: Output(\"PS1.1\"),",
        "from: Output(\"PS1.1\"), readings: [\"no-load volts: -24.4\"],",
    )]));
    assert!(told(&home, "HR1").1[0].contains("exchanged: do not land it"));
}

#[test]
fn readings_that_contradict_are_named_and_high_ones_say_what_they_cannot_mean() {
    let twice = ["joined from near: 1.2", "joined from near: 3.9"];
    let (verdict, said) = told(&read_as(&twice, &[]), "LP1");
    assert_eq!(verdict, Verdict::Odd);
    assert!(said.iter().any(|said| said.contains("'joined from near' contradicts")), "{said:?}");
    let (verdict, said) = told(&read_as(&["conductor 1: 7.5"], &[]), "LP1");
    assert_eq!(verdict, Verdict::Odd);
    assert!(
        said[0].contains("which of them, ohms alone do not tell; the length is only estimated"),
        "{said:?}"
    );
}

#[test]
fn volts_under_the_test_load_follow_from_the_way() {
    let design = sample("cottage");
    let home = line(&design, &Id::new("HR01").unwrap()).unwrap();
    let at = home.wall_box.id.clone();
    let tests = expected(&design, &home, Taking::Usual);
    let volts = tests.iter().find(|one| one.test == Test::Volts(at.clone())).unwrap();
    let Band::Between { typical, .. } = volts.band else { panic!("{:?}", volts.band) };
    let supply = design.job.catalogue.supplies.iter().find_map(|part| part.no_load_volts).unwrap().get();
    let load = design.job.settings.site.test_load_ohms.unwrap().get();
    let by_hand = supply * load / (load + home.pair_ohms(18.0).unwrap());
    assert!((typical - by_hand).abs() < 1e-9, "{typical} {by_hand}");
    // No band is left out in silence: every one of a sample is a figure, or says why not.
    for line in lines(&design) {
        for one in expected(&design, &line, Taking::Usual) {
            assert_eq!(one.judged, Judged::NotRead);
            assert!(!matches!(one.band, Band::Unknown("")), "{}: {}", line.id, one.test);
        }
    }
}

const TABLE: &str = "id,what,figure,meter,celsius,date,by\n\
    HR01,pulled,,,,2026-03-09,MO\n\
    HR01,start mark,412 ft,,,,\n\
    HR01,end mark,371 ft,,,,\n\
    HR01,conductor red,0.24,bench,18,,\n\
    HR01,across from near,OL,,,,\n\
    L1a1,joined from near,0.9,pocket,,,\n\
    L-1,splice,spliced through,,,,\n";

#[test]
fn a_table_of_readings_is_one_edit() {
    let mut design = sample("cottage");
    let taken = read_readings(&design.job, TABLE).unwrap();
    assert_eq!((taken.readings, taken.records, taken.known), (3, 4, 0));
    let before = design.job.clone();
    let undo = apply(&mut design.job, taken.edit.clone()).unwrap();
    design.refresh(&taken.edit);
    assert_eq!(Design::derive(design.job.clone()).study, design.study);
    let home = line(&design, &Id::new("HR01").unwrap()).unwrap();
    assert_eq!(home.site.pulled().unwrap().written(), "41 ft");
    let said: Vec<String> = home.readings.iter().map(ToString::to_string).collect();
    assert_eq!(said[0], "conductor red: 0.24 with bench at 18 C by 2026-03-09 MO");
    assert_eq!(said[1], "across from near: OL with bench at 18 C by 2026-03-09 MO");
    let again = read_readings(&design.job, TABLE).unwrap();
    assert_eq!(
        (again.readings, again.records, again.known),
        (0, 0, 7),
        "the same table twice changes nothing"
    );
    apply(&mut design.job, undo).unwrap();
    assert_eq!(design.job, before);
}

#[test]
fn every_flaw_of_a_table_is_named_by_row() {
    let job = sample("cottage").job;
    let flaws = read_readings(
        &job,
        "id;what;figure;meter\nHR99;conductor red;1;\nHR01;conductor red;low;\nHR01;ring;1;\nHR01;conductor red;1;M9\n\
         L-1;insulation;OL;\nHR01;tested;;\nL-1;start mark;4 ft;\n",
    )
    .unwrap_err()
    .to_string();
    for said in [
        "row 2, column 'id': there is no cable and no box 'HR99'",
        "row 3, column 'figure': 'low' is no figure",
        "row 4, column 'what': 'ring' is no test",
        "row 5, column 'meter': the catalogue has no meter 'M9'; it has bench, pocket",
        "row 6, column 'id': ceiling box L-1 is no cable",
        "row 7, column 'date': say when or by whom",
        "row 8, column 'what': ceiling box L-1 has no such record",
    ] {
        assert!(flaws.contains(said), "{said} in\n{flaws}");
    }
    assert!(read_readings(&job, "").unwrap_err().to_string().contains("empty"));
    assert!(read_readings(&job, "cable,figure\n").unwrap_err().to_string().contains("is no column"));
}

/// A sheet as it is printed.
fn printed(design: &Design, tables: &[studbay::schedule::Table]) -> String {
    let heading = Heading::of(&design.job.project, "2026-03-09".parse().unwrap());
    text::print(&heading, tables, Paper::default())
}

#[test]
fn the_sheets_of_the_site() {
    let mut design = sample("cottage");
    let taken = read_readings(&design.job, TABLE).unwrap();
    apply(&mut design.job, taken.edit.clone()).unwrap();
    design.refresh(&taken.edit);
    let _guard = snapshots("sheets").bind_to_scope();
    let whole = printed(&design, &[readings::table(&design)]);
    let upto = whole.find("== HR03").unwrap();
    let ends = whole.find("NOTES").unwrap();
    assert_snapshot!("cottage_readings_read", format!("{}...\n{}", &whole[..upto], &whole[ends..]));
    assert_snapshot!("cottage_punch_read", printed(&design, &punch::tables(&design)));
    assert_snapshot!(
        "two-story_options",
        printed(&sample("two-story"), &[options::table(&sample("two-story"))])
    );
}

#[test]
fn dark_lights_tell_what_they_share() {
    let design = sample("cottage");
    let ids = |ids: &[&str]| ids.iter().map(|id| Id::new(id).unwrap()).collect::<Vec<Id>>();
    let loops: Vec<&studbay::job::wiring::Loop> =
        design.job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops).collect();
    let long = loops.iter().find(|run| run.ceiling.len() >= 4).unwrap();
    let last: Vec<Id> = long.ceiling.iter().skip(2).map(|ceiling| ceiling.id.clone()).collect();
    let found = dark(&design, &last).unwrap();
    let suspects: Vec<String> = found
        .shared
        .iter()
        .filter(|shared| shared.is_suspect())
        .map(|shared| format!("{:?}", shared.on))
        .collect();
    assert_eq!(
        suspects,
        [format!("Leg({:?}, {:?})", long.id, long.ceiling[2].id)],
        "the leg before the first dark one"
    );
    let said = service::dark_lines(&design, &found).join("\n");
    let _guard = snapshots("sheets").bind_to_scope();
    assert_snapshot!("cottage_service", said);
    assert!(dark(&design, &ids(&["L-99"])).is_err());
}

#[test]
fn a_substitute_is_held_against_loop_output_and_box() {
    let design = sample("cottage");
    let first = design.job.boxes[0].controls[0].loops[0].ceiling[0].id.clone();
    let same = design.job.boxes[0].controls[0].loops[0].ceiling[0].fixture.clone().unwrap();
    let fine = substitute(&design, &first, &same).unwrap();
    assert!(matches!(fine.state, ChoiceState::Unknown(_) | ChoiceState::Ready), "{fine:?}");
    let heavy = Edit::Set {
        subject: Subject::new(Kind::FixtureType, &same),
        field: "load".into(),
        value: json!({"Power": {"watts": 140, "volts": {"least": 20, "most": 28}}}),
    };
    let mut job = design.job.clone();
    apply(&mut job, heavy).unwrap();
    let other = substitute(&Design::derive(job), &first, &same).unwrap();
    assert!(matches!(&other.state, ChoiceState::Needs(_) | ChoiceState::Unknown(_)));
    assert!(substitute(&design, &first, &Id::new("none").unwrap()).is_err());
    assert!(fs::exists(project("sample-jobs/cottage.ron")).unwrap());
}

/// The two-story house with three fixtures to choose from in as many as three boxes of every room, in place of what
/// hangs there.
fn with_choices() -> studbay::job::Job {
    let mut job = sample("two-story").job;
    let fixed = ["down-6", "down-4", "down-6s"];
    let mut opened = std::collections::BTreeMap::new();
    let mut edits = Vec::new();
    for wall_box in &job.boxes {
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            for ceiling in &run.ceiling {
                let room = ceiling.room.as_ref().unwrap_or(&wall_box.room).clone();
                let plain = ceiling.fixture.as_ref().is_some_and(|id| fixed.contains(&id.as_str()));
                let count: &mut usize = opened.entry(room).or_default();
                if plain && *count < 3 {
                    *count += 1;
                    let subject = Subject::new(Kind::Fixture, &ceiling.id);
                    let set = |field: &str, value| Edit::Set {
                        subject: subject.clone(),
                        field: field.into(),
                        value,
                    };
                    edits.extend([
                        set("fixture", json!(null)),
                        set("open", json!(fixed)),
                        set("part", json!("ceiling")),
                    ]);
                }
            }
        }
    }
    for id in fixed {
        for (field, value) in [("weight", "2 lb"), ("depth", "0 in")] {
            let subject = Subject::new(Kind::FixtureType, id);
            edits.push(Edit::Set { subject, field: field.into(), value: json!(value) });
        }
        let subject = Subject::new(Kind::FixtureType, id);
        edits.push(Edit::Set { subject, field: "exposure".into(), value: json!("Wet") });
    }
    for edit in edits {
        apply(&mut job, edit).unwrap();
    }
    assert!(opened.values().filter(|count| **count >= 1).count() >= 10, "{opened:?}");
    job
}

#[test]
fn a_house_with_three_choices_in_every_room_passes_and_every_choice_is_ready() {
    let design = Design::derive(with_choices());
    let failing: Vec<&str> = design
        .findings
        .iter()
        .filter(|finding| finding.fails())
        .map(|finding| finding.what.as_str())
        .collect();
    assert!(failing.is_empty(), "{failing:?}");
    let mut ready = 0;
    for run in studbay::site::choices(&design) {
        for choice in &run.choices {
            // The sample's own open dining chandelier hangs from a box that does not bear it.
            if choice.fixture.as_str() != "chan-15" {
                assert!(matches!(choice.state, ChoiceState::Ready), "{}: {choice:?}", run.id);
                ready += 1;
            }
        }
    }
    assert!(ready >= 40, "{ready} choices");
    // What was called ready stays right whichever is chosen.
    let mut job = design.job.clone();
    for wall_box in &design.job.boxes {
        for (nth, ceiling) in
            wall_box.controls.iter().flat_map(|c| &c.loops).flat_map(|run| &run.ceiling).enumerate()
        {
            if let Some(pick) = ceiling.open.get(nth % ceiling.open.len().max(1)) {
                let subject = Subject::new(Kind::Fixture, &ceiling.id);
                let set =
                    |field: &str, value| Edit::Set { subject: subject.clone(), field: field.into(), value };
                let edit =
                    Edit::Together(vec![set("open", json!(null)), set("fixture", json!(pick.as_str()))]);
                apply(&mut job, edit).unwrap();
            }
        }
    }
    assert!(Design::derive(job).findings.iter().all(|finding| !finding.fails()));
}

#[test]
fn a_choice_too_much_fails_and_is_named() {
    let mut job = with_choices();
    let huge = json!({"id": "huge-90", "name": "Huge", "weight": "60 lb", "depth": "14 in", "exposure": "Dry",
        "load": {"Power": {"watts": 90, "volts": {"least": 20, "most": 28}}}});
    apply(&mut job, Edit::Insert { kind: Kind::FixtureType, parent: None, at: 99, value: huge }).unwrap();
    let box_id = job
        .boxes
        .iter()
        .flat_map(|b| &b.controls)
        .flat_map(|c| &c.loops)
        .flat_map(|l| &l.ceiling)
        .find(|ceiling| ceiling.open.len() == 3)
        .unwrap()
        .id
        .clone();
    let open = json!(["down-6", "down-4", "huge-90"]);
    let edit = Edit::Set { subject: Subject::new(Kind::Fixture, &box_id), field: "open".into(), value: open };
    apply(&mut job, edit).unwrap();
    let design = Design::derive(job);
    assert!(design.findings.iter().any(studbay::checks::Finding::fails), "the worst choice counts");
    let all = studbay::site::choices(&design);
    let choice =
        all.iter().flat_map(|run| &run.choices).find(|choice| choice.fixture.as_str() == "huge-90").unwrap();
    let ChoiceState::Needs(needs) = &choice.state else { panic!("{choice:?}") };
    let said: Vec<&str> = needs.iter().map(|need| need.what.as_str()).collect();
    assert!(
        said.iter().any(|said| said.contains("weighs 60 lb") && said.contains("bears 15 lb")),
        "{said:?}"
    );
    assert!(said.iter().any(|said| said.contains('W')), "an electrical need too: {said:?}");
    let sheet = printed(&design, &[options::table(&design)]);
    assert!(sheet.contains("Huge") && sheet.contains("! needs"), "{sheet}");
}

/// What is expected before a reading is what the reading is held against once it is taken, whatever the meter.
#[test]
fn a_band_is_that_of_the_meter_that_will_read() {
    let cottage = sample("cottage");
    let meters: Vec<Option<Id>> =
        cottage.job.catalogue.meters.iter().map(|meter| Some(meter.id.clone())).chain([None]).collect();
    assert!(meters.len() > 2);
    let id = Id::new("HR01").unwrap();
    let mut bands = Vec::new();
    for meter in &meters {
        for celsius in [None, Some(31.0)] {
            let taking = Taking::By { meter: meter.as_ref(), celsius };
            let test = Test::NoLoadVolts;
            let before = expected(&cottage, &line(&cottage, &id).unwrap(), taking);
            let before = before.into_iter().find(|one| one.test == test).unwrap().band;
            let mut job = cottage.job.clone();
            let feed = job.boxes.iter_mut().flat_map(|b| &mut b.feeds).find(|feed| feed.id == id).unwrap();
            let mut reading = Reading::new(test.clone(), "24.000".parse().unwrap());
            (reading.meter, reading.celsius) = (meter.clone(), celsius);
            feed.readings.push(reading);
            let read = Design::derive(job);
            let after = expected(&read, &line(&read, &id).unwrap(), Taking::Usual);
            let after = after.into_iter().find(|one| one.test == test).unwrap();
            assert_eq!(before, after.band, "{meter:?} {celsius:?}");
            bands.push(before);
            // The next reading nobody speaks of is taken with the same meter.
            if let Some(meter) = meter {
                assert_eq!(studbay::site::usual_meter(&read, &test).unwrap().id, *meter);
            }
        }
    }
    assert!(bands[0] != bands[2] && bands[2] != bands[4], "meters differ: {bands:?}");
}
