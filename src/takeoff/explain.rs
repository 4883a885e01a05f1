//! How a quantity was counted and a cost came about, in words, beside what the study explains of its figures.

use super::price::{Bid, price};
use super::{Material, Source, Task};
use crate::design::Design;
use crate::explain::NoFigure;
use crate::format::Text;
use crate::format::{self, UNKNOWN};
use crate::job::read::nearest;
use rust_decimal::Decimal;
use std::fmt::Write;

/// Things that are named in one line.
const IN_A_LINE: usize = 8;

/// How figures of a design came about: those of the takeoff here, all others as the study took them down.
///
/// # Errors
/// [`NoFigure`] when nothing of a name is computed, or it is unknown in this job.
pub fn explain(design: &Design, names: &[String]) -> Result<String, NoFigure> {
    let of_takeoff = |name: &str| ["materials/", "labor/"].iter().any(|start| name.starts_with(start));
    if !names.iter().any(|name| of_takeoff(name)) {
        let mut text = crate::explain::explain(design, names)?;
        if names.is_empty() {
            text += &listed(&price(design));
        }
        return Ok(text);
    }
    let bid = price(design);
    let mut texts = Vec::new();
    for name in names {
        texts.push(if of_takeoff(name) {
            // The names of parts are what somebody typed.
            let text = one(design, &bid, name)?;
            text.lines().fold(String::new(), |clean, line| clean + Text::from(line).as_str() + "\n")
        } else {
            crate::explain::explain(design, std::slice::from_ref(name))?
        });
    }
    Ok(texts.join("\n"))
}

/// The names there are.
fn listed(bid: &Bid) -> String {
    all_names(bid).into_iter().fold(String::new(), |text, name| text + &name + "\n")
}

fn all_names(bid: &Bid) -> Vec<String> {
    let parts = bid.takeoff.materials.iter().map(|made| made.key.clone());
    let cables = bid.takeoff.cables.iter().map(|cable| cable.part.id.clone());
    let of_parts = parts
        .chain(cables)
        .flat_map(|key| ["quantity", "cost"].map(|figure| format!("materials/{key}/{figure}")));
    let of_labor = bid
        .takeoff
        .labor
        .iter()
        .flat_map(|task| ["count", "hours", "cost"].map(|figure| format!("labor/{}/{figure}", task.key)));
    of_parts.chain(of_labor).collect()
}

fn one(design: &Design, bid: &Bid, name: &str) -> Result<String, NoFigure> {
    let unnamed = || {
        let names = all_names(bid);
        let hint = nearest(name, names.iter().map(String::as_str));
        let hint = hint.unwrap_or_else(|| "write materials/PART/quantity or labor/TASK/hours".into());
        NoFigure::Unnamed { name: name.to_owned(), hint }
    };
    let mut parts = name.split('/');
    let (Some(kind), Some(key), Some(figure), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(unnamed());
    };
    let found = match (kind, figure) {
        ("materials", "quantity" | "cost") => {
            let part = bid.takeoff.materials.iter().find(|made| made.key.eq_ignore_ascii_case(key));
            let cable = bid.takeoff.cables.iter().find(|cable| cable.part.id.eq_ignore_ascii_case(key));
            match (part, cable) {
                (Some(made), _) => Some(material(made, figure)),
                (None, Some(cable)) => Some(self::cable(design, cable, figure)),
                (None, None) => None,
            }
        }
        ("labor", "count" | "hours" | "cost") => {
            let task = bid.takeoff.labor.iter().find(|task| task.key.eq_ignore_ascii_case(key));
            task.map(|task| self::task(design, task, figure))
        }
        _ => None,
    };
    found.ok_or_else(unnamed)
}

fn material(made: &Material, figure: &str) -> String {
    let mut text = format!("materials/{}/quantity = {}\n", made.key, made.quantity);
    let _ = writeln!(text, "  {} of {}", made.quantity, made.name);
    let _ = writeln!(
        text,
        "  = {} counted, and {} % of it for waste, to the nearest whole piece",
        plain(made.counted),
        made.waste_percent
    );
    if made.uncounted > 0 {
        let _ = writeln!(text, "  and {} things whose size is unknown are not in it", made.uncounted);
    }
    sources(&mut text, &made.from);
    if figure == "cost" {
        let pack = made.pack.map_or_else(|| "a piece".to_owned(), |pack| format!("a pack of {pack}"));
        let _ = writeln!(text, "materials/{}/cost = {}", made.key, amount(made.cost));
        let price = format::money(made.price);
        let _ = writeln!(text, "  = {} at {price} for {pack}, to the cent, half a cent up", made.quantity);
    }
    text
}

fn cable(design: &Design, cable: &super::CableMaterial, figure: &str) -> String {
    let unit = design.job.project.units;
    let known = cable.from.iter().filter(|source| source.length.is_some()).count();
    let mut text = format!("materials/{}/quantity = {}\n", cable.part.id, cable.length.shown(unit));
    let _ = writeln!(text, "  {known} cables of {}", cable.name);
    if known < cable.from.len() {
        let _ = writeln!(text, "  and {} of unknown length are not in it", cable.from.len() - known);
    }
    for source in &cable.from {
        let length = source.length.map_or_else(|| UNKNOWN.to_owned(), |length| length.shown(unit));
        let _ = writeln!(text, "  from cable/{}  {length}", source.subject.id);
    }
    if figure == "cost" {
        let _ = writeln!(text, "materials/{}/cost = {}", cable.part.id, amount(cable.cost));
        for reel in &cable.plan.reels {
            let from = match reel.from {
                crate::plan::reels::ReelFrom::Bought(price) => format!("bought at {}", format::money(price)),
                crate::plan::reels::ReelFrom::OnHand(_) => {
                    "on hand; what comes from it at the lowest price for its length".to_owned()
                }
            };
            let _ = writeln!(text, "  reel of {}, {from}", reel.length.shown(unit));
        }
    }
    text
}

fn task(design: &Design, task: &Task, figure: &str) -> String {
    let mut text = format!("labor/{}/count = {}\n", task.key, plain(task.count));
    sources(&mut text, &task.from);
    if figure != "count" {
        let each = task.hours_each.map_or_else(|| UNKNOWN.to_owned(), plain);
        let hours = task.hours.map_or_else(|| UNKNOWN.to_owned(), plain);
        let _ = writeln!(text, "labor/{}/hours = {hours}", task.key);
        let _ = writeln!(text, "  = {} times {each} h to {}", plain(task.count), task.name);
    }
    if figure == "cost" {
        let rate = format::money(design.job.estimate.hourly_rate.map(crate::units::Money::amount));
        let _ = writeln!(text, "labor/{}/cost = {}", task.key, amount(task.cost));
        let _ = writeln!(text, "  = those hours at {rate}, to the cent, half a cent up");
    }
    text
}

fn sources(text: &mut String, from: &[Source]) {
    // Things that need as much each stand together.
    let mut at = 0;
    while let Some(first) = from.get(at) {
        let alike = from[at..]
            .iter()
            .take_while(|source| {
                source.quantity == first.quantity && source.subject.kind == first.subject.kind
            })
            .count();
        for line in from[at..at + alike].chunks(IN_A_LINE) {
            let ids: Vec<&str> = line.iter().map(|source| source.subject.id.as_str()).collect();
            let each = plain(first.quantity);
            let _ = writeln!(text, "  from {} {}  {each} each", first.subject.kind.word(), ids.join(" "));
        }
        at += alike;
    }
}

fn plain(figure: Decimal) -> String {
    figure.normalize().to_string()
}

fn amount(amount: super::Amount) -> String {
    match amount.exact() {
        Some(exact) => format::money(Some(exact)),
        None => format!(
            "at least {}, {} figures missing",
            format::money(Some(amount.at_least())),
            amount.missing()
        ),
    }
}
