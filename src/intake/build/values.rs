//! Reads the figures of cells, with the job's unit where none is typed.

use crate::intake::cells::short;
use crate::job::wiring::{LoopPath, OutputRef, Source};
use crate::job::{Index, Job, Kind};
use crate::units::{Area, Illuminance, Length, LengthUnit};

pub(super) fn length(text: &str, unit: LengthUnit) -> Result<Length, String> {
    Length::parse(text, Some(unit)).map_err(|error| error.to_string())
}

/// A length of a side or a height, which is not nothing.
pub(super) fn side(text: &str, unit: LengthUnit) -> Result<Length, String> {
    match length(text, unit)? {
        length if length.ticks() == 0 => Err("this cannot be 0; leave it empty while it is not known".into()),
        length => Ok(length),
    }
}

pub(super) fn area(text: &str, unit: LengthUnit) -> Result<Area, String> {
    let (number, word) = parted(text);
    let bare = if unit == LengthUnit::Feet { "ft2" } else { "m2" };
    let word = match word.to_lowercase().replace([' ', '.'], "").as_str() {
        "" => bare,
        "ft2" | "sqft" | "sf" | "ft²" | "ft^2" | "squarefeet" => "ft2",
        "m2" | "sqm" | "m²" | "m^2" | "squaremetres" | "squaremeters" => "m2",
        _ => return Err(format!("'{}' is no area: write it like 160 ft2 or 15 m2", short(text))),
    };
    format!("{number} {word}").parse().map_err(|error: crate::units::BadMeasure| error.to_string())
}

pub(super) fn illuminance(text: &str, unit: LengthUnit) -> Result<Illuminance, String> {
    let (number, word) = parted(text);
    let bare = if unit == LengthUnit::Feet { "fc" } else { "lx" };
    let word = match word.to_lowercase().as_str() {
        "" => bare,
        "lx" | "lux" => "lx",
        "fc" | "footcandles" | "foot-candles" => "fc",
        _ => return Err(format!("'{}' is no illuminance: write it like 100 lx or 10 fc", short(text))),
    };
    format!("{number} {word}").parse().map_err(|error: crate::units::BadMeasure| error.to_string())
}

fn parted(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    (&text[..end], text[end..].trim())
}

pub(super) fn count(text: &str, most: usize) -> Result<usize, String> {
    // A spreadsheet may write whole numbers with decimals.
    let whole =
        text.split_once('.').filter(|(_, part)| part.chars().all(|c| c == '0')).map_or(text, |(w, _)| w);
    let number = whole.parse().ok().filter(|number| *number <= most);
    number.ok_or_else(|| format!("'{}' must be a whole number from 0 to {most}", short(text)))
}

pub(super) fn path(text: &str) -> Result<LoopPath, String> {
    match text.to_lowercase().replace([' ', '_', '-'], "").as_str() {
        "oneway" => Ok(LoopPath::OneWay),
        "capped" | "returnedcapped" => Ok(LoopPath::ReturnedCapped),
        "returned" => Ok(LoopPath::Returned),
        _ => Err(format!("'{}' is no path: write one-way, capped or returned", short(text))),
    }
}

/// Where a home run comes from; `None` for none.
pub(super) fn source(job: &Job, index: &Index, text: &str) -> Result<Option<Source>, String> {
    if text.eq_ignore_ascii_case("none") {
        return Ok(None);
    }
    if let Ok(output) = text.parse::<OutputRef>() {
        let Some((_, supply)) = index.supply(job, &output.supply) else {
            return Err(format!("there is no supply '{}' in this job", output.supply));
        };
        let outputs = index.supply_type(job, &supply.part).map_or(u8::MAX, |part| part.outputs.get());
        if output.number > outputs {
            return Err(format!("supply '{}' has {outputs} outputs", output.supply));
        }
        return Ok(Some(Source::Output(output)));
    }
    let panel = job.panels.iter().find(|panel| panel.id.as_str().eq_ignore_ascii_case(text));
    let known = || match job.panels.as_slice() {
        [] => "this job has no panel yet; write 'none'".to_owned(),
        panels => {
            let ids: Vec<&str> = panels.iter().map(|panel| panel.id.as_str()).collect();
            format!("write a {} ({}), an output like PS1.2, or 'none'", Kind::Panel.word(), ids.join(", "))
        }
    };
    panel
        .map(|panel| Some(Source::Panel(panel.id.clone())))
        .ok_or_else(|| format!("'{}' is no panel or output; {}", short(text), known()))
}
