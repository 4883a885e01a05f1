//! How figures and texts are written for people: the only place that rounds and writes unit symbols.
//!
//! It takes computed figures and the texts of the job, and gives strings that are safe to print anywhere. It knows
//! nothing of tables, sheets or screens.

mod order;
mod text;

pub use order::as_counted;
pub(crate) use text::{CUT, width};
pub use text::{Text, is_hostile};

use rust_decimal::Decimal;

/// What stands where a figure is not known.
pub const UNKNOWN: &str = "?";

/// Figures from this size on are written with an exponent, so that no figure is wider than a column may be.
const HUGE: f64 = 1e7;

/// A quantity that a figure can be of, with its symbol and the decimals it is shown with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Volts, two decimals.
    Volts,
    /// Amps, two decimals.
    Amps,
    /// Watts, one decimal.
    Watts,
    /// Apparent power on AC, one decimal.
    VoltAmps,
    /// Percent, one decimal.
    Percent,
    /// Ohms, two decimals.
    Ohms,
    /// Heat in BTU/h, whole.
    Heat,
    /// Feet, one decimal.
    Feet,
    /// Metres, two decimals.
    Metres,
    /// Cubic inches, two decimals.
    CubicInches,
    /// Lux, whole.
    Lux,
    /// Lumens, whole.
    Lumens,
    /// Square metres, two decimals.
    SquareMetres,
    /// A count, with as many decimals as it needs up to four.
    Count,
    /// A bare number, the same.
    Ratio,
}

impl Quantity {
    /// The unit symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Amps => "A",
            Self::Watts => "W",
            Self::VoltAmps => "VA",
            Self::Percent => "%",
            Self::Ohms => "ohm",
            Self::Heat => "BTU/h",
            Self::Feet => "ft",
            Self::Metres => "m",
            Self::CubicInches => "in3",
            Self::Lux => "lx",
            Self::Lumens => "lm",
            Self::SquareMetres => "m2",
            Self::Count | Self::Ratio => "",
        }
    }

    const fn decimals(self) -> usize {
        match self {
            Self::Volts | Self::Amps | Self::Ohms | Self::CubicInches | Self::Metres | Self::SquareMetres => {
                2
            }
            Self::Watts | Self::VoltAmps | Self::Percent | Self::Feet => 1,
            Self::Heat | Self::Lux | Self::Lumens | Self::Count | Self::Ratio => 0,
        }
    }

    /// The figure without its symbol, or `?`.
    pub fn bare(self, figure: Option<f64>) -> String {
        if matches!(self, Self::Count | Self::Ratio) {
            return known(figure).map_or_else(|| UNKNOWN.into(), |value| machine(Some(value)));
        }
        known(figure).map_or_else(|| UNKNOWN.into(), |value| rounded(value, self.decimals()))
    }

    /// From where to where a figure goes, without its symbol: `54.0-81.2`, a bound marked with `*`; one figure where
    /// both ends are shown alike.
    pub fn bare_span(self, span: Span) -> String {
        let [least, most] = [span.least, span.most].map(|figure| self.bare(Some(figure)));
        let mark = if span.exact { "" } else { "*" };
        if least == most { format!("{least}{mark}") } else { format!("{least}-{most}{mark}") }
    }

    /// The same with its symbol.
    pub fn span(self, span: Span) -> String {
        format!("{} {}", self.bare_span(span), self.symbol()).trim_end().to_owned()
    }

    /// The figure with its symbol, or `?`.
    pub fn shown(self, figure: Option<f64>) -> String {
        match known(figure) {
            Some(_) => format!("{} {}", self.bare(figure), self.symbol()).trim_end().to_owned(),
            None => UNKNOWN.into(),
        }
    }
}

/// From where to where a figure goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The least it can be.
    pub least: f64,
    /// The most it can be.
    pub most: f64,
    /// Whether both ends are reached; else it lies between them.
    pub exact: bool,
}

/// The figure, unless it is unknown or no number at all.
pub fn known(figure: Option<f64>) -> Option<f64> {
    figure.filter(|value| value.is_finite())
}

/// Volts to the hundredth, or `?`.
pub fn volts(figure: Option<f64>) -> String {
    Quantity::Volts.shown(figure)
}

/// Amps to the hundredth, or `?`.
pub fn amps(figure: Option<f64>) -> String {
    Quantity::Amps.shown(figure)
}

/// Watts to the tenth, or `?`.
pub fn watts(figure: Option<f64>) -> String {
    Quantity::Watts.shown(figure)
}

/// Percent to the tenth, or `?`.
pub fn percent(figure: Option<f64>) -> String {
    Quantity::Percent.shown(figure)
}

/// From where to where a share goes, in whole percent to the safe sides: `54-81 %`.
pub fn whole_percent(span: Span) -> String {
    let whole = |figure: f64| rounded(figure, 0);
    // What is a whole percent but for rounding is that.
    let (least, most) = (whole((span.least + 1e-9).floor()), whole((span.most - 1e-9).ceil()));
    let mark = if span.exact { "" } else { "*" };
    if least == most { format!("{least}{mark} %") } else { format!("{least}-{most}{mark} %") }
}

/// An amount of money as it is, with at least two decimals, or `?`.
pub fn money(amount: Option<Decimal>) -> String {
    amount.map_or_else(
        || UNKNOWN.into(),
        |mut amount| {
            if amount.scale() < 2 {
                amount.rescale(2);
            }
            amount.to_string()
        },
    )
}

/// An amount of money for a sentence, with a comma after every three digits.
pub fn grouped(amount: Decimal) -> String {
    let text = money(Some(amount));
    let (whole, cents) = text.split_once('.').unwrap_or((&text, "00"));
    let mut out = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) && out.ends_with(|c: char| c.is_ascii_digit()) {
            out.push(',');
        }
        out.push(digit);
    }
    format!("{out}.{cents}")
}

/// A figure for a machine to read on: four decimals at most and no symbol, empty when it is unknown.
pub fn machine(figure: Option<f64>) -> String {
    let Some(value) = known(figure) else { return String::new() };
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    let text = rounded(value, 4);
    match text.trim_end_matches('0').trim_end_matches('.') {
        // A small figure is not nothing.
        "0" if value != 0.0 => format!("{value:e}"),
        trimmed => trimmed.to_owned(),
    }
}

/// A place in a drawing, to the hundredth of a point; what is no number is the corner.
pub fn place(points: f32) -> String {
    let value = if points.is_finite() { f64::from(points) } else { 0.0 };
    let text = format!("{value:.2}");
    let trimmed = text.trim_end_matches('0').trim_end_matches('.');
    if trimmed == "-0" { "0".into() } else { trimmed.into() }
}

/// A figure in a working: six digits that tell, no more.
pub fn digits(value: f64) -> String {
    if !value.is_finite() {
        return UNKNOWN.into();
    }
    if value != 0.0 && !(1e-6..HUGE).contains(&value.abs()) {
        return format!("{value:.5e}");
    }
    let size = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 12")]
    let decimals = (5.0 - size).clamp(0.0, 12.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn rounded(value: f64, decimals: usize) -> String {
    if value.abs() >= HUGE {
        return format!("{value:.2e}");
    }
    let text = format!("{value:.decimals$}");
    // What rounds to nothing has no sign.
    match text.strip_prefix('-') {
        Some(positive) if positive.chars().all(|c| c == '0' || c == '.') => positive.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn figures_are_rounded_and_carry_their_unit() {
        assert_eq!(volts(Some(23.405_1)), "23.41 V");
        assert_eq!(amps(Some(0.25)), "0.25 A");
        assert_eq!(watts(Some(96.04)), "96.0 W");
        assert_eq!(percent(Some(-0.01)), "0.0 %");
        assert_eq!(Quantity::Heat.shown(Some(204.6)), "205 BTU/h");
        assert_eq!(Quantity::Ohms.bare(Some(1.5)), "1.50");
    }

    #[test]
    fn what_is_not_known_is_never_nothing() {
        for unknown in [None, Some(f64::NAN), Some(f64::INFINITY), Some(f64::NEG_INFINITY)] {
            assert_eq!(volts(unknown), "?");
            assert_eq!(machine(unknown), "");
        }
        assert_eq!(money(None), "?");
        assert_eq!(machine(Some(1e-9)), "1e-9");
        assert_eq!(machine(Some(0.0)), "0");
        assert_eq!(machine(Some(100.0)), "100");
        assert_eq!(machine(Some(23.405_14)), "23.4051");
    }

    #[test]
    fn money_is_exact() {
        let amount = |text: &str| money(Decimal::from_str_exact(text).ok());
        assert_eq!(amount("184.5"), "184.50");
        assert_eq!(amount("0.1275"), "0.1275");
        assert_eq!(amount("12"), "12.00");
        let amount = |text: &str| Decimal::from_str_exact(text).map(grouped);
        assert_eq!(amount("1234567.5"), Ok("1,234,567.50".into()));
        assert_eq!(amount("999"), Ok("999.00".into()));
        assert_eq!(amount("-1234"), Ok("-1,234.00".into()));
    }

    proptest! {
        #[test]
        fn no_figure_is_wide(value: f64) {
            prop_assert!(Quantity::Heat.shown(Some(value)).len() <= 18);
            prop_assert!(Quantity::Volts.shown(Some(value)).len() <= 18);
        }
    }
}
