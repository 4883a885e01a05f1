//! What loads draw: current and slope at a voltage.

use super::{Draw, Unsolved};

/// A draw without choices.
#[derive(Debug, Clone, Copy)]
pub(super) enum Member {
    Power(f64),
    Current(f64),
    Conductance(f64),
}

impl Member {
    /// Amps and amps per volt.
    pub(super) fn at(self, volts: f64) -> (f64, f64) {
        match self {
            Self::Power(watts) => {
                let amps = watts / volts;
                (amps, -amps / volts)
            }
            Self::Current(amps) => (amps, 0.0),
            Self::Conductance(siemens) => (siemens * volts, siemens),
        }
    }

    /// The steepest of the lines through (`volts`, `amps`) that stay under this draw from there
    /// down to 0 V: the largest `(amps - I(v))/(volts - v)` for `0 <= v < volts`.
    ///
    /// `amps` must not exceed what it draws at `volts`.
    fn support(self, volts: f64, amps: f64) -> f64 {
        match self {
            // Written as -P/(v·volts) - gap/(volts - v), which is largest where
            // (volts - v)/v = sqrt(gap·volts/P).
            Self::Power(watts) => {
                let gap = (watts / volts - amps).max(0.0);
                if gap == 0.0 {
                    return self.at(volts).1;
                }
                let v = volts / (1.0 + (gap * volts / watts).sqrt());
                if v < volts { -watts / (v * volts) - gap / (volts - v) } else { self.at(volts).1 }
            }
            // Straight lines: the chord to 0 V is the highest.
            Self::Current(own) => (amps - own).min(0.0) / volts,
            Self::Conductance(siemens) => siemens - (siemens * volts - amps).max(0.0) / volts,
        }
    }
}

/// Which of its members a load takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rule {
    Largest,
    Smallest,
}

/// A load's draw: members, and which of them counts.
#[derive(Debug, Clone)]
pub(super) struct Envelope {
    pub(super) members: Vec<Member>,
    pub(super) rule: Rule,
}

impl Envelope {
    /// Reads a draw, refusing what has no meaning.
    pub(super) fn new(draws: &Draw) -> Result<Self, Unsolved> {
        let mut members = Vec::with_capacity(1);
        let rule = match draws {
            Draw::Least(_) => Rule::Smallest,
            _ => Rule::Largest,
        };
        collect(draws, rule, &mut members, 0)?;
        if members.is_empty() {
            return Err(Unsolved::Malformed("an open choice has no members".to_owned()));
        }
        Ok(Self { members, rule: if members_are_one(draws) { Rule::Largest } else { rule } })
    }

    /// The member that counts at a voltage, with its amps and slope.
    ///
    /// Where the largest is tied the larger slope counts: iterates come from above, and that is
    /// the slope on the upper side of the kink.
    pub(super) fn at(&self, volts: f64) -> (usize, f64, f64) {
        let (mut which, (mut amps, mut slope)) = (0, self.members[0].at(volts));
        for (nth, member) in self.members.iter().enumerate().skip(1) {
            let (a, s) = member.at(volts);
            let better = match self.rule {
                Rule::Largest => a > amps || (a >= amps && s > slope),
                Rule::Smallest => a < amps,
            };
            if better {
                (which, amps, slope) = (nth, a, s);
            }
        }
        (which, amps, slope)
    }

    /// Amps at a voltage and a slope whose line stays under the draw from there down to 0 V.
    pub(super) fn under(&self, volts: f64) -> (f64, f64) {
        let (_, amps, slope) = self.at(volts);
        if self.rule == Rule::Largest {
            return (amps, slope);
        }
        let support = |steepest: f64, member: &Member| steepest.max(member.support(volts, amps));
        (amps, self.members.iter().fold(f64::NEG_INFINITY, support))
    }

    /// Whether it may draw something even as the volts go to 0.
    pub(super) fn pulls(&self) -> bool {
        self.members.iter().any(|member| match *member {
            Member::Power(_) => true,
            Member::Current(amps) => amps > 0.0,
            Member::Conductance(_) => false,
        })
    }

    /// Whether raising the watts of its powers would in the end raise its current.
    pub(super) fn follows_power(&self) -> bool {
        let driven = |member: &Member| matches!(member, Member::Power(_));
        match self.rule {
            Rule::Largest => self.members.iter().any(driven),
            Rule::Smallest => self.members.iter().all(driven),
        }
    }
}

/// Whether a choice offers one member only, so that its rule makes no difference.
fn members_are_one(draws: &Draw) -> bool {
    match draws {
        Draw::Worst(members) | Draw::Least(members) => {
            members.len() == 1 && members.iter().all(members_are_one)
        }
        _ => true,
    }
}

/// Deepest nesting of choices taken, so that no input can exhaust the stack.
const DEEPEST: usize = 16;

fn collect(draws: &Draw, rule: Rule, members: &mut Vec<Member>, depth: usize) -> Result<(), Unsolved> {
    if depth > DEEPEST {
        return Err(Unsolved::Malformed(format!("open choices nested deeper than {DEEPEST}")));
    }
    match draws {
        Draw::Power { watts } => members.push(match within(*watts, 0.0, "watts")? {
            // Nothing at any volts, 0 V among them, where no power is defined.
            0.0 => Member::Conductance(0.0),
            watts => Member::Power(watts),
        }),
        Draw::Current { amps } => members.push(Member::Current(within(*amps, 0.0, "amps")?)),
        Draw::Resistance { ohms } => {
            let ohms = within(*ohms, super::layout::SMALLEST, "ohms")?;
            members.push(Member::Conductance(1.0 / ohms));
        }
        Draw::Worst(inner) if rule == Rule::Largest => {
            inner.iter().try_for_each(|draw| collect(draw, rule, members, depth + 1))?;
        }
        Draw::Least(inner) if rule == Rule::Smallest => {
            inner.iter().try_for_each(|draw| collect(draw, rule, members, depth + 1))?;
        }
        Draw::Worst(_) | Draw::Least(_) => {
            return Err(Unsolved::Malformed("a worst and a least choice are nested".to_owned()));
        }
    }
    Ok(())
}

/// The value if it is a number from `least` to the largest that is taken.
pub(super) fn within(value: f64, least: f64, unit: &str) -> Result<f64, Unsolved> {
    if value >= least && value <= super::layout::LARGEST {
        // Turns a negative zero into a plain one.
        Ok(value + 0.0)
    } else {
        Err(Unsolved::Malformed(format!("{unit} of '{value}' are out of range")))
    }
}
