//! Box fill: NEC 314.16(B), by edition.

use crate::format::Quantity;
use crate::job::Edition;
use crate::working::{Input, Number, Origin};

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
        self.taken(edition)
    }

    /// The same with its working: 314.16(B)(1) to (6).
    pub fn taken<N: Number>(&self, edition: Edition) -> Option<N> {
        let sum = |counts: &[(u8, u32)], each: Option<f64>, of: &str| {
            counts.iter().filter(|(_, count)| *count > 0).try_fold(None, |sum: Option<N>, &(gauge, count)| {
                let one = of_gauge::<N>(gauge)? * counted(f64::from(count), of);
                let all = match each {
                    Some(each) => one * counted(each, "allowances for each"),
                    None => one,
                };
                Some(Some(match sum {
                    Some(sum) => sum + all,
                    None => all,
                }))
            })
        };
        let clamps = f64::from(u8::from(self.internal_clamps)) + f64::from(self.stud_kinds);
        let mut taken = sum(&self.conductors, None, "conductors")?;
        let mut add = |more: Option<N>| {
            taken = match (taken.take(), more) {
                (Some(taken), Some(more)) => Some(taken + more),
                (one, other) => one.or(other),
            };
        };
        add(sum(&self.yokes, Some(2.0), "yokes")?);
        if clamps > 0.0 {
            let gauge = self.conductors.iter().chain(&self.grounds).map(|(gauge, _)| *gauge).min();
            add(gauge.and_then(|gauge| Some(of_gauge::<N>(gauge)? * counted(clamps, "clamps and studs"))));
        }
        add(self.grounds(edition)?);
        if edition == Edition::Nec2023 {
            add(sum(&self.terminal_blocks, None, "terminal blocks")?);
        }
        // Every gauge must have an allowance, whether it counts or not.
        let all = self.conductors.iter().chain(&self.grounds).chain(&self.yokes);
        all.map(|(gauge, _)| allowance(*gauge)).collect::<Option<Vec<f64>>>()?;
        Some(taken.unwrap_or_else(|| N::constant(0.0)))
    }

    /// 314.16(B)(5): all grounds are one in 2017; from 2020 on up to four are one, and each further one a quarter, of
    /// the largest ground.
    #[expect(
        clippy::option_option,
        reason = "no grounds are none, a gauge that the table leaves out is unknown"
    )]
    fn grounds<N: Number>(&self, edition: Edition) -> Option<Option<N>> {
        let count: u32 = self.grounds.iter().map(|(_, count)| count).sum();
        if count == 0 {
            return Some(None);
        }
        let gauge = self.grounds.iter().map(|(gauge, _)| *gauge).min()?;
        let further = if edition == Edition::Nec2017 { 0 } else { count.saturating_sub(4) };
        let shares = counted(1.0 + 0.25 * f64::from(further), "allowance for the grounds, by the edition");
        Some(Some(of_gauge::<N>(gauge)? * shares))
    }
}

/// The allowance of a gauge, as an input.
fn of_gauge<N: Number>(gauge: u8) -> Option<N> {
    let volume = allowance(gauge)?;
    Some(N::input(volume, || {
        let table = Origin::Table("NEC table 314.16(B) (2017, 2020), 314.16(B)(1) (2023)");
        Input::new(format!("in3 for {gauge} AWG"), Quantity::CubicInches, table)
    }))
}

fn counted<N: Number>(count: f64, of: &str) -> N {
    N::input(count, || Input::new(of, Quantity::Count, Origin::Count("what enters the box as drawn".into())))
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
