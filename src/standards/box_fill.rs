//! Box fill: NEC 314.16(B), by edition.

use crate::job::Edition;

/// Cubic inches that a conductor of a gauge is allowed: NEC table 314.16(B) (2017, 2020), 314.16(B)(1) (2023).
///
/// The table begins at 18 AWG. Smaller conductors are counted as 18 AWG, an assumption to the safe side. `None` for a
/// gauge between the table's.
pub const fn allowance(gauge: u8) -> Option<f64> {
    match gauge {
        18..=30 => Some(1.50),
        16 => Some(1.75),
        14 => Some(2.00),
        12 => Some(2.25),
        10 => Some(2.50),
        8 => Some(3.00),
        6 => Some(5.00),
        _ => None,
    }
}

/// What is in a box, counted as NEC 314.16(B) counts it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fill {
    /// Conductors that enter and end or are spliced, by gauge; one that passes through unbroken is one. Grounds are not
    /// among them.
    pub conductors: Vec<(u8, u32)>,
    /// Equipment grounds, by gauge.
    pub grounds: Vec<(u8, u32)>,
    /// Yokes by the gauge of the largest conductor on each; a device wider than 2 in is one for each gang.
    pub yokes: Vec<(u8, u32)>,
    /// Whether there are clamps inside.
    pub internal_clamps: bool,
    /// Kinds of fixture stud and hickey.
    pub stud_kinds: u32,
    /// Terminal blocks, by the gauge of the largest conductor on each; only the 2023 edition counts them.
    pub terminal_blocks: Vec<(u8, u32)>,
}

impl Fill {
    /// Cubic inches it takes. `None` if a gauge has no allowance.
    pub fn cubic_inches(&self, edition: Edition) -> Option<f64> {
        let sum = |counts: &[(u8, u32)], each: f64| {
            counts
                .iter()
                .try_fold(0.0, |sum, &(gauge, count)| Some(sum + allowance(gauge)? * f64::from(count) * each))
        };
        let largest = self.largest()?;
        let mut taken = sum(&self.conductors, 1.0)? + sum(&self.yokes, 2.0)?;
        taken += largest * (f64::from(u8::from(self.internal_clamps)) + f64::from(self.stud_kinds));
        taken += self.grounds(edition)?;
        if edition == Edition::Nec2023 {
            taken += sum(&self.terminal_blocks, 1.0)?;
        }
        Some(taken)
    }

    /// The allowance of the largest conductor in the box.
    fn largest(&self) -> Option<f64> {
        self.conductors
            .iter()
            .chain(&self.grounds)
            .try_fold(0.0, |most: f64, &(gauge, _)| Some(most.max(allowance(gauge)?)))
    }

    /// 314.16(B)(5): all grounds are one in 2017; from 2020 on up to four are one, and each further one a quarter, of
    /// the largest ground.
    fn grounds(&self, edition: Edition) -> Option<f64> {
        let count: u32 = self.grounds.iter().map(|(_, count)| count).sum();
        if count == 0 {
            return Some(0.0);
        }
        let largest =
            self.grounds.iter().try_fold(0.0, |most: f64, &(gauge, _)| Some(most.max(allowance(gauge)?)))?;
        let further = if edition == Edition::Nec2017 { 0 } else { count.saturating_sub(4) };
        Some(largest * (1.0 + 0.25 * f64::from(further)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(fill: &Fill, edition: Edition) -> f64 {
        fill.cubic_inches(edition).unwrap()
    }

    #[test]
    fn published_examples() {
        // NEC table 314.16(A) (2017): a 4 x 1-1/2 in square box of 21.0 in3 takes nine 12 AWG, and a 4 x 1-1/2 in round
        // one of 15.5 in3 seven 14 AWG or ten 18 AWG.
        for (gauge, most, volume) in [(12, 9, 21.0), (14, 7, 15.5), (18, 10, 15.5)] {
            let of = |count| Fill { conductors: vec![(gauge, count)], ..Fill::default() };
            assert!(taken(&of(most), Edition::Nec2017) <= volume);
            assert!(taken(&of(most + 1), Edition::Nec2017) > volume);
        }
        // A college course's answer: two hots, two neutrals, two grounds, clamps and two receptacles, all 12 AWG, in a
        // 4-11/16 x 2-1/8 in square box are ten allowances, 22.5 in3 of 42.0.
        let course = Fill {
            conductors: vec![(12, 4)],
            grounds: vec![(12, 2)],
            yokes: vec![(12, 2)],
            internal_clamps: true,
            ..Fill::default()
        };
        assert!((taken(&course, Edition::Nec2017) - 22.5).abs() < 1e-12);
        // An exam quiz: four conductors, one device and grounds, all 14 AWG, are seven allowances, 14 in3.
        let quiz = Fill {
            conductors: vec![(14, 4)],
            grounds: vec![(14, 2)],
            yokes: vec![(14, 1)],
            ..Fill::default()
        };
        assert!((taken(&quiz, Edition::Nec2020) - 14.0).abs() < 1e-12);
    }

    #[test]
    fn grounds_are_counted_by_the_edition() {
        // 314.16(B)(5): six 12 AWG grounds are 1 allowance in 2017, and 1 + 2/4 from 2020 on: 2.25 and 3.375 in3.
        let six = Fill { grounds: vec![(12, 6)], ..Fill::default() };
        assert!((taken(&six, Edition::Nec2017) - 2.25).abs() < 1e-12);
        assert!((taken(&six, Edition::Nec2020) - 3.375).abs() < 1e-12);
        // 314.16(B)(6), 2023 only: a terminal block is one of its largest conductor.
        let block = Fill { conductors: vec![(14, 2)], terminal_blocks: vec![(14, 1)], ..Fill::default() };
        assert!((taken(&block, Edition::Nec2020) - 4.0).abs() < 1e-12);
        assert!((taken(&block, Edition::Nec2023) - 6.0).abs() < 1e-12);
    }

    #[test]
    fn a_gauge_the_table_leaves_out_is_unknown() {
        let odd = Fill { conductors: vec![(17, 1)], ..Fill::default() };
        assert_eq!(odd.cubic_inches(Edition::Nec2017), None);
    }
}
