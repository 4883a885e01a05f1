//! The balance at the keyboard: the desk, the search beside it, moving and pinning with one key.

use crate::support::{sample, snapshots};
use crate::views::Shown;
use insta::assert_snapshot;
use proptest::prelude::*;
use studbay::design::Design;
use studbay::job::Job;
use studbay::job::wiring::Source;
use studbay::plan::balance::{News, Options, propose, search};
use studbay::terminal::{Key, KeyCode};
use studbay::tui::action::Effect;
use studbay::tui::{App, NoLedger};

/// The views on a job at the loading of its outputs, at 80x24.
fn at_loading(job: Job) -> Shown {
    let app = App::new(Design::derive(job), "house.ron", Box::new(NoLedger));
    let mut shown = Shown::of(app, 80, 24);
    shown.press("2");
    shown
}

/// The two-story house with every home run on its terminals.
fn landed() -> Job {
    let mut job = sample("two-story").job;
    for feed in job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds) {
        feed.landed = !matches!(feed.from, Source::Onward(_));
    }
    job
}

/// Searches as the loop of the views does, without its thread; gives how many plans came.
fn searched(shown: &mut Shown) -> usize {
    let (design, asked) = shown.app.search_task().unwrap();
    let mut plans = 0;
    search(&design, &asked, &mut |news| {
        plans += usize::from(matches!(news, News::Better(_)));
        shown.app.search_news(news);
        true
    });
    shown.draw();
    plans
}

fn code(shown: &mut Shown, code: KeyCode) -> Effect {
    shown.key(Key::new(code))
}

#[test]
fn a_balance_is_seen_before_it_is_taken_and_can_be_taken_back() {
    let mut shown = at_loading(sample("two-story").job);
    let before = shown.app.design().job.clone();
    assert_eq!(shown.key(Key::char('B')), Effect::Search);
    assert!(shown.text().contains("searching for a first answer"), "{}", shown.text());
    assert!(searched(&mut shown) >= 2, "a good answer at once, and the best later");
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("desk_80x24", shown.faces());
    assert_eq!(shown.app.design().job, before, "nothing changes before it is taken");
    // It is what the command line proposes.
    let proposal = propose(shown.app.design(), &Options::default());
    assert_eq!(shown.key(Key::char('y')), Effect::EndSearch);
    let design = shown.app.design();
    for output in proposal.outputs.iter().filter(|output| !output.runs.is_empty()) {
        let study = design.study.outputs.iter().find(|own| own.output.to_string() == output.output).unwrap();
        assert_eq!(study.runs.len(), output.runs.len(), "{}", output.output);
    }
    shown.press("u");
    assert_eq!(shown.app.design().job, before);
}

#[test]
fn another_point_of_the_curve_is_chosen_and_what_is_shown_is_what_is_done() {
    let mut shown = at_loading(landed());
    shown.press("B");
    searched(&mut shown);
    let usual = shown.text();
    assert!(usual.contains("landed wires moved") && usual.contains("]*"), "{usual}");
    code(&mut shown, KeyCode::Left);
    let fewer = shown.text();
    assert_ne!(fewer, usual);
    let chosen = |text: &str| -> u32 {
        let (_, rest) = text.split_once('[').unwrap().1.split_once("moved").unwrap();
        rest.split_once('[').unwrap().1.split_once(']').unwrap().0.parse().unwrap()
    };
    let moves = chosen(&fewer);
    assert!(moves < chosen(&usual), "{fewer}");
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("desk_landed_80x24", fewer);
    let before = shown.app.design().clone();
    let supplies = |design: &Design| design.job.panels[0].supplies.len();
    // Supplies left with nothing are taken out if that is asked for, in the same edit.
    shown.press("oy");
    let after = shown.app.design();
    assert!(supplies(after) < supplies(&before));
    let moved = before.network.runs.iter().filter(|run| {
        let now = after.network.run(&run.id).unwrap();
        after.network.runs[now].output != run.output
    });
    assert_eq!(moved.count(), usize::try_from(moves).unwrap());
    shown.press("u");
    assert_eq!(shown.app.design().job, before.job);
}

#[test]
fn enough_keeps_the_best_so_far_and_drop_changes_nothing() {
    let mut shown = at_loading(landed());
    let before = shown.app.design().job.clone();
    shown.press("B");
    let (design, asked) = shown.app.search_task().unwrap();
    // A person says enough as soon as there is an answer.
    let mut over = false;
    search(&design, &asked, &mut |news| {
        let first = matches!(news, News::Better(_));
        over |= matches!(news, News::Done);
        shown.app.search_news(news);
        if first {
            assert_eq!(code(&mut shown, KeyCode::Esc), Effect::EndSearch);
            return false;
        }
        true
    });
    assert!(over);
    shown.draw();
    assert!(shown.text().contains("y:take it"), "{}", shown.text());
    shown.press("\x1b");
    assert!(shown.text().contains("percent of limit"), "{}", shown.text());
    assert_eq!(shown.app.design().job, before);
}

#[test]
fn what_if_is_answered_and_changes_nothing() {
    let mut shown = at_loading(sample("two-story").job);
    let before = shown.app.design().job.clone();
    let mut text = String::new();
    for question in ["H\r", "H\x7f", "Hlose"] {
        match question {
            "H\r" => shown.press("H\r"),
            "H\x7f" => {
                shown.press("H");
                code(&mut shown, KeyCode::Backspace);
                shown.press("\r");
            }
            _ => shown.press("3H\r"),
        }
        searched(&mut shown);
        text += &shown.text();
        assert!(!shown.text().contains("y:take it"), "{}", shown.text());
        shown.press("\x1b");
    }
    for nonsense in ["lose PS99", "many", "-5", "nan"] {
        shown.press("H");
        shown.key(Key { ctrl: true, ..Key::char('u') });
        shown.press(nonsense);
        assert_eq!(code(&mut shown, KeyCode::Enter), Effect::None, "{nonsense}");
        assert!(shown.text().contains("[3 Slots]"), "{}", shown.text());
    }
    assert_eq!(shown.app.design().job, before);
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("what_if_80x24", text);
}

#[test]
fn a_run_moves_with_one_key_and_stays_pinned_with_another() {
    let mut shown = at_loading(sample("two-story").job);
    let before = shown.app.design().clone();
    let output = |shown: &Shown, run: usize| shown.app.design().network.runs[run].output.clone().unwrap();
    shown.press("j");
    let run = before.study.outputs[0].runs[0];
    shown.press(">");
    assert_eq!(output(&shown, run), before.study.outputs[1].output);
    let [from, to] = [0, 1].map(|at| shown.app.design().study.outputs[at].watts.unwrap());
    let text = shown.text().split_whitespace().collect::<Vec<_>>().join(" ");
    for (at, now) in [(0, from), (1, to)] {
        let was = before.study.outputs[at].watts.unwrap();
        let said = format!("{} {was:.1} W -> {now:.1} W", before.study.outputs[at].output);
        assert!(text.contains(&said), "{said} in {text}");
    }
    // The cursor went with it, so that the key can be pressed again and back.
    shown.press("><<");
    assert_eq!(output(&shown, run), before.study.outputs[0].output);
    shown.press("<");
    assert!(shown.text().contains("is on the first output"), "{}", shown.text());
    assert_eq!(shown.app.design().job, before.job);
    shown.press("P");
    assert!(shown.text().contains("pinned"), "{}", shown.text());
    let pinned = |shown: &Shown| {
        let feeds = shown.app.design().job.boxes.iter().flat_map(|wall_box| &wall_box.feeds);
        feeds.filter(|feed| feed.pinned).count()
    };
    assert_eq!(pinned(&shown), 1);
    shown.press("P");
    assert_eq!(pinned(&shown), 0);
    // On an output it takes all of its runs; in the panel it takes the supply.
    shown.press("gP");
    assert_eq!(pinned(&shown), before.study.outputs[0].runs.len());
    shown.press("3P");
    assert!(shown.app.design().job.panels[0].supplies[0].pinned);
    shown.press("uuuuu");
}

#[test]
fn what_does_not_fit_is_said_in_the_view_too() {
    let mut shown = at_loading(sample("usual-mistakes").job);
    assert_eq!(shown.key(Key::char('B')), Effect::None, "there is nothing to search");
    let text = shown.text();
    assert!(text.contains("Nothing is proposed:") && text.contains("do: "), "{text}");
    shown.press("\x1b");
    assert!(shown.text().contains("percent of limit"));
}

#[test]
fn panels_are_arranged_as_one_edit() {
    let mut job = sample("large-house").job;
    job.panels[0].supplies[0].slot = None;
    let mut shown = at_loading(job.clone());
    shown.press("S");
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("arrange_80x24", shown.text());
    shown.press("y");
    assert!(shown.app.design().job.panels[0].supplies[0].slot.is_some());
    shown.press("u");
    assert_eq!(shown.app.design().job, job);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases / 5, ..ProptestConfig::default() })]

    #[test]
    fn no_size_and_no_key_breaks_the_desk(
        keys in prop::collection::vec(prop::sample::select("hlkjoygG \x1bPB".chars().collect::<Vec<_>>()), 0..20),
        sizes in prop::collection::vec((0..=140_u16, 0..=60_u16), 1..4),
    ) {
        let mut shown = at_loading(sample("cottage").job);
        shown.press("B");
        searched(&mut shown);
        for (width, height) in sizes {
            shown.resize(width, height);
            for key in &keys {
                shown.press(&key.to_string());
            }
        }
    }
}
