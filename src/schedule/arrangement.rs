//! What is proposed about panels, in lines for people.

use super::proposal::count_of;
use crate::format::Quantity;
use crate::plan::slots::Arrangement;
use crate::units::LengthUnit;

/// By definition since 1959 (international yard and pound agreement).
const METRES_PER_FOOT: f64 = 0.3048;

/// Slots, outputs, free slots and panels, before and after.
pub fn lines(found: &Arrangement) -> Vec<String> {
    let mut lines = slot_lines(found);
    lines.push(String::new());
    lines.extend(panel_lines(found));
    lines
}

fn slot_lines(found: &Arrangement) -> Vec<String> {
    let plan = &found.slots;
    let mut lines = Vec::new();
    if plan.moves.is_empty() {
        lines.push("slots: every supply stays where it is".to_owned());
    } else {
        lines.push(format!("slots: {} change", count_of(plan.moves.len(), "supply", "supplies")));
    }
    lines.extend(plan.moves.iter().map(|one| {
        let from = one.from.map_or_else(|| "none".to_owned(), |slot| slot.to_string());
        format!("  {:12} panel {}: slot {from} -> {}", one.supply, one.panel, one.to)
    }));
    if !plan.outputs.is_empty() {
        let runs = count_of(plan.outputs.len(), "home run", "home runs");
        lines.push(format!("outputs in the order of the house: {runs} not landed yet change"));
    }
    lines.extend(plan.outputs.iter().map(|one| format!("  {:12} {:>8} -> {}", one.run, one.from, one.to)));
    for free in &plan.free {
        let kept = if free.kept_free > 0 {
            format!("; {} to be kept free in this panel", free.kept_free)
        } else {
            String::new()
        };
        lines.push(if free.first == free.last {
            format!("free then: slot {} of panel {}{kept}", free.first, free.panel)
        } else {
            format!("free then: slots {}-{} of panel {}{kept}", free.first, free.last, free.panel)
        });
    }
    lines.extend(plan.problems.iter().map(|problem| format!("! {}; {}", problem.what, problem.remedy)));
    lines
}

fn panel_lines(found: &Arrangement) -> Vec<String> {
    let plan = &found.panels;
    let feet = |feet: f64| match plan.units {
        LengthUnit::Feet => Quantity::Feet.shown(Some(feet)),
        LengthUnit::Metres => Quantity::Metres.shown(Some(feet * METRES_PER_FOOT)),
    };
    let mut lines = vec![if plan.changes.is_empty() {
        format!("panels: every home run comes from the right one, {} of cable in all", feet(plan.before_ft))
    } else {
        format!(
            "panels: {} would come from another, {} of cable in all instead of {} (none below {})",
            count_of(plan.changes.len(), "home run", "home runs"),
            feet(plan.after_ft),
            feet(plan.before_ft),
            feet(plan.bound_ft)
        )
    }];
    lines.extend(plan.changes.iter().map(|one| {
        format!(
            "  {:12} {} -> {}, {} instead of {}",
            one.run,
            one.from,
            one.to,
            feet(one.after_ft),
            feet(one.before_ft)
        )
    }));
    lines.extend(plan.new_panels.iter().map(|new| {
        let why = if new.for_slots { "the slots there are do not do" } else { "home runs are too long" };
        format!(
            "one more panel, since {why}: in room {} near {}, for {} (longest {})",
            new.room,
            new.near,
            new.runs.join(" "),
            feet(new.longest_ft)
        )
    }));
    lines.extend(plan.problems.iter().map(|problem| format!("! {}; {}", problem.what, problem.remedy)));
    lines
}
