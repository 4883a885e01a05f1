//! The scale of a plan and the part of it that is shown.

use super::Plan;
use crate::units::{Length, LengthUnit};

/// Ticks of 100 nm in an inch and in a centimetre.
const INCH: i64 = 254_000;
const CENTIMETRE: i64 = 100_000;

/// Inches a column may stand for, and centimetres.
const IN_INCHES: [i64; 17] = [1, 2, 3, 4, 6, 8, 9, 12, 18, 24, 36, 48, 72, 120, 240, 600, 1200];
const IN_CENTIMETRES: [i64; 17] = [2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 400, 800, 2000, 4000];

/// Nothing in a house is longer than this: 100 km in ticks.
const MOST: i64 = 1_000_000_000_000;

/// A terminal cell is about twice as high as it is wide.
const ASPECT: i64 = 2;

/// How much of the house a column of the plan stands for; a line stands for twice as much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Scale(i64);

impl Scale {
    /// So many ticks of 100 nm a column, brought into 1 tick to 100 km.
    pub const fn of_ticks(ticks: i64) -> Self {
        match ticks {
            ..1 => Self(1),
            MOST.. => Self(MOST),
            ticks => Self(ticks),
        }
    }

    /// Ticks of 100 nm a column stands for.
    pub const fn ticks(self) -> i64 {
        self.0
    }

    fn steps(unit: LengthUnit) -> impl DoubleEndedIterator<Item = Self> {
        let (steps, per) = match unit {
            LengthUnit::Feet => (IN_INCHES, INCH),
            LengthUnit::Metres => (IN_CENTIMETRES, CENTIMETRE),
        };
        steps.into_iter().map(move |step| Self(step * per))
    }

    /// The next scale that shows less of the house, larger.
    #[must_use]
    pub fn larger(self, unit: LengthUnit) -> Self {
        Self::steps(unit).rev().find(|step| *step < self).unwrap_or(self)
    }

    /// The next scale that shows more of the house, smaller.
    #[must_use]
    pub fn smaller(self, unit: LengthUnit) -> Self {
        Self::steps(unit).find(|step| *step > self).unwrap_or(self)
    }

    /// What a column and a line stand for, in words.
    pub fn shown(self, unit: LengthUnit) -> String {
        let across = Length::from_ticks(self.0, unit).shown(unit);
        let down = Length::from_ticks(self.0.saturating_mul(ASPECT), unit).shown(unit);
        format!("column {across}, line {down}")
    }

    /// The column of a place, from the corner of the house.
    pub const fn column(self, x: i64) -> i64 {
        x.saturating_add(self.0 / 2).div_euclid(self.0)
    }

    /// The line of a place: lines go down the plan, from the corner of the house.
    pub const fn line(self, y: i64) -> i64 {
        let per = self.0.saturating_mul(ASPECT);
        y.saturating_add(per / 2).div_euclid(per).saturating_neg()
    }

    /// The place across the plan that a column stands for.
    pub const fn x(self, column: i64) -> i64 {
        column.saturating_mul(self.0)
    }

    /// The place up the plan that a line stands for.
    pub const fn y(self, line: i64) -> i64 {
        line.saturating_neg().saturating_mul(self.0).saturating_mul(ASPECT)
    }
}

/// The part of a plan that is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Viewport {
    /// The scale.
    pub scale: Scale,
    /// The first column of the plan, frame excluded.
    pub left: i64,
    /// The first line of the plan.
    pub top: i64,
    /// Columns of the whole picture.
    pub width: u16,
    /// Lines of the whole picture.
    pub height: u16,
}

/// The columns and lines that the frame of a picture takes.
pub(super) const GUTTER: u16 = 5;
pub(super) const RULER: u16 = 2;
const LEAST_FRAMED: (u16, u16) = (30, 8);

impl Viewport {
    /// Whether there is room for rulers and scale.
    pub const fn framed(self) -> bool {
        self.width >= LEAST_FRAMED.0 && self.height >= LEAST_FRAMED.1
    }

    /// Columns and lines that are left for the plan itself.
    pub const fn inner(self) -> (u16, u16) {
        if self.framed() { (self.width - GUTTER, self.height - RULER) } else { (self.width, self.height) }
    }

    /// The largest scale at which all of a plan is shown, with the plan in the middle.
    pub fn fit(plan: &Plan, unit: LengthUnit, width: u16, height: u16) -> Self {
        let any = Self { scale: Scale(1), left: 0, top: 0, width, height };
        let (low, high) = plan.bounds.unwrap_or(((0, 0), (0, 0)));
        let (columns, lines) = any.inner();
        let fits = |scale: &Scale| {
            // A column and a line on each side are left for borders.
            let across = scale.column(high.0) - scale.column(low.0) + 3;
            let down = scale.line(low.1) - scale.line(high.1) + 3;
            across <= i64::from(columns) && down <= i64::from(lines)
        };
        let last = Scale::steps(unit).next_back().unwrap_or(Scale(1));
        // At closer than this there is more paper than plan.
        let closest = Scale::of_ticks(3 * INCH);
        let scale = Scale::steps(unit).filter(|scale| *scale >= closest).find(fits).unwrap_or(last);
        let middle = (low.0.midpoint(high.0), low.1.midpoint(high.1));
        Self { scale, ..any }.centred(middle)
    }

    /// The same no higher than the plan needs, with the plan in the middle.
    #[must_use]
    pub fn trimmed(self, plan: &Plan) -> Self {
        let Some((low, high)) = plan.bounds else { return self };
        let down = self.scale.line(low.1) - self.scale.line(high.1) + 3 + i64::from(RULER);
        let down = down.max(i64::from(LEAST_FRAMED.1));
        let height = u16::try_from(down).map_or(self.height, |down| down.min(self.height));
        Self { height, ..self }.centred((low.0.midpoint(high.0), low.1.midpoint(high.1)))
    }

    /// The same with a place in the middle.
    #[must_use]
    pub fn centred(self, (x, y): (i64, i64)) -> Self {
        let (columns, lines) = self.inner();
        let left = self.scale.column(x).saturating_sub(i64::from(columns / 2));
        let top = self.scale.line(y).saturating_sub(i64::from(lines / 2));
        Self { left, top, ..self }
    }

    /// The same moved no further than needed to show a place with some of what is round it.
    #[must_use]
    pub fn showing(self, (x, y): (i64, i64)) -> Self {
        let (columns, lines) = self.inner();
        let keep = |first: i64, count: u16, at: i64, margin: i64| {
            let count = i64::from(count).max(1);
            let margin = margin.min((count - 1) / 2);
            first.clamp(at.saturating_add(margin).saturating_sub(count - 1), at.saturating_sub(margin))
        };
        Self {
            left: keep(self.left, columns, self.scale.column(x), 8),
            top: keep(self.top, lines, self.scale.line(y), 2),
            ..self
        }
    }
}
