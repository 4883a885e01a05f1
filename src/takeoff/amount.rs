//! An amount of money of which parts may be unknown.

use crate::units::to_cents;
use rust_decimal::Decimal;
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};
use std::iter::Sum;

/// An amount, or the least that it can be while some figures are missing. Only in a change order, where some lines are
/// credited, may it be negative; what is known of it is no least amount then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Amount {
    at_least: Decimal,
    missing: usize,
}

impl Amount {
    /// An amount that is known.
    pub const fn known(amount: Decimal) -> Self {
        Self { at_least: amount, missing: 0 }
    }

    /// An amount of which nothing is known, for want of one figure.
    pub const UNKNOWN: Self = Self { at_least: Decimal::ZERO, missing: 1 };

    /// So much, and so many figures still missing.
    pub const fn at_least_with(at_least: Decimal, missing: usize) -> Self {
        Self { at_least, missing }
    }

    /// The amount, if nothing is missing.
    pub const fn exact(self) -> Option<Decimal> {
        if self.missing == 0 { Some(self.at_least) } else { None }
    }

    /// What is known of it.
    pub const fn at_least(self) -> Decimal {
        self.at_least
    }

    /// How many figures are missing.
    pub const fn missing(self) -> usize {
        self.missing
    }

    /// The two together. More than a decimal holds is unknown.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        let missing = self.missing.saturating_add(other.missing);
        match self.at_least.checked_add(other.at_least) {
            Some(at_least) => Self { at_least, missing },
            None => Self { at_least: self.at_least, missing: missing.saturating_add(1) },
        }
    }

    /// So many percent of it, rounded to the cent; unknown while the percentage is.
    #[must_use]
    pub fn percent(self, percent: Option<Decimal>) -> Self {
        let part = |percent: Decimal| self.at_least.checked_mul(percent)?.checked_div(Decimal::ONE_HUNDRED);
        match percent.map(part) {
            Some(Some(part)) => Self { at_least: to_cents(part), missing: self.missing },
            _ => Self { at_least: Decimal::ZERO, missing: self.missing.saturating_add(1) },
        }
    }
}

impl From<Option<Decimal>> for Amount {
    fn from(amount: Option<Decimal>) -> Self {
        amount.map_or(Self::UNKNOWN, Self::known)
    }
}

impl Sum for Amount {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::default(), Self::plus)
    }
}

/// `{amount, at_least, missing}`: the amount is null while a figure is missing.
impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Amount", 3)?;
        fields.serialize_field("amount", &self.exact())?;
        fields.serialize_field("at_least", &self.at_least)?;
        fields.serialize_field("missing", &self.missing)?;
        fields.end()
    }
}

/// Quantity times price over the pieces that the price is for, rounded to the cent.
pub(super) fn line(quantity: Decimal, price: Option<Decimal>, pieces: Decimal) -> Amount {
    let cost = price.and_then(|price| quantity.checked_mul(price)?.checked_div(pieces)).map(to_cents);
    Amount::from(cost)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dollars(text: &str) -> Amount {
        Amount::from(Decimal::from_str_exact(text).ok())
    }

    #[test]
    fn what_is_missing_is_never_nothing() {
        let sum = dollars("10.50").plus(Amount::UNKNOWN).plus(dollars("2"));
        assert_eq!((sum.exact(), sum.missing(), sum.at_least()), (None, 1, Decimal::new(1250, 2)));
        assert_eq!(dollars("100").percent(None).exact(), None);
        assert_eq!(sum.percent(Some(Decimal::TEN)), Amount::at_least_with(Decimal::new(125, 2), 1));
    }

    #[test]
    fn what_no_decimal_holds_is_missing() {
        let most = Amount::known(Decimal::MAX);
        assert_eq!(most.plus(most).exact(), None);
        assert_eq!(line(Decimal::MAX, Some(Decimal::TEN), Decimal::ONE).exact(), None);
        assert_eq!(line(Decimal::ONE, Some(Decimal::ONE), Decimal::ZERO).exact(), None);
        assert_eq!(most.percent(Some(Decimal::from(200))).exact(), None);
    }
}
