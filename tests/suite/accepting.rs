//! Accepting a finding in the views: by name and reason, undone and taken back, and back again when it gets worse.

use crate::support::{design_with, sample};
use crate::views::Shown;
use studbay::checks;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::tui::{App, NoLedger};

/// The starter with so little target that its output is over it.
fn over_target() -> Design {
    design_with(&[("target_load_percent: 80", "target_load_percent: 20"), ("by: \"\"", "by: \"M. Osei\"")])
}

fn shown(design: Design) -> Shown {
    let mut shown = Shown::of(App::new(design, "house.ron", Box::new(NoLedger)), 80, 24);
    shown.press("5");
    shown
}

fn accepted_now(shown: &Shown) -> usize {
    shown.app.design().job.accepted.len()
}

#[test]
fn a_finding_is_accepted_by_name_with_a_reason_and_taken_back() {
    let mut shown = shown(over_target());
    assert!(shown.text().contains("warning  over-target"), "{}", shown.text());
    shown.press("Y");
    assert!(shown.text().contains("Accept over-target of output PS1.1"), "{}", shown.text());
    // The maker of the job is proposed; without a reason it is refused and the form stays.
    assert!(shown.text().contains("M. Osei"));
    shown.press("\r");
    assert!(shown.text().contains("say why"), "{}", shown.text());
    shown.press("never all on\r");
    let text = shown.text();
    assert!(text.contains("accepted") && text.contains("over-target"), "{text}");
    assert_eq!(accepted_now(&shown), 1, "{text}");
    let accepted = |shown: &Shown| shown.app.design().job.accepted.clone();
    let all = accepted(&shown);
    assert_eq!((all.len(), all[0].by.as_str(), all[0].reason.as_str()), (1, "M. Osei", "never all on"));
    shown.press("u");
    assert!(accepted(&shown).is_empty());
    shown.press("U");
    assert_eq!(accepted(&shown).len(), 1);
    // The same key on what is accepted takes it back.
    shown.press("5gY");
    assert!(accepted(&shown).is_empty(), "{}", shown.text());
}

#[test]
fn who_accepted_last_is_proposed_next() {
    let mut design = over_target();
    let finding = design.findings[0].clone();
    let edit = checks::accept(&design.job, &finding, "R. Quill", "seen");
    apply(&mut design.job, edit).unwrap();
    let mut design = Design::derive(design.job);
    assert!(design.findings[0].accepted.is_some());
    let edit = checks::refuse(&design.job, &design.findings[0]);
    apply(&mut design.job, edit).unwrap();
    assert!(design.job.accepted.is_empty());
    let mut house = sample("usual-mistakes");
    let finding = house.findings[0].clone();
    let edit = checks::accept(&house.job, &finding, "R. Quill", "seen");
    apply(&mut house.job, edit).unwrap();
    let mut shown = shown(Design::derive(house.job));
    shown.press("Y");
    assert!(shown.text().contains("R. Quill"), "{}", shown.text());
}
