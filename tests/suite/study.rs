//! The study of whole jobs: figures by hand, and what holds for any job.

use crate::random_jobs;
use crate::support::{SAMPLES, close, design_of, design_with, sample};
use proptest::prelude::*;
use studbay::design::Design;
use studbay::job::wiring::{Loop, LoopPath};
use studbay::job::{Index, Job, read, write};
use studbay::network::{LoopAt, Network};
use studbay::study::{Outcome, RunStudy, Study, run_limits};
use studbay::units::Length;

/// Relative difference allowed where the same sum is made in another order.
const SUMS: f64 = 1e-9;

fn run_study(design: &Design, run: usize) -> &RunStudy {
    design.study.run(&design.network, run).unwrap()
}

/// Every figure in full; two texts are the same only if every figure is to the bit.
fn bits(study: &Study) -> String {
    format!("{study:?}")
}

fn wired(job: &Job, at: LoopAt) -> &Loop {
    &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at]
}

fn loops(job: &mut Job) -> impl Iterator<Item = &mut Loop> {
    job.boxes.iter_mut().flat_map(|b| &mut b.controls).flat_map(|control| &mut control.loops)
}

fn feet(feet: f64) -> Length {
    Length::parse(&format!("{feet} ft"), None).unwrap()
}

/// What a row of lights of constant power sees, found by walking back from guessed volts at its last light, halving
/// the guess until the walk ends at the source: nothing of it is shared with the solver.
fn ladder(source: f64, ohms: &[f64], watts: &[f64]) -> Vec<f64> {
    let walk = |last: f64| {
        let (mut volts, mut amps, mut seen) = (last, 0.0, Vec::new());
        for (ohms, watts) in ohms.iter().zip(watts).rev() {
            seen.push(volts);
            amps += watts / volts;
            volts += amps * ohms;
        }
        seen.reverse();
        (volts, seen)
    };
    let (mut low, mut high) = (source / 2.0, source);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if walk(middle).0 > source { high = middle } else { low = middle }
    }
    walk(low).1
}

#[test]
fn the_starter_s_run_by_hand_and_by_the_simulator() {
    let design = design_with(&[]);
    let run = run_study(&design, 0);
    // 45'8 of 18 AWG at 7.77 ohm/kFT, both sides doubled: 0.35483 ohm out and back; a leg of 189.2 in of one pair is
    // 0.245014 ohm, the others of 95.2 in 0.123284 ohm (the lengths are reckoned in lengths.rs).
    let ohms = [0.354_83, 0.245_014, 0.123_284, 0.123_284, 0.123_284];
    let by_hand = ladder(24.0, &ohms, &[0.5, 6.0, 6.0, 6.0, 6.0]);
    // ngspice 39 on the same five resistances and loads, B sources as in tests/oracle/decks.
    let simulated = [
        23.626_401_414_433_3,
        23.373_612_674_505_6,
        23.278_063_618_101,
        23.214_291_431_634_4,
        23.182_383_409_627_8,
    ];
    let mut solved = vec![run.feed_volts[0].1.unwrap()];
    solved.extend(run.lights.iter().map(|light| light.volts.unwrap()));
    for ((solved, by_hand), simulated) in solved.iter().zip(&by_hand).zip(&simulated) {
        assert!(close(*solved, *by_hand, 1e-11) && close(*solved, *simulated, 1e-9), "{solved} {by_hand}");
    }
    let amps = run.source_amps.unwrap();
    assert!(
        close(amps, 1.052_894_584_918_6, 1e-9) && close(amps, (24.0 - by_hand[0]) / ohms[0], 1e-9),
        "{amps}"
    );
    assert!(close(run.source_watts.unwrap(), 24.0 * amps, SUMS));
    // The pair of the last leg carries only the last light's amps.
    let last = &run.lights[3];
    assert!(close(last.amps.unwrap(), 6.0 / by_hand[4], SUMS));
    assert!(close(last.drop_volts.unwrap(), 24.0 - by_hand[4], SUMS));
    assert!(close(last.drop_percent.unwrap(), (24.0 - by_hand[4]) / 0.24, SUMS));
}

#[test]
fn the_starter_s_ac_side_by_hand() {
    let design = design_with(&[]);
    let out = run_study(&design, 0).source_watts.unwrap();
    let (output, panel) = (&design.study.outputs[0], &design.study.panels[0]);
    assert!(close(output.percent.unwrap(), out / 0.96, SUMS));
    // Full load is 4 x 96 W = 384 W at 91 %, a loss of 37.978 W; 6 W with nothing connected; a line between them.
    let loss = 6.0 + (384.0 * (1.0 / 0.91 - 1.0) - 6.0) * out / 384.0;
    assert!(close(panel.heat_watts.unwrap(), loss, SUMS));
    assert!(close(panel.ac_watts.unwrap(), out + loss, SUMS));
    assert!(close(panel.ac_volt_amps.unwrap(), (out + loss) / 0.95, SUMS));
    assert!(close(panel.ac_amps.unwrap(), (out + loss) / 0.95 / 120.0, SUMS));
    // 1 BTU (IT) is 1055.05585262 J.
    assert!(close(panel.heat_btu_per_hour.unwrap(), loss * 3600.0 / 1_055.055_852_62, 1e-6));
    // Without power factor the watts stand and the amps are unknown; without efficiency nothing of the AC side is.
    let panel = &design_with(&[("power_factor: 0.95,", "")]).study.panels[0];
    assert!(panel.ac_watts.is_some() && panel.ac_volt_amps.is_none() && panel.ac_amps.is_none());
    let panel = &design_with(&[("efficiency_percent: 91,", "")]).study.panels[0];
    assert!(panel.output_watts.is_some() && panel.ac_watts.is_none() && panel.heat_watts.is_none());
}

/// A starter on 48 V whose bedroom has a current drive and a string of such lights.
fn string(control: &str, light: &str, path: &str) -> Design {
    design_with(&[
        ("volts: 24,", "volts: 48,"),
        ("no_load_volts: 24.5,", ""),
        ("load: Power(watts: 6, volts: (least: 20, most: 28))", light),
        ("drive: Voltage, own_watts: 0.5, most_fixed_lights: 10", control),
        ("path: ReturnedCapped", path),
    ])
}

#[test]
fn a_string_by_hand() {
    let drive = "drive: Current(amps: 0.35, efficiency_percent: 90, headroom_volts: 2), own_watts: 0.5";
    let design = string(drive, "load: String(volts: 9)", "path: Returned");
    let run = run_study(&design, 0);
    let one = &run.strings[0];
    // Once round on one conductor of the loop's five legs: 743.2 in of 18 AWG at 7.77 ohm/kFT.
    let wire_ohms = 743.2 / 12.0 * 0.007_77;
    assert!(close(one.volts, 4.0 * 9.0 + 0.35 * wire_ohms, SUMS), "{}", one.volts);
    assert!(close(one.wire_watts, 0.35 * 0.35 * wire_ohms, SUMS));
    // The home run gives the string's power over its efficiency, and the control's own half watt.
    let at_box = run.feed_volts[0].1.unwrap();
    let taken = one.volts * 0.35 / 0.9 + 0.5;
    assert!(close(run.source_watts.unwrap(), 48.0 * taken / at_box, SUMS));
    assert!(close(one.available_volts.unwrap(), at_box - 2.0, SUMS));
    assert_eq!(one.holds(), Some(true));
    assert!(close(run.lights[0].watts.unwrap(), 9.0 * 0.35, SUMS));
    assert!(run.lights.iter().all(|light| light.drop_volts.is_none() && light.drop_percent.is_none()));
    // On a loop that ends the string goes out on one conductor and comes back on the other.
    let ended = string(drive, "load: String(volts: 9)", "path: OneWay");
    let wire_ohms = 2.0 * 482.8 / 12.0 * 0.007_77;
    let one = run_study(&ended, 0).strings[0].clone();
    assert!(close(one.volts, 36.0 + 0.35 * wire_ohms, SUMS), "{}", one.volts);
}

#[test]
fn ten_lights_of_nine_volts_are_ninety_and_fail() {
    // One more light on each of six places of the loop.
    let light = |n| format!("(id: \"F{n}\", place: (x: \"18'0\", y: \"{n}'0\"), fixture: \"down-6\"),\n");
    let more = (5..=10).map(light).collect::<Vec<_>>().concat();
    let design = design_with(&[
        ("volts: 24,", "volts: 48,"),
        ("no_load_volts: 24.5,", ""),
        ("load: Power(watts: 6, volts: (least: 20, most: 28))", "load: String(volts: 9)"),
        ("drive: Voltage,", "drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 57),"),
        ("(id: \"F1\",", &format!("{more}(id: \"F1\",")),
    ]);
    let string = &run_study(&design, 0).strings[0];
    assert_eq!(string.lights.len(), 10);
    assert!(string.volts > 90.0 && string.volts < 92.0, "{}", string.volts);
    assert_eq!(string.holds(), Some(false));
    for code in ["string-volts", "string-60"] {
        assert!(design.findings.iter().any(|f| f.code == code && f.subject.id == "LP1"), "{code}");
    }
}

#[test]
fn the_worst_mix_of_two_channels_counts() {
    let drive = |channels: &str| {
        format!(
            "drive: Current(amps: 0.35, efficiency_percent: 90, headroom_volts: 2), own_watts: 0.5, \
             colour: TwoStrings({channels})"
        )
    };
    let light = "colour: Tunable, load: String(volts: 9, second_volts: 9.5)";
    let wire_ohms = 743.2 / 12.0 * 0.007_77;
    let watts = |volts: f64| (4.0 * volts + 0.35 * wire_ohms) * 0.35 / 0.9;
    // The channels share the current: all of it in the heavier one is the most.
    let design = string(&drive("channels: Share"), light, "path: Returned");
    let run = run_study(&design, 0);
    let at_box = run.feed_volts[0].1.unwrap();
    assert!(close(run.source_amps.unwrap() * at_box, watts(9.5) + 0.5, SUMS));
    // Both may be full: their sum.
    let design = string(&drive("channels: BothFull"), light, "path: Returned");
    let run = run_study(&design, 0);
    let at_box = run.feed_volts[0].1.unwrap();
    assert!(close(run.source_amps.unwrap() * at_box, watts(9.0) + watts(9.5) + 0.5, SUMS));
    // It isn't said: unknown, not the lighter.
    let design = string(&drive(""), light, "path: Returned");
    assert!(matches!(run_study(&design, 0).outcome, Outcome::Unknown(_)));
    assert_eq!((run_study(&design, 0).source_watts, design.study.outputs[0].watts), (None, None));
}

/// A box with an allowance alone, at the end of so many feet of one pair of 18 AWG.
fn pair_to_an_allowance(volts: u8, feet: u16, watts: f64) -> Design {
    let mut job = read::from_str(
        "job",
        &crate::support::starter_with(&[
            ("volts: 24,", &format!("volts: {volts},")),
            ("no_load_volts: 24.5,", ""),
            ("cable: \"18-5\")]", &format!("cable: \"18-5\", plan: \"pair\", measured: \"{feet} ft\")]")),
        ]),
    )
    .unwrap()
    .0;
    job.boxes[0].controls.clear();
    job.boxes[0].allowance_watts = Some(studbay::units::Watts::new(watts).unwrap());
    Design::derive(job)
}

#[test]
fn a_hundred_feet_of_one_pair_carry_so_much() {
    // Most power through R at Vs is Vs^2 / 4R: 576 / (4 * 1.554) = 92.66 W at 24 V, whatever the output could give.
    let design = pair_to_an_allowance(24, 100, 90.0);
    assert_eq!(run_study(&design, 0).outcome, Outcome::Solved);
    let limits = run_limits(&design.job, &design.index, &design.network, 0).unwrap();
    assert!(close(limits.max_watts.unwrap(), 576.0 / (4.0 * 1.554), 1e-8), "{limits:?}");
    assert_eq!(run_study(&pair_to_an_allowance(24, 100, 92.7), 0).outcome, Outcome::NoSolution);
    // At 48 V the same pair delivers 93 W of the output's 100.
    let design = pair_to_an_allowance(48, 100, 93.0);
    let watts = run_study(&design, 0).source_watts.unwrap();
    // I = (48 - sqrt(48^2 - 4 * 1.554 * 93)) / (2 * 1.554), the smaller root.
    let amps = (48.0 - (48.0_f64 * 48.0 - 4.0 * 1.554 * 93.0).sqrt()) / (2.0 * 1.554);
    assert!(close(watts, 48.0 * amps, 1e-8) && watts < 100.0, "{watts}");
}

#[test]
fn rules_of_thumb_hold() {
    // Common practice, no source: a bedroom of 160 ft2 is well lit by four 6 W fixtures and a room of 300 ft2 by
    // eight, 0.15 and 0.16 W on each square foot.
    let design = design_with(&[]);
    let bedroom = &design.job.levels[0].rooms[1];
    assert!(close(bedroom.area.unwrap().value(), 160.0, SUMS));
    let lit: f64 = run_study(&design, 0).lights.iter().map(|light| light.watts.unwrap()).sum();
    assert!(close(lit, 24.0, SUMS), "{lit} W");
    assert!(close(4.0 * 6.0 / 160.0, 8.0 * 6.0 / 300.0, 0.07), "the two rules agree");
    for name in SAMPLES {
        let design = sample(name);
        let settings = &design.job.settings;
        // Common practice, no source: 10 to 20 in of slack in each ceiling box.
        let slack = settings.makeup_ceiling_box.feet() * 12.0;
        assert!((10.0..=20.0).contains(&slack), "{name}: {slack} in");
        // Common practice, no source: a home run goes to about 100 ft, and its output gives up to 100 W.
        assert!((settings.longest_home_run.feet() - 100.0).abs() <= 20.0, "{name}");
        if name == "usual-mistakes" {
            continue;
        }
        for output in &design.study.outputs {
            assert!(
                output.watts.unwrap() <= 100.0 && output.limit_watts.unwrap() <= 100.0,
                "{name}: {output:?}"
            );
        }
        // By the same rule the bedrooms of the samples: none has a third less or two fifths more on a square foot.
        let rooms = design.job.levels.iter().flat_map(|level| &level.rooms);
        for room in rooms.filter(|room| room.name.contains("edroom") && !room.name.contains("closet")) {
            let (Some(area), Some(watts)) = (room.area, watts_in(&design, &room.id)) else { continue };
            let each = watts / area.value();
            assert!((0.10..=0.21).contains(&each), "{name}: {} has {each} W/ft2", room.id);
        }
    }
}

/// Watts of the fixtures in a room; none if it has none.
fn watts_in(design: &Design, room: &studbay::job::Id) -> Option<f64> {
    let of_run = design.study.runs(&design.network).flat_map(|run| &run.lights);
    let here = of_run.filter(|light| {
        let ceiling = &wired(&design.job, light.at).ceiling[light.ceiling];
        ceiling.room.as_ref().unwrap_or(&design.job.boxes[light.at.control.wall_box].room) == room
    });
    let watts: Vec<f64> = here.map(|light| light.watts.unwrap()).collect();
    (!watts.is_empty()).then(|| watts.iter().sum())
}

/// What must hold for the study of any job.
fn lawful(design: &Design, name: &str) {
    for run in design.study.runs(&design.network) {
        let id = &design.network.runs[run.run].id;
        let all = run.lights.iter().flat_map(|l| [l.volts, l.amps, l.watts, l.drop_volts, l.drop_percent]);
        let all = all.chain(run.cables.iter().flat_map(|cable| [cable.amps, cable.loss_watts]));
        let all = all.chain(run.feed_volts.iter().map(|(_, volts)| *volts));
        let all = all.chain([run.source_amps, run.source_watts, run.loss_watts, run.control_watts]);
        for figure in all.flatten() {
            assert!(figure.is_finite() && figure >= -1e-9, "{name}: {figure} on {id}");
        }
        if run.outcome != Outcome::Solved {
            assert_eq!(
                (run.source_watts, run.source_amps, run.loss_watts),
                (None, None, None),
                "{name}: {id}"
            );
            assert!(run.lights.iter().all(|light| light.volts.is_none() && light.watts.is_none()));
            continue;
        }
        let lights: f64 = run.lights.iter().map(|light| light.watts.unwrap()).sum();
        let out =
            lights + run.loss_watts.unwrap() + run.control_watts.unwrap() + run.allowance_watts.unwrap();
        let watts = run.source_watts.unwrap();
        assert!(
            (watts - out).abs() <= SUMS * watts.max(1.0),
            "{name}: run {id} gives {watts} W, {out} W arrive"
        );
        assert!(run.loss_watts.unwrap() < watts.max(1e-9));
    }
    for output in &design.study.outputs {
        let runs: Option<f64> = output.runs.iter().map(|&run| run_study(design, run).source_watts).sum();
        assert_eq!(output.watts.is_some(), runs.is_some());
        if let (Some(watts), Some(runs)) = (output.watts, runs) {
            assert!(close(watts, runs, SUMS) || watts.abs() < 1e-12, "{name}: {}", output.output);
        }
    }
    for panel in &design.study.panels {
        if let (Some(ac), Some(out)) = (panel.ac_watts, panel.output_watts) {
            assert!(ac >= out && close(panel.heat_watts.unwrap(), ac - out, SUMS));
        }
    }
}

/// A study after one change to each part in turn equals a full one.
fn restudies(job: &Job, parts: impl Iterator<Item = usize>) {
    let (index, _) = Index::new(job);
    let network = Network::new(job, &index);
    let before = Study::new(job, &index, &network);
    for part in parts {
        let at = network.runs[network.parts[part].runs[0]].feeds[0];
        let mut changed = job.clone();
        let feed = &mut changed.boxes[at.wall_box].feeds[at.feed];
        feed.measured = Some(feet(if feed.measured.is_some() { 31.0 } else { 77.5 }));
        let (index, _) = Index::new(&changed);
        let network = Network::new(&changed, &index);
        let full = Study::new(&changed, &index, &network);
        assert_eq!(
            bits(&before.clone().restudy(&changed, &index, &network, &[part])),
            bits(&full),
            "part {part}"
        );
    }
}

fn rename(job: &mut Job) {
    job.project.title = "another".into();
    for (at, wall_box) in job.boxes.iter_mut().enumerate() {
        wall_box.name = format!("box {at}");
        wall_box.feeds.iter_mut().for_each(|feed| feed.name = "way up".into());
        wall_box.controls.iter_mut().for_each(|control| control.name = "knob".into());
    }
    for run in loops(job) {
        run.name = "ring".into();
        run.ceiling.iter_mut().for_each(|ceiling| ceiling.name = "lamp".into());
    }
    job.levels.iter_mut().flat_map(|level| &mut level.rooms).for_each(|room| room.name = "den".into());
    job.catalogue.fixtures.iter_mut().for_each(|part| part.name = "bright".into());
}

#[test]
fn the_laws_hold_for_every_sample() {
    for name in SAMPLES {
        let design = sample(name);
        lawful(&design, name);
        let solved = design.study.runs(&design.network).filter(|run| run.outcome == Outcome::Solved).count();
        assert!(solved * 3 > design.network.runs.len(), "{name}: only {solved} runs say anything");
        let mut renamed = design.job.clone();
        rename(&mut renamed);
        assert_eq!(bits(&Design::derive(renamed).study), bits(&design.study), "{name}");
        let text = write::to_string(&design.job).unwrap();
        assert_eq!(bits(&design_of(&text).study), bits(&design.study), "{name}");
        let parts = design.network.parts.len();
        restudies(&design.job, (0..parts).step_by(parts.div_ceil(12)));
    }
}

/// The study of a job with every loop on the given path, and its legs measured so that only the path differs.
fn with_paths(job: &Job, path: LoopPath) -> Design {
    let mut job = job.clone();
    for run in loops(&mut job) {
        run.path = path;
        run.measured = None;
        run.return_leg = path.returns().then(|| feet(23.0));
        for (at, ceiling) in run.ceiling.iter_mut().enumerate() {
            ceiling.leg = Some(feet(if at == 0 { 17.0 } else { 9.0 }));
        }
    }
    Design::derive(job)
}

/// Volts of every light on a voltage drive of every run that solves.
fn parallel_volts(design: &Design) -> Vec<(usize, Vec<f64>)> {
    let solved = design.study.runs(&design.network).filter(|run| run.outcome == Outcome::Solved);
    let volts = |run: &RunStudy| {
        let volts =
            run.lights.iter().filter(|light| light.drop_volts.is_some()).filter_map(|light| light.volts);
        (run.run, volts.collect())
    };
    solved.map(volts).collect()
}

fn on_voltage_drives(job: &Job) -> Job {
    let mut job = job.clone();
    for wall_box in &mut job.boxes {
        wall_box.controls.retain(|control| control.part.as_str() == "dim-10");
    }
    job
}

proptest! {
    #![proptest_config(ProptestConfig::default())]

    #[test]
    fn the_laws_hold_for_any_job(text in random_jobs::job()) {
        let design = design_of(&text);
        lawful(&design, "random");
        let mut renamed = design.job.clone();
        rename(&mut renamed);
        prop_assert_eq!(bits(&Design::derive(renamed).study), bits(&design.study));
        let saved = write::to_string(&design.job).unwrap();
        prop_assert_eq!(bits(&design_of(&saved).study), bits(&design.study));
        restudies(&design.job, 0..design.network.parts.len());
    }

    #[test]
    fn a_loop_fed_from_both_ends_never_does_worse(text in random_jobs::job()) {
        // Without plain resistances: those draw more at more volts, and then another light of the run, nearer the
        // panel, may see a few millivolts less than before.
        let job = on_voltage_drives(&design_of(&text.replace("\"bulb\"),", "\"amp\"),")).job);
        let one_way = parallel_volts(&with_paths(&job, LoopPath::OneWay));
        let both = with_paths(&job, LoopPath::Returned);
        for (run, volts) in one_way {
            let better = run_study(&both, run);
            prop_assert_eq!(&better.outcome, &Outcome::Solved, "what solved one way solves from both ends");
            for (one, both) in volts.iter().zip(better.lights.iter().filter_map(|light| light.volts)) {
                prop_assert!(both >= one - 1e-9, "{both} V from both ends, {one} V one way");
            }
        }
    }

    #[test]
    fn a_capped_return_changes_no_volts(text in random_jobs::job()) {
        let job = on_voltage_drives(&design_of(&text).job);
        let one_way = parallel_volts(&with_paths(&job, LoopPath::OneWay));
        prop_assert_eq!(one_way, parallel_volts(&with_paths(&job, LoopPath::ReturnedCapped)));
    }

    #[test]
    fn doubling_the_conductors_halves_their_resistance(text in random_jobs::job(), half in 5..90_u16) {
        // Twice the length of doubled conductors is the same run as once the length of single ones.
        let of = |plan: &str, length: u16| {
            let mut job = design_of(&text).job;
            for feed in job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds) {
                feed.plan = Some(plan.parse().unwrap());
                feed.measured = Some(feet(f64::from(length)));
            }
            Design::derive(job)
        };
        let (single, doubled) = (of("pair", half), of("home-run", 2 * half));
        for (one, other) in single.study.runs(&single.network).zip(doubled.study.runs(&doubled.network)) {
            prop_assert_eq!(&one.outcome, &other.outcome);
            if let (Some(one), Some(other)) = (one.source_watts, other.source_watts) {
                prop_assert!(close(one, other, SUMS) || one.abs() < 1e-12, "{one} {other}");
            }
        }
    }
}

#[test]
fn the_random_jobs_say_something() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut counts = [0_usize; 4];
    for _ in 0..200 {
        let design = design_of(&random_jobs::job().new_tree(&mut runner).unwrap().current());
        for run in design.study.runs(&design.network) {
            counts[0] += usize::from(run.outcome == Outcome::Solved && !run.lights.is_empty());
            counts[1] += usize::from(run.outcome == Outcome::NoSolution);
            counts[2] += run.strings.len();
            counts[3] += usize::from(run.feed_volts.len() > 1);
        }
    }
    let [solved, collapsed, strings, onward] = counts;
    assert!(solved > 200 && collapsed > 0 && strings > 50 && onward > 30, "{counts:?}");
}
