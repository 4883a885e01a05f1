//! Where a pair is bridged: its place from readings at both ends, with the bridge's own resistance solved for.
//!
//! The pair is one conductor out and one back of `S` ohms in all, bridged by `B` ohms at the share `x` of its length.
//! From the near end with nothing joined a meter reads `x·S + B`, from the far end `(1 - x)·S + B`. Their difference
//! gives the place whatever the bridge is, their sum the bridge. Joined at the other end, the rest of the cable lies
//! across the bridge. What is known beforehand (gauge, length, how far the meter may be off) is fitted with the readings
//! by weighted least squares; limits are taken as half widths of even distributions, and twice the standard deviation is
//! stated, after the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008, 4.3.7 and 6.3.3).

use crate::job::site::End;

/// Steps after which a fit that still moves is given up.
const STEPS: usize = 60;
/// Coverage factor for about 95 % (JCGM 100:2008, 6.3.3).
const COVERAGE: f64 = 2.0;

/// Where a reading of ohms was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Where {
    /// One conductor end to end.
    Conductor,
    /// The pair from an end with nothing joined.
    Across(End),
    /// The pair from an end, joined at a share of the length counted from the near end.
    Joined {
        /// Where it was measured.
        from: End,
        /// Where it is joined, 0 to 1.
        at: f64,
    },
}

/// A reading with how far it may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// Where it was taken.
    pub of: Where,
    /// Ohms, the leads taken off.
    pub ohms: f64,
    /// How far off it may be in proportion to it, as a share: the same for all readings with one meter.
    pub gain_off: f64,
    /// Which meter, by any number.
    pub meter: usize,
    /// How far off it may be beside that, ohms.
    pub ohms_off: f64,
    /// The resistance at which it was taken over that of the conductors at the temperature of the fit.
    pub warmth: f64,
}

/// What is known of the cable before it is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cable {
    /// Ohms of one conductor end to end.
    pub conductor_ohms: f64,
    /// The pair as a multiple of that.
    pub pair_factor: f64,
    /// How far the copper may be off, as a share.
    pub copper_off: f64,
    /// Its length in metres.
    pub metres: f64,
    /// How far that may be off, as a share.
    pub length_off: f64,
}

/// The place of a bridge.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The share of the cable from its near end.
    pub share: f64,
    /// Within so much, about 19 times in 20.
    pub share_off: f64,
    /// Metres along the cable from its near end.
    pub metres: f64,
    /// Within so much, about 19 times in 20.
    pub metres_off: f64,
    /// The bridge's own resistance in ohms.
    pub ohms: f64,
    /// Within so much.
    pub ohms_off: f64,
    /// How far each reading is from what was fitted, in its own standard deviations.
    pub residuals: Vec<f64>,
}

/// The unknowns: the share, the bridge, how far a conductor's ohms are off as a share, how far its length is, then one
/// gain a meter. What the ohms are off beyond the length is the copper.
const SHARE: usize = 0;
const BRIDGE: usize = 1;
const OHMS: usize = 2;
const LENGTH: usize = 3;
const GAINS: usize = 4;

/// Places a bridge. It needs a reading of the pair from each end; `None` without that, or if nothing fits.
pub fn place(cable: &Cable, seen: &[Observed]) -> Option<Place> {
    let from = |end: End| {
        seen.iter().any(|one| match one.of {
            Where::Across(at) => at == end,
            Where::Joined { from, .. } => from == end,
            Where::Conductor => false,
        })
    };
    if !from(End::Near) || !from(End::Far) {
        return None;
    }
    let starts = [0.1, 0.3, 0.5, 0.7, 0.9].into_iter();
    let fits = starts.filter_map(|share| fit(cable, seen, share));
    let best = fits.min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    let gradient = |of: usize| {
        let mut gradient = vec![0.0; best.at.len()];
        gradient[of] = 1.0;
        gradient
    };
    let (share, length) = (best.at[SHARE], 1.0 + best.at[LENGTH]);
    let mut along = gradient(SHARE);
    along[SHARE] = cable.metres * length;
    along[LENGTH] = cable.metres * share;
    Some(Place {
        share,
        share_off: COVERAGE * best.deviation(&gradient(SHARE)),
        metres: share * cable.metres * length,
        metres_off: COVERAGE * best.deviation(&along),
        ohms: best.at[BRIDGE].max(0.0),
        ohms_off: COVERAGE * best.deviation(&gradient(BRIDGE)),
        residuals: seen.iter().map(|one| (one.ohms - model(cable, &best.at, one)) / deviation(one)).collect(),
    })
}

/// The standard deviation of what is evenly spread within a limit.
fn even(limit: f64) -> f64 {
    limit.max(1e-9) / 3_f64.sqrt()
}

fn deviation(one: &Observed) -> f64 {
    even(one.ohms_off)
}

/// What a meter would read.
fn model(cable: &Cable, at: &[f64], one: &Observed) -> f64 {
    let conductor = cable.conductor_ohms * (1.0 + at[OHMS]) * one.warmth;
    let pair = conductor * cable.pair_factor;
    let (share, bridge) = (at[SHARE], at[BRIDGE]);
    let ohms = match one.of {
        Where::Conductor => conductor,
        Where::Across(End::Near) => share * pair + bridge,
        Where::Across(End::Far) => (1.0 - share) * pair + bridge,
        Where::Joined { from: End::Near, at } => joined(share, at, pair, bridge),
        Where::Joined { from: End::Far, at } => joined(1.0 - share, 1.0 - at, pair, bridge),
    };
    ohms * (1.0 + at.get(GAINS + one.meter).copied().unwrap_or(0.0))
}

/// Ohms of the pair joined at a share of its length, with a bridge at another.
fn joined(share: f64, at: f64, pair: f64, bridge: f64) -> f64 {
    if at <= share {
        return at * pair;
    }
    let rest = (at - share) * pair;
    let both = bridge + rest;
    // A bridge that the fit tries below zero must not divide by nothing.
    if both.abs() < 1e-12 { share * pair } else { share * pair + bridge * rest / both }
}

/// What is known before anything is read, as standard deviations.
struct Prior {
    copper: f64,
    length: f64,
    gains: Vec<f64>,
}

/// A fit that has come to rest.
struct Fit {
    at: Vec<f64>,
    cost: f64,
    covariance: Vec<Vec<f64>>,
}

impl Fit {
    /// The standard deviation of what changes like that with the unknowns.
    fn deviation(&self, gradient: &[f64]) -> f64 {
        let row = |row: &Vec<f64>| -> f64 { row.iter().zip(gradient).map(|(c, g)| c * g).sum() };
        let variance: f64 = self.covariance.iter().zip(gradient).map(|(r, g)| row(r) * g).sum();
        variance.max(0.0).sqrt()
    }
}

/// Gauss and Newton with a damping after Levenberg, from one place.
fn fit(cable: &Cable, seen: &[Observed], share: f64) -> Option<Fit> {
    let meters = seen.iter().map(|one| one.meter + 1).max().unwrap_or(0);
    let count = GAINS + meters;
    let mut at = vec![0.0; count];
    at[SHARE] = share;
    at[BRIDGE] = cable.conductor_ohms.max(0.01) / 10.0;
    let prior = Prior {
        copper: even(cable.copper_off),
        length: even(cable.length_off),
        gains: (0..meters)
            .map(|meter| {
                let of_meter = seen.iter().filter(|one| one.meter == meter).map(|one| one.gain_off);
                even(of_meter.fold(0.0, f64::max))
            })
            .collect(),
    };
    let cost = |at: &[f64]| -> f64 {
        let misses = seen.iter().map(|one| ((one.ohms - model(cable, at, one)) / deviation(one)).powi(2));
        let gains = at[GAINS..].iter().zip(&prior.gains).map(|(gain, prior)| (gain / prior).powi(2));
        let copper = (at[OHMS] - at[LENGTH]) / prior.copper;
        let length = at[LENGTH] / prior.length;
        misses.sum::<f64>() + gains.sum::<f64>() + copper * copper + length * length
    };
    let (mut now, mut damping) = (cost(&at), 1e-3);
    for _ in 0..STEPS {
        let (matrix, slope) = normal(cable, seen, &prior, &at);
        let mut damped = matrix.clone();
        for (nth, row) in damped.iter_mut().enumerate() {
            row[nth] *= 1.0 + damping;
        }
        let step = solve(damped, slope)?;
        let next: Vec<f64> = at.iter().zip(&step).map(|(at, step)| at + step).collect();
        let then = cost(&next);
        if then.is_finite() && then <= now {
            let settled = now - then < 1e-10 * (1.0 + now);
            (at, now) = (next, then);
            damping = (damping / 10.0).max(1e-12);
            if settled {
                break;
            }
        } else {
            damping *= 10.0;
            if damping > 1e9 {
                break;
            }
        }
    }
    let (matrix, _) = normal(cable, seen, &prior, &at);
    let unit = |nth: usize| (0..count).map(|of| f64::from(u8::from(of == nth))).collect::<Vec<f64>>();
    let covariance: Option<Vec<Vec<f64>>> = (0..count).map(|nth| solve(matrix.clone(), unit(nth))).collect();
    // A place off the cable is that of its end, if the doubt reaches it; a fit far off it has found nothing.
    let known = now.is_finite() && (-0.5..=1.5).contains(&at[SHARE]) && at[OHMS] > -0.9;
    known.then_some(Fit { at, cost: now, covariance: covariance? })
}

/// The normal equations at a place.
fn normal(cable: &Cable, seen: &[Observed], prior: &Prior, at: &[f64]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let count = at.len();
    let (mut matrix, mut slope) = (vec![vec![0.0; count]; count], vec![0.0; count]);
    for one in seen {
        let here = model(cable, at, one);
        let gradient: Vec<f64> = (0..count)
            .map(|of| {
                let mut there = at.to_vec();
                let step = 1e-6 * at[of].abs().max(1e-2);
                there[of] += step;
                (model(cable, &there, one) - here) / step
            })
            .collect();
        let weight = deviation(one).powi(-2);
        for row in 0..count {
            slope[row] += weight * gradient[row] * (one.ohms - here);
            for column in 0..count {
                matrix[row][column] += weight * gradient[row] * gradient[column];
            }
        }
    }
    let (copper, length) = (prior.copper.powi(-2), prior.length.powi(-2));
    matrix[OHMS][OHMS] += copper;
    matrix[LENGTH][LENGTH] += copper + length;
    matrix[OHMS][LENGTH] -= copper;
    matrix[LENGTH][OHMS] -= copper;
    slope[OHMS] -= copper * (at[OHMS] - at[LENGTH]);
    slope[LENGTH] += copper * (at[OHMS] - at[LENGTH]) - length * at[LENGTH];
    for (nth, prior) in (GAINS..).zip(&prior.gains) {
        let weight = prior.powi(-2);
        matrix[nth][nth] += weight;
        slope[nth] -= weight * at[nth];
    }
    (matrix, slope)
}

/// Solves a small system by elimination with the largest pivot; `None` if it has no one solution.
fn solve(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let count = right.len();
    for pivot in 0..count {
        let best =
            (pivot..count).max_by(|a, b| matrix[*a][pivot].abs().total_cmp(&matrix[*b][pivot].abs()))?;
        if matrix[best][pivot].abs() < 1e-300 {
            return None;
        }
        matrix.swap(pivot, best);
        right.swap(pivot, best);
        for row in pivot + 1..count {
            let factor = matrix[row][pivot] / matrix[pivot][pivot];
            let above = matrix[pivot].clone();
            for (value, above) in matrix[row].iter_mut().zip(above).skip(pivot) {
                *value -= factor * above;
            }
            right[row] -= factor * right[pivot];
        }
    }
    let mut solution = vec![0.0; count];
    for row in (0..count).rev() {
        let known: f64 = (row + 1..count).map(|column| matrix[row][column] * solution[column]).sum();
        solution[row] = (right[row] - known) / matrix[row][row];
    }
    solution.iter().all(|value| value.is_finite()).then_some(solution)
}
