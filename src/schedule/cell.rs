//! One typed cell and how it is shown.

use crate::format::{self, Quantity, Text, UNKNOWN};
use crate::units::{Length, LengthUnit};
use rust_decimal::Decimal;

/// The columns of a load bar when nobody says how wide it may be.
const USUAL_BAR: usize = 10;
/// A bar of fewer columns says nothing and is left out.
const LEAST_BAR: usize = 4;
/// The columns of the figure beside a bar, `100.0 %`.
const BAR_FIGURE: usize = 7;
/// The columns kept free for ` ! OVER`, so that all bars of a column have one scale.
const BAR_SIGN: usize = 7;
/// Rounding in a solution must not make an overload of an output that is just full.
const TOLERANCE: f64 = 1e-6;

/// A place to write a length into.
const WRITE: &str = "_______";

/// How much a cell asks to be noticed. A view may colour by it; paper shows it by a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Weight {
    /// Nothing to see.
    #[default]
    Plain,
    /// Worth a look: shown with `!`.
    Caution,
    /// Wrong: shown with `!!`.
    Bad,
}

impl Weight {
    /// The sign that stands before the word.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Caution => "! ",
            Self::Bad => "!! ",
        }
    }
}

/// How a load stands to its target and its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Load {
    /// The load is not known.
    Unknown,
    /// At most the target.
    Within,
    /// More than the target, within the limit.
    AboveTarget,
    /// More than the limit.
    Over,
}

impl Load {
    /// Judges a load in percent of its limit. A target that is no number is none.
    pub fn of(percent: Option<f64>, target: f64) -> Self {
        match format::known(percent) {
            None => Self::Unknown,
            Some(percent) if percent > 100.0 + TOLERANCE => Self::Over,
            Some(percent) if percent > target + TOLERANCE => Self::AboveTarget,
            Some(_) => Self::Within,
        }
    }

    /// What stands after the figure.
    const fn sign(self) -> &'static str {
        match self {
            Self::Unknown | Self::Within => "",
            Self::AboveTarget => " !",
            Self::Over => " ! OVER",
        }
    }
}

/// One cell of a table. A figure that could not be computed is `None`, never zero.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Cell {
    /// Nothing belongs here.
    #[default]
    Blank,
    /// Something belongs here and is not known.
    Unknown,
    /// Words.
    Text(Text),
    /// A number of things.
    Count(i64),
    /// A figure.
    Figure(Quantity, Option<f64>),
    /// A length, shown in the job's unit.
    Length(Option<Length>),
    /// An amount of money, exact.
    Money(Option<Decimal>),
    /// A load in percent of its limit, drawn as a bar with its target marked.
    Bar {
        /// The load.
        percent: Option<f64>,
        /// The load aimed at.
        target: f64,
    },
    /// A place to tick with a pencil.
    Tick,
    /// A place to write into with a pencil.
    Write,
    /// A word that asks to be noticed.
    Flag(Weight, Text),
}

impl Cell {
    /// Words.
    pub fn text(words: impl Into<Text>) -> Self {
        Self::Text(words.into())
    }

    /// Volts.
    pub fn volts(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Volts, figure.into())
    }

    /// Amps.
    pub fn amps(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Amps, figure.into())
    }

    /// Watts.
    pub fn watts(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Watts, figure.into())
    }

    /// Percent.
    pub fn percent(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Percent, figure.into())
    }

    /// Ohms.
    pub fn ohms(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Ohms, figure.into())
    }

    /// Heat in BTU/h.
    pub fn heat(figure: impl Into<Option<f64>>) -> Self {
        Self::Figure(Quantity::Heat, figure.into())
    }

    /// A length.
    pub fn length(length: impl Into<Option<Length>>) -> Self {
        Self::Length(length.into())
    }

    /// A load bar.
    pub fn bar(percent: impl Into<Option<f64>>, target: f64) -> Self {
        Self::Bar { percent: percent.into(), target }
    }

    /// Whether something belongs here that is not known.
    pub fn is_unknown(&self) -> bool {
        match self {
            Self::Unknown | Self::Length(None) | Self::Money(None) => true,
            Self::Figure(_, figure) | Self::Bar { percent: figure, .. } => format::known(*figure).is_none(),
            _ => false,
        }
    }

    /// How much the cell asks to be noticed.
    pub fn weight(&self) -> Weight {
        match self {
            Self::Flag(weight, _) => *weight,
            Self::Bar { percent, target } => match Load::of(*percent, *target) {
                Load::Over => Weight::Bad,
                Load::AboveTarget => Weight::Caution,
                Load::Unknown | Load::Within => Weight::Plain,
            },
            _ => Weight::Plain,
        }
    }

    /// The cell on one line, with its unit.
    pub fn shown(&self, unit: LengthUnit) -> String {
        match self {
            Self::Blank => String::new(),
            Self::Unknown | Self::Length(None) => UNKNOWN.into(),
            Self::Text(text) => text.to_string(),
            Self::Count(count) => count.to_string(),
            Self::Figure(quantity, figure) => quantity.shown(*figure),
            Self::Length(Some(length)) => length.shown(unit),
            Self::Money(amount) => format::money(*amount),
            Self::Bar { percent, target } => bar(*percent, *target, USUAL_BAR),
            Self::Tick => "[ ]".into(),
            Self::Write => WRITE.into(),
            Self::Flag(weight, word) => format!("{}{word}", weight.sign()),
        }
    }

    /// The cell on one line in at most so many columns; `bare` leaves the unit of a figure to the heading.
    pub fn fitted(&self, unit: LengthUnit, columns: usize, bare: bool) -> String {
        match self {
            Self::Bar { percent, target } => {
                let beside = BAR_FIGURE.max(format::percent(*percent).len()) + BAR_SIGN + 3;
                let line = bar(*percent, *target, columns.saturating_sub(beside));
                Text::from(line.trim_start()).within(columns).into_owned()
            }
            Self::Figure(quantity, figure) if bare => {
                Text::from(quantity.bare(*figure)).within(columns).into()
            }
            _ => Text::from(self.shown(unit)).within(columns).into_owned(),
        }
    }

    /// The words of the cell where bars and places to tick are drawn beside them; `bare` leaves the unit of a figure to
    /// the heading.
    pub fn words(&self, unit: LengthUnit, bare: bool) -> String {
        match self {
            Self::Tick => String::new(),
            Self::Bar { percent, target } => bar(*percent, *target, 0).trim_start().to_owned(),
            Self::Figure(quantity, figure) if bare => quantity.bare(*figure),
            _ => self.shown(unit),
        }
    }

    /// The columns the cell takes on one line.
    pub(super) fn width(&self, unit: LengthUnit, bare: bool) -> usize {
        match self {
            Self::Text(text) => text.width(),
            Self::Bar { percent, .. } => {
                USUAL_BAR + 3 + BAR_FIGURE.max(format::percent(*percent).len()) + BAR_SIGN
            }
            Self::Figure(quantity, figure) if bare => quantity.bare(*figure).len(),
            _ => Text::from(self.shown(unit)).width(),
        }
    }

    /// The columns it takes without breaking a word or leaving out a bar.
    pub(super) fn easy(&self, unit: LengthUnit, bare: bool) -> usize {
        match self {
            Self::Text(text) => longest_word(text.as_str()),
            Self::Flag(weight, word) => weight.sign().len() + longest_word(word.as_str()),
            _ => self.width(unit, bare),
        }
    }

    /// The fewest columns it can do with in a column that can do with `least`.
    pub(super) fn needed(&self, unit: LengthUnit, bare: bool, least: usize) -> usize {
        match self {
            Self::Bar { percent, target } => {
                format::percent(*percent).len() + Load::of(*percent, *target).sign().len()
            }
            cell if cell.flows() => cell.width(unit, bare).min(least),
            _ => self.width(unit, bare),
        }
    }

    /// Whether the cell may be broken over lines; a figure never is.
    pub(crate) const fn flows(&self) -> bool {
        matches!(self, Self::Text(_) | Self::Flag(..))
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Self {
        Self::text(words)
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Self {
        Self::text(words)
    }
}

impl From<&String> for Cell {
    fn from(words: &String) -> Self {
        Self::text(words)
    }
}

impl From<&crate::job::Id> for Cell {
    fn from(id: &crate::job::Id) -> Self {
        Self::text(id.as_str())
    }
}

fn longest_word(text: &str) -> usize {
    text.split(' ').map(format::width).max().unwrap_or(0)
}

/// A bar of so many columns between its brackets with its figure, or the figure alone where a bar says nothing.
fn bar(percent: Option<f64>, target: f64, inner: usize) -> String {
    let figure = format!("{:>BAR_FIGURE$}{}", format::percent(percent), Load::of(percent, target).sign());
    if inner < LEAST_BAR {
        return figure;
    }
    let Some(percent) = format::known(percent) else {
        return format!("[{}] {figure}", " ".repeat(inner));
    };
    let filled = marks(percent, inner, f64::floor).max(usize::from(percent > 0.0));
    // The mark stands in the last column that the target fills, so a load at its target reaches it.
    let mark = marks(target, inner, f64::ceil).checked_sub(1).filter(|_| target < 100.0);
    let drawn: String = (0..inner)
        .map(|at| match (Some(at) == mark, at < filled) {
            (true, _) => '|',
            (false, true) => '#',
            (false, false) => '.',
        })
        .collect();
    format!("[{drawn}] {figure}")
}

/// How many of so many columns a share fills.
fn marks(percent: f64, columns: usize, round: fn(f64) -> f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "clamped to the columns of a screen"
    )]
    let filled = round((percent.clamp(0.0, 100.0) / 100.0 * columns as f64 * 1e6).round() / 1e6) as usize;
    filled.min(columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_shows_load_target_and_overload() {
        let shown = |percent: f64, target: f64| Cell::bar(percent, target).shown(LengthUnit::Feet);
        assert_eq!(shown(62.3, 80.0), "[######.|..]  62.3 %");
        assert_eq!(shown(85.0, 80.0), "[#######|..]  85.0 % !");
        assert_eq!(shown(80.0, 80.0), "[#######|..]  80.0 %");
        assert_eq!(shown(100.0 + 1e-9, 100.0), "[##########] 100.0 %");
        assert_eq!(shown(112.3, 80.0), "[#######|##] 112.3 % ! OVER");
        assert_eq!(shown(0.0, 80.0), "[.......|..]   0.0 %");
        assert_eq!(shown(0.2, 80.0), "[#......|..]   0.2 %");
        assert_eq!(Cell::bar(None, 80.0).shown(LengthUnit::Feet), "[          ]       ?");
        assert_eq!(Cell::bar(None, 80.0).weight(), Weight::Plain);
        assert_eq!(Cell::bar(101.0, 80.0).weight(), Weight::Bad);
    }

    #[test]
    fn a_bar_yields_to_its_figure() {
        let fitted =
            |percent: f64, columns| Cell::bar(percent, 80.0).fitted(LengthUnit::Feet, columns, false);
        assert_eq!(fitted(62.3, 8), "62.3 %");
        assert_eq!(fitted(62.3, 23), "[###.|.]  62.3 %");
        assert_eq!(fitted(112.3, 23), "[####|#] 112.3 % ! OVER");
        assert_eq!(fitted(112.3, 14), "112.3 % ! OVER");
        for columns in 14..60 {
            assert!(fitted(1e30, columns).len() <= columns, "{columns}");
        }
    }

    #[test]
    fn unknown_is_told_from_blank_and_from_nothing() {
        let unit = LengthUnit::Metres;
        for unknown in [Cell::volts(None), Cell::volts(f64::NAN), Cell::length(None), Cell::Money(None)] {
            assert_eq!((unknown.shown(unit).as_str(), unknown.is_unknown()), ("?", true));
        }
        assert_eq!((Cell::Blank.shown(unit).as_str(), Cell::Blank.is_unknown()), ("", false));
        assert_eq!((Cell::volts(0.0).shown(unit).as_str(), Cell::volts(0.0).is_unknown()), ("0.00 V", false));
        assert_eq!(Cell::volts(24.0).fitted(unit, 9, true), "24.00");
        assert_eq!(Cell::Flag(Weight::Bad, "dead short".into()).shown(unit), "!! dead short");
        assert_eq!(Cell::Tick.shown(unit), "[ ]");
    }
}
