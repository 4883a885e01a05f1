//! How the text in a field becomes what the job file holds, and back.

use super::words::{listed, one_of, spoken};
use crate::job::wiring::OutputRef;
use crate::job::{Id, Job, Kind};
use crate::units::{Length, LengthUnit};
use serde_json::{Value, json};

/// What may stand in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Any words.
    Words,
    /// An id, which can only be chosen while a thing is made.
    Id,
    /// A length as people write it.
    Length,
    /// A number.
    Number,
    /// A whole number.
    Count,
    /// An area; a bare number is taken in the job's unit.
    Area,
    /// A volume; a bare number is taken in the job's unit.
    Volume,
    /// Words with a unit of their own: light, a price.
    Measure,
    /// One of several words.
    Choice(&'static [&'static str]),
    /// One of several forms with fields of their own; the text is the form's name.
    Form(&'static [&'static str]),
    /// Several of some words, with commas between.
    ChoiceMany(&'static [&'static str]),
    /// Yes or no.
    Flag,
    /// A thing of that kind, by id.
    Refer(Kind),
    /// Things of that kind, by id, with commas between.
    ReferMany(Kind),
    /// Where a feed comes from: an output, a panel, or another feed.
    Source,
    /// The conductors of a plan: `red +, black -, white spare`.
    Conductors,
    /// Reels: `500 ft 184.50, 1000 ft`.
    Reels,
    /// Reels with what is left on them: `18-2 420 ft, 18-5 96'6`.
    Leftovers,
    /// Sums of money with what they are for: `Chandelier 450.00 / Mirror 80`.
    Sums,
    /// Lines of text, with ` / ` between.
    Lines,
}

/// Writes and reads one shape.
#[derive(Debug, Clone, Copy)]
pub struct Codec(Shape);

impl Shape {
    /// How this shape is written and read.
    pub const fn codec(self) -> Codec {
        Codec(self)
    }

    /// The words there are to choose one from, as people say them.
    pub fn choices(self) -> Vec<String> {
        match self {
            Self::Choice(words) | Self::Form(words) => words.iter().map(|word| spoken(word)).collect(),
            Self::Flag => vec!["no".into(), "yes".into()],
            _ => Vec::new(),
        }
    }

    /// All the words there are to choose from, one beside the other.
    pub fn all_choices(self) -> Option<String> {
        match self {
            Self::Choice(words) | Self::Form(words) | Self::ChoiceMany(words) => Some(listed(words)),
            Self::Flag => Some("no | yes".into()),
            _ => None,
        }
    }

    /// Whether one of several words stands in it.
    pub const fn is_choice(self) -> bool {
        matches!(self, Self::Choice(_) | Self::Form(_) | Self::Flag)
    }

    /// Whether several things stand in it, one beside the other.
    pub const fn is_list(self) -> bool {
        matches!(
            self,
            Self::ChoiceMany(_) | Self::ReferMany(_) | Self::Conductors | Self::Reels | Self::Lines
        )
    }

    /// The kind of thing that is picked from.
    pub const fn picks(self) -> Option<Kind> {
        match self {
            Self::Refer(kind) | Self::ReferMany(kind) => Some(kind),
            _ => None,
        }
    }
}

/// The functions of conductors, as they are typed and as the file calls them.
const FUNCTIONS: &[(&str, &str)] = &[
    ("+", "Positive"),
    ("-", "Negative"),
    ("string1", "FirstString"),
    ("string2", "SecondString"),
    ("signal", "Signal"),
    ("ground", "Ground"),
    ("spare", "Spare"),
];

impl Codec {
    /// The text for what the job file holds; nothing for what it leaves out.
    pub fn show(self, value: &Value) -> String {
        match (self.0, value) {
            (Shape::Flag, Value::Bool(true)) => "yes".into(),
            (Shape::Flag, _) => "no".into(),
            (_, Value::Null) => String::new(),
            (Shape::Form(_), Value::Object(form)) => {
                form.keys().next().map(|word| spoken(word)).unwrap_or_default()
            }
            (Shape::Source, Value::Object(form)) => match form.iter().next() {
                Some((_, Value::String(of))) => of.clone(),
                _ => String::new(),
            },
            (Shape::Conductors, Value::Array(all)) => joined(all, ", ", |one| {
                let function = one.get("function").and_then(Value::as_str).unwrap_or_default();
                let typed =
                    FUNCTIONS.iter().find(|(_, name)| *name == function).map_or("", |(typed, _)| typed);
                format!("{} {typed}", one.get("name").and_then(Value::as_str).unwrap_or_default())
            }),
            (Shape::Reels, Value::Array(all)) => joined(all, ", ", |one| {
                let part = |key| one.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
                format!("{} {}", part("length"), part("price")).trim_end().to_owned()
            }),
            (Shape::Leftovers, Value::Array(all)) => joined(all, ", ", |one| pair(one, "cable", "left")),
            (Shape::Sums, Value::Array(all)) => joined(all, " / ", |one| pair(one, "name", "amount")),
            (Shape::Lines, Value::Array(all)) => joined(all, " / ", plain),
            (Shape::ReferMany(_), Value::Array(all)) => joined(all, ", ", plain),
            (Shape::ChoiceMany(_), Value::Array(all)) => joined(all, ", ", |word| spoken(&plain(word))),
            (Shape::Choice(_) | Shape::Form(_), Value::String(word)) => spoken(word),
            (_, value) => plain(value),
        }
    }

    /// What the job file holds for a text; null for what it leaves out.
    ///
    /// # Errors
    /// What the text should look like.
    pub fn read(self, job: &Job, text: &str) -> Result<Value, String> {
        let text = text.trim();
        if text.is_empty() && !matches!(self.0, Shape::Words | Shape::Flag) {
            return Ok(Value::Null);
        }
        Ok(match self.0 {
            Shape::Area => Value::String(with_unit(job, text, "ft2", "m2")),
            Shape::Volume => Value::String(with_unit(job, text, "in3", "cm3")),
            Shape::Words | Shape::Measure | Shape::Refer(_) => Value::String(text.to_owned()),
            Shape::Id => Value::String(Id::new(text).map_err(|bad| bad.to_string())?.to_string()),
            Shape::Length => {
                let length = Length::parse(text, Some(job.project.units)).map_err(|bad| bad.to_string())?;
                Value::String(length.written())
            }
            Shape::Number => {
                json!(text.parse::<f64>().ok().filter(|n| n.is_finite()).ok_or("write a number")?)
            }
            Shape::Count => json!(text.parse::<u64>().map_err(|_| "write a whole number")?),
            Shape::Choice(words) => Value::String(one_of(words, text)?.to_owned()),
            Shape::Form(words) => form(words, text)?,
            Shape::Flag => match text.to_lowercase().as_str() {
                "yes" | "y" | "true" => Value::Bool(true),
                "no" | "n" | "false" | "" => Value::Null,
                _ => return Err("write yes or no".into()),
            },
            Shape::ChoiceMany(words) => {
                list(text, ',', |one| Ok(Value::String(one_of(words, one)?.to_owned())))?
            }
            Shape::ReferMany(_) => list(text, ',', |one| Ok(Value::String(one.to_owned())))?,
            Shape::Source => source(job, text)?,
            Shape::Conductors => list(text, ',', conductor)?,
            Shape::Reels => list(text, ',', |one| reel(job, one))?,
            Shape::Leftovers => list(text, ',', |one| leftover(job, one))?,
            Shape::Sums => list(text, '/', sum)?,
            Shape::Lines => list(text, '/', |one| Ok(Value::String(one.to_owned())))?,
        })
    }
}

/// Two texts of a thing, one after the other.
fn pair(one: &Value, first: &str, second: &str) -> String {
    let part = |key| one.get(key).and_then(Value::as_str).unwrap_or_default();
    format!("{} {}", part(first), part(second))
}

/// A bare number with the unit that goes with the job's lengths.
fn with_unit(job: &Job, text: &str, feet: &str, metres: &str) -> String {
    let unit = match job.project.units {
        LengthUnit::Feet => feet,
        LengthUnit::Metres => metres,
    };
    if text.parse::<f64>().is_ok() { format!("{text} {unit}") } else { text.to_owned() }
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn joined(all: &[Value], between: &str, show: impl Fn(&Value) -> String) -> String {
    all.iter().map(show).collect::<Vec<_>>().join(between)
}

fn list(text: &str, between: char, read: impl Fn(&str) -> Result<Value, String>) -> Result<Value, String> {
    let parts = text.split(between).map(str::trim).filter(|part| !part.is_empty());
    parts.map(read).collect::<Result<Vec<_>, _>>().map(Value::Array)
}

/// A form starts with what it cannot be without; the fields below it change that.
fn form(words: &[&str], text: &str) -> Result<Value, String> {
    Ok(match one_of(words, text)? {
        "Power" => json!({"Power": {"watts": 6}}),
        "Current" if words.contains(&"Voltage") => {
            json!({"Current": {"amps": 0.35, "efficiency_percent": 90}})
        }
        "Current" => json!({"Current": {"amps": 0.35}}),
        "Resistance" => json!({"Resistance": {"watts": 6, "at_volts": 24}}),
        "String" => json!({"String": {"volts": 9}}),
        "TwoStrings" => json!({"TwoStrings": {}}),
        other => Value::String(other.to_owned()),
    })
}

/// An output is told by its dot; a panel and another feed by their ids.
fn source(job: &Job, text: &str) -> Result<Value, String> {
    if text.contains('.') {
        let output: OutputRef = text.parse()?;
        return Ok(json!({"Output": output.to_string()}));
    }
    let id = Id::new(text).map_err(|bad| bad.to_string())?;
    if job.panels.iter().any(|panel| panel.id.same(&id)) {
        return Ok(json!({"Panel": id.to_string()}));
    }
    if job.boxes.iter().flat_map(|wall_box| &wall_box.feeds).any(|feed| feed.id.same(&id)) {
        return Ok(json!({"Onward": id.to_string()}));
    }
    Err("name an output like PS1.2, a panel, or the feed it is spliced to".into())
}

fn conductor(text: &str) -> Result<Value, String> {
    let (name, function) =
        text.rsplit_once(' ').ok_or("write each conductor as its mark and its function: red +")?;
    let typed: Vec<&str> = FUNCTIONS.iter().map(|(typed, _)| *typed).collect();
    let typed = one_of(&typed, function)?;
    let function = FUNCTIONS.iter().find(|(t, _)| *t == typed).map_or("Spare", |(_, name)| name);
    Ok(json!({"name": name.trim(), "function": function}))
}

fn reel(job: &Job, text: &str) -> Result<Value, String> {
    let read = |text: &str| Length::parse(text, Some(job.project.units)).map_err(|bad| bad.to_string());
    if let Some((length, price)) = text.rsplit_once(' ')
        && price.parse::<crate::units::Money>().is_ok()
        && read(length).is_ok()
    {
        return Ok(json!({"length": read(length)?.written(), "price": price}));
    }
    Ok(json!({"length": read(text)?.written()}))
}

fn leftover(job: &Job, text: &str) -> Result<Value, String> {
    let (cable, left) =
        text.split_once(' ').ok_or("write each reel as its cable and what is left: 18-2 420 ft")?;
    let left = Length::parse(left, Some(job.project.units)).map_err(|bad| bad.to_string())?;
    Ok(json!({"cable": cable, "left": left.written()}))
}

fn sum(text: &str) -> Result<Value, String> {
    let like = "write each sum as what it is for and how much: Chandelier 450.00";
    let (name, amount) = text.rsplit_once(' ').ok_or(like)?;
    if amount.parse::<crate::units::Money>().is_err() {
        return Err(like.into());
    }
    Ok(json!({"name": name.trim(), "amount": amount}))
}
