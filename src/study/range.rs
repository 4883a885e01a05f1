//! Figures of a run over choices that are still open: from where to where, and with which choice.

use super::choice::Pick;
use super::part::RunStudy;
use crate::format::Span;
use serde::Serialize;

/// From where to where a figure goes over all open choices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Range {
    /// The least it can be.
    pub least: f64,
    /// The most it can be.
    pub most: f64,
    /// Whether both ends are reached; else it lies between them.
    pub exact: bool,
    /// A choice with which it is least; empty for a bound.
    pub least_choice: Vec<Pick>,
    /// A choice with which it is most; empty for a bound.
    pub most_choice: Vec<Pick>,
}

impl Range {
    /// Its ends, to be shown.
    pub fn span(&self) -> Span {
        Span { least: self.least, most: self.most, exact: self.exact }
    }

    /// A range known from outside only.
    pub(super) fn bound(least: f64, most: f64) -> Self {
        Self { least, most, exact: false, least_choice: Vec::new(), most_choice: Vec::new() }
    }

    /// The same with other figures at its ends, which follow from its own in the same order.
    #[must_use]
    pub(super) fn with(&self, figure: impl Fn(f64) -> f64) -> Self {
        Self { least: figure(self.least), most: figure(self.most), ..self.clone() }
    }
}

/// Which figure of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the figure of the run's study it is called")]
pub enum Of {
    SourceAmps,
    SourceWatts,
    LossWatts,
    ControlWatts,
    /// Volts at the end of a feed, by its position.
    FeedVolts(usize),
    /// Of a light, by its position.
    Volts(usize),
    Amps(usize),
    Watts(usize),
    DropVolts(usize),
    DropPercent(usize),
    /// Of a cable, by its position.
    CableAmps(usize),
    CableLoss(usize),
}

impl Of {
    /// Every figure of a run, always in the same order.
    pub(super) fn all(study: &RunStudy) -> Vec<Self> {
        let mut all = vec![Self::SourceAmps, Self::SourceWatts, Self::LossWatts, Self::ControlWatts];
        all.extend((0..study.feed_volts.len()).map(Self::FeedVolts));
        for light in 0..study.lights.len() {
            all.extend([Self::Volts(light), Self::Amps(light), Self::Watts(light)]);
            all.extend([Self::DropVolts(light), Self::DropPercent(light)]);
        }
        for cable in 0..study.cables.len() {
            all.extend([Self::CableAmps(cable), Self::CableLoss(cable)]);
        }
        all
    }

    /// The figure in a study.
    pub(super) fn read(self, study: &RunStudy) -> Option<f64> {
        match self {
            Self::SourceAmps => study.source_amps,
            Self::SourceWatts => study.source_watts,
            Self::LossWatts => study.loss_watts,
            Self::ControlWatts => study.control_watts,
            Self::FeedVolts(at) => study.feed_volts.get(at)?.1,
            Self::Volts(at) => study.lights.get(at)?.volts,
            Self::Amps(at) => study.lights.get(at)?.amps,
            Self::Watts(at) => study.lights.get(at)?.watts,
            Self::DropVolts(at) => study.lights.get(at)?.drop_volts,
            Self::DropPercent(at) => study.lights.get(at)?.drop_percent,
            Self::CableAmps(at) => study.cables.get(at)?.amps,
            Self::CableLoss(at) => study.cables.get(at)?.loss_watts,
        }
    }

    /// Puts the figure into a study.
    pub(super) fn put(self, study: &mut RunStudy, figure: Option<f64>) {
        let slot = match self {
            Self::SourceAmps => Some(&mut study.source_amps),
            Self::SourceWatts => Some(&mut study.source_watts),
            Self::LossWatts => Some(&mut study.loss_watts),
            Self::ControlWatts => Some(&mut study.control_watts),
            Self::FeedVolts(at) => study.feed_volts.get_mut(at).map(|(_, volts)| volts),
            Self::Volts(at) => study.lights.get_mut(at).map(|light| &mut light.volts),
            Self::Amps(at) => study.lights.get_mut(at).map(|light| &mut light.amps),
            Self::Watts(at) => study.lights.get_mut(at).map(|light| &mut light.watts),
            Self::DropVolts(at) => study.lights.get_mut(at).map(|light| &mut light.drop_volts),
            Self::DropPercent(at) => study.lights.get_mut(at).map(|light| &mut light.drop_percent),
            Self::CableAmps(at) => study.cables.get_mut(at).map(|cable| &mut cable.amps),
            Self::CableLoss(at) => study.cables.get_mut(at).map(|cable| &mut cable.loss_watts),
        };
        if let Some(slot) = slot {
            *slot = figure;
        }
    }

    /// Whether few are bad and many are good, as of volts.
    pub(super) const fn least_is_worst(self) -> bool {
        matches!(self, Self::Volts(_) | Self::FeedVolts(_))
    }
}

/// The ranges of the figures of a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunRanges {
    /// Each figure that has one.
    pub(super) all: Vec<(Of, Range)>,
}

impl RunRanges {
    /// The range of a figure.
    pub fn of(&self, figure: Of) -> Option<&Range> {
        self.all.iter().find(|(of, _)| *of == figure).map(|(_, range)| range)
    }

    /// Whether some of them are bounds only.
    pub fn bounds(&self) -> bool {
        self.all.iter().any(|(_, range)| !range.exact)
    }
}

/// Least and most of a figure so far, each with the number of the corner it was found in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ends {
    pub least: (f64, usize),
    pub most: (f64, usize),
}

impl Ends {
    pub(super) const fn new(value: f64, corner: usize) -> Self {
        Self { least: (value, corner), most: (value, corner) }
    }

    pub(super) fn widen(&mut self, value: f64, corner: usize) {
        if value < self.least.0 {
            self.least = (value, corner);
        }
        if value > self.most.0 {
            self.most = (value, corner);
        }
    }

    /// Widens ends, or begins them.
    pub(super) fn add(ends: &mut Option<Self>, value: Option<f64>, corner: usize) {
        let Some(value) = value else { return };
        match ends {
            Some(ends) => ends.widen(value, corner),
            None => *ends = Some(Self::new(value, corner)),
        }
    }
}
