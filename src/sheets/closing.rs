//! What a sheet has to explain at its end: the signs it uses and the columns it had no room for.

use super::cautions;
use crate::format::Text;
use crate::schedule::{Cell, Table, Weight};
use std::collections::BTreeSet;

/// How signs look: typed as characters, or drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Signs {
    Typed,
    Drawn,
}

/// The signs a sheet uses, each with what it means, and the columns it has no room for.
#[derive(Debug)]
pub(super) struct Said {
    signs: Signs,
    meanings: BTreeSet<&'static str>,
    left_off: BTreeSet<String>,
}

impl Said {
    pub(super) const fn of(signs: Signs) -> Self {
        Self { signs, meanings: BTreeSet::new(), left_off: BTreeSet::new() }
    }

    /// Takes note of what is in a table.
    pub(super) fn hear(&mut self, table: &Table, left_off: Vec<String>) {
        let drawn = self.signs == Signs::Drawn;
        for cell in table.all_rows().flat_map(|row| &row.cells) {
            if cell.is_unknown() {
                self.meanings.insert(cautions::UNKNOWN);
            }
            match cell {
                Cell::Tick => {
                    self.meanings.insert(if drawn { cautions::TICK_DRAWN } else { cautions::TICK });
                }
                Cell::Write => {
                    self.meanings.insert(cautions::WRITE);
                }
                Cell::Bar { .. } if cell.weight() > Weight::Plain => {
                    self.meanings.insert(if drawn { cautions::BARS_DRAWN } else { cautions::BARS });
                }
                _ => {}
            }
        }
        self.left_off.extend(left_off);
    }

    /// Some text was cut.
    pub(super) fn cut(&mut self) {
        self.meanings.insert(cautions::CUT);
    }

    /// Some character is in no font of the paper.
    pub(super) fn missing(&mut self) {
        self.meanings.insert(cautions::MISSING);
    }

    /// The notes of the tables, then what their signs mean.
    pub(super) fn notes(&self, tables: &[Table]) -> Vec<Text> {
        let mut notes: Vec<Text> = tables.iter().flat_map(|table| table.notes.clone()).collect();
        notes.extend(self.meanings.iter().map(|meaning| Text::from(*meaning)));
        if !self.left_off.is_empty() {
            let names: Vec<&str> = self.left_off.iter().map(String::as_str).collect();
            let (at, wider) = match self.signs {
                Signs::Typed => ("at this width", "Print wider to see them."),
                Signs::Drawn => ("on this paper", "They are in CSV."),
            };
            notes.push(Text::from(format!("Left off {at}: {}. {wider}", names.join("; "))));
        }
        notes
    }
}
