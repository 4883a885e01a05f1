//! The price list: what the firm pays for each part of a job's catalogue, as a table.
//!
//! [`write()`] gives a row for each part, and one for each size of reel. [`read`] takes such a table, separated by commas,
//! semicolons or tabs, and gives one edit, or every flaw by row and column; nothing is ever half done. Parts that the
//! table does not name stay as they are, and so does what a cell leaves empty; `?` in a cell says that it is not known.

use super::cells::table;
use super::{Flaw, Flaws};
use crate::job::catalogue::Reel;
use crate::job::edit::Edit;
use crate::job::read::nearest;
use crate::job::{Id, Index, Job, Kind, Subject};
use crate::sheets::csv::inert;
use crate::units::{Length, Money};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::num::NonZeroU32;

/// The columns, in the order in which they are written.
const COLUMNS: [&str; 6] = ["kind", "part", "name", "reel", "pack", "price"];
/// The kinds of part that have a price, as the table calls them.
const KINDS: [(Kind, &str); 6] = [
    (Kind::CableType, "cable"),
    (Kind::BoxType, "box"),
    (Kind::SmallPart, "small part"),
    (Kind::SupplyType, "supply"),
    (Kind::ControlType, "control"),
    (Kind::FixtureType, "fixture"),
];
/// What stands in a cell for what is not known.
const UNKNOWN: &str = "?";

/// What a price list comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct PriceList {
    /// One edit that takes all of it.
    pub edit: Edit,
    /// Prices that change, each in words.
    pub changes: Vec<String>,
    /// Rows that say what is there already.
    pub same: usize,
}

/// The columns with what stands in them, a line each.
pub fn help() -> String {
    "  kind   cable, box, small part, supply, control or fixture\n  \
     part   its id in the catalogue\n  \
     name   for people; it is not read\n  \
     reel   of a cable: its length, like 500 ft\n  \
     pack   pieces that the price is for; empty for one\n  \
     price  like 184.50; ? where it is not known\n"
        .to_owned()
}

/// Writes the price list of a job.
///
/// # Errors
/// When the writer fails, which a writer into memory does not.
pub fn write(job: &Job) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    let price = |price: Option<Money>| price.map_or_else(|| UNKNOWN.to_owned(), |price| price.to_string());
    let parts = &job.catalogue;
    for cable in &parts.cables {
        for reel in &cable.reels {
            let length = reel.length.written();
            let row = ["cable", cable.id.as_str(), &inert(&cable.name), &length, "", &price(reel.price)];
            writer.write_record(row)?;
        }
    }
    let mut row = |kind: &str, id: &Id, name: &str, pack: Option<NonZeroU32>, of: Option<Money>| {
        let pack = pack.map_or_else(String::new, |pack| pack.to_string());
        writer.write_record([kind, id.as_str(), &inert(name), "", &pack, &price(of)])
    };
    for part in &parts.boxes {
        row("box", &part.id, &part.name, part.pack, part.price)?;
    }
    for part in &parts.small_parts {
        row("small part", &part.id, &part.name, part.pack, part.price)?;
    }
    for part in &parts.supplies {
        row("supply", &part.id, &part.name, part.pack, part.price)?;
    }
    for part in &parts.controls {
        row("control", &part.id, &part.name, part.pack, part.price)?;
    }
    for part in &parts.fixtures {
        row("fixture", &part.id, &part.name, part.pack, part.price)?;
    }
    writer.flush()?;
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Reads a price list for a job.
///
/// # Errors
/// Every flaw in the table, by row and column.
pub fn read(job: &Job, text: &str) -> Result<PriceList, Flaws> {
    let mut rows = table(text)?.into_iter();
    let Some((number, headings)) = rows.next() else {
        return Err(Flaws::whole(format!("the table is empty; its first row is {}", COLUMNS.join(","))));
    };
    let columns = columns(number, &headings)?;
    let mut reader = Reader::new(job);
    for (number, cells) in rows {
        reader.row(&Row { number, columns: &columns, cells: &cells });
    }
    reader.finish()
}

fn columns(row: usize, headings: &[String]) -> Result<Vec<Option<&'static str>>, Flaws> {
    let mut flaws = Vec::new();
    let mut found: Vec<Option<&'static str>> = Vec::new();
    for heading in headings {
        let known = COLUMNS.into_iter().find(|column| column.eq_ignore_ascii_case(heading));
        if known.is_none() && !heading.is_empty() {
            let hint = nearest(heading, COLUMNS.into_iter()).unwrap_or_default();
            let what = format!("there is no such column; {hint}");
            flaws.push(Flaw { row: Some(row), column: Some(heading.clone()), what });
        }
        if known.is_some() && found.contains(&known) {
            flaws.push(Flaw {
                row: Some(row),
                column: Some(heading.clone()),
                what: "it stands there twice".into(),
            });
        }
        found.push(known);
    }
    for needed in ["part", "price"].into_iter().filter(|needed| !found.contains(&Some(*needed))) {
        flaws.push(Flaw {
            row: Some(row),
            column: Some(needed.into()),
            what: "this column is missing".into(),
        });
    }
    if flaws.is_empty() { Ok(found) } else { Err(Flaws(flaws)) }
}

/// What a cell says.
#[derive(Debug, Clone, Copy)]
enum Said<T> {
    /// It is empty: what is there stays.
    Nothing,
    /// It is not known.
    Unknown,
    /// This.
    This(T),
}

impl<T> Said<T> {
    /// As the job file would hold it.
    fn value(self, show: impl Fn(T) -> Value) -> Option<Value> {
        match self {
            Self::Nothing => None,
            Self::Unknown => Some(Value::Null),
            Self::This(it) => Some(show(it)),
        }
    }
}

/// A row of the table.
struct Row<'a> {
    number: usize,
    columns: &'a [Option<&'static str>],
    cells: &'a [String],
}

impl<'a> Row<'a> {
    /// The cell of a column; empty where there is none.
    fn cell(&self, name: &str) -> &'a str {
        let at = self.columns.iter().position(|column| *column == Some(name));
        at.and_then(|at| self.cells.get(at)).map_or("", String::as_str)
    }
}

struct Reader<'a> {
    job: &'a Job,
    index: Index,
    flaws: Vec<Flaw>,
    /// What was said of each part or reel already, with the row that said it.
    said: BTreeMap<(Kind, String, i64), usize>,
    reels: BTreeMap<String, Vec<Reel>>,
    edits: Vec<Edit>,
    changes: Vec<String>,
    same: usize,
}

impl<'a> Reader<'a> {
    fn new(job: &'a Job) -> Self {
        Self {
            job,
            index: Index::new(job).0,
            flaws: Vec::new(),
            said: BTreeMap::new(),
            reels: BTreeMap::new(),
            edits: Vec::new(),
            changes: Vec::new(),
            same: 0,
        }
    }

    fn flaw(&mut self, row: usize, column: &str, what: impl Into<String>) {
        self.flaws.push(Flaw { row: Some(row), column: Some(column.into()), what: what.into() });
    }

    fn row(&mut self, row: &Row<'_>) {
        let number = row.number;
        let Some((kind, id)) = self.part(row) else { return };
        let price = match row.cell("price") {
            "" => Said::Nothing,
            UNKNOWN => Said::Unknown,
            text => match text.parse::<Money>() {
                Ok(price) => Said::This(price),
                Err(bad) => return self.flaw(number, "price", bad.to_string()),
            },
        };
        let reel = match (row.cell("reel"), kind) {
            ("", Kind::CableType) => {
                return self.flaw(number, "reel", "a cable needs the length of its reel, like 500 ft");
            }
            ("", _) => None,
            (text, Kind::CableType) => match Length::parse(text, Some(self.job.project.units)) {
                Ok(length) if length.ticks() > 0 => Some(length),
                Ok(_) => return self.flaw(number, "reel", "a reel has some length"),
                Err(bad) => return self.flaw(number, "reel", bad.to_string()),
            },
            _ => return self.flaw(number, "reel", "only a cable is on a reel; leave it empty"),
        };
        let pack = match row.cell("pack") {
            "" => Said::Nothing,
            UNKNOWN => Said::Unknown,
            text => match text.parse::<NonZeroU32>() {
                Ok(pack) => Said::This(pack),
                Err(_) => {
                    return self.flaw(
                        number,
                        "pack",
                        format!("'{text}' is no whole number of pieces above zero"),
                    );
                }
            },
        };
        let key = (kind, id.folded(), reel.map_or(0, Length::ticks));
        if let Some(earlier) = self.said.insert(key, number) {
            return self.flaw(number, "part", format!("row {earlier} says something of it already"));
        }
        match reel {
            Some(length) if !matches!(pack, Said::Nothing) => {
                self.flaw(number, "pack", format!("a reel of {length} is bought singly; leave it empty"));
            }
            Some(length) => self.reel(&id, length, price),
            None => self.of_part(kind, &id, price, pack),
        }
    }

    /// The part a row is about.
    fn part(&mut self, row: &Row<'_>) -> Option<(Kind, Id)> {
        let number = row.number;
        let Ok(id) = Id::new(row.cell("part")) else {
            self.flaw(number, "part", format!("'{}' is no id of a part", row.cell("part")));
            return None;
        };
        let has = |kind: Kind| self.index.spot(kind, &id).is_some();
        let word = row.cell("kind");
        let kind = if word.is_empty() {
            let there: Vec<Kind> = KINDS.iter().map(|(kind, _)| *kind).filter(|kind| has(*kind)).collect();
            match there[..] {
                [only] => Some(only),
                [] => None,
                _ => {
                    self.flaw(
                        number,
                        "kind",
                        format!("parts of several kinds have the id '{id}'; say which is meant"),
                    );
                    return None;
                }
            }
        } else {
            let Some((kind, _)) = KINDS.iter().find(|(_, known)| known.eq_ignore_ascii_case(word)) else {
                let words: Vec<&str> = KINDS.iter().map(|(_, word)| *word).collect();
                self.flaw(number, "kind", format!("'{word}' is none of {}", words.join(", ")));
                return None;
            };
            Some(*kind).filter(|kind| has(*kind))
        };
        if kind.is_none() {
            let ids = KINDS.iter().flat_map(|(kind, _)| self.index.ids(*kind)).map(Id::as_str);
            let hint = nearest(id.as_str(), ids).unwrap_or_else(|| "add it to the catalogue first".into());
            self.flaw(number, "part", format!("the catalogue has no part '{id}' of that kind; {hint}"));
        }
        kind.map(|kind| (kind, id))
    }

    fn reel(&mut self, id: &Id, length: Length, price: Said<Money>) {
        let Some(cable) = self.index.cable_type(self.job, id) else { return };
        let reels = self.reels.entry(id.folded()).or_insert_with(|| cable.reels.clone());
        let known = match price {
            Said::This(price) => Some(price),
            Said::Nothing | Said::Unknown => None,
        };
        let Some(reel) = reels.iter_mut().find(|reel| reel.length.ticks() == length.ticks()) else {
            self.changes.push(format!("{} on {length} reels: new, at {}", cable.id, word(known)));
            reels.push(Reel { length, price: known });
            return;
        };
        if matches!(price, Said::Nothing) || known == reel.price {
            self.same += 1;
            return;
        }
        self.changes.push(format!(
            "{} on {length} reels: {} becomes {}",
            cable.id,
            word(reel.price),
            word(known)
        ));
        reel.price = known;
    }

    fn of_part(&mut self, kind: Kind, id: &Id, price: Said<Money>, pack: Said<NonZeroU32>) {
        let subject = Subject::new(kind, id);
        let held = crate::job::fields::thing(self.job, &self.index, &subject).unwrap_or_default();
        let before = |field: &str| held.get(field).cloned().unwrap_or(Value::Null);
        let price = price.value(|price| json!(price.to_string()));
        let pack = pack.value(|pack| json!(pack.get()));
        let mut changed = false;
        for (field, value) in [("pack", pack), ("price", price)] {
            let Some(value) = value.filter(|value| *value != before(field)) else { continue };
            let show = |value: &Value| match value {
                Value::Null => UNKNOWN.to_owned(),
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            self.changes.push(format!("{id}, {field}: {} becomes {}", show(&before(field)), show(&value)));
            self.edits.push(Edit::Set { subject: subject.clone(), field: field.into(), value });
            changed = true;
        }
        self.same += usize::from(!changed);
    }

    fn finish(mut self) -> Result<PriceList, Flaws> {
        if !self.flaws.is_empty() {
            return Err(Flaws(self.flaws));
        }
        for cable in &self.job.catalogue.cables {
            let Some(reels) = self.reels.remove(&cable.id.folded()).filter(|reels| *reels != cable.reels)
            else {
                continue;
            };
            let value = serde_json::to_value(reels).unwrap_or(Value::Null);
            let subject = Subject::new(Kind::CableType, &cable.id);
            self.edits.push(Edit::Set { subject, field: "reels".into(), value });
        }
        Ok(PriceList { edit: Edit::Together(self.edits), changes: self.changes, same: self.same })
    }
}

fn word(price: Option<Money>) -> String {
    price.map_or_else(|| UNKNOWN.to_owned(), |price| price.to_string())
}
