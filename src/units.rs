//! Quantities as people write them and as the study computes with them.
//!
//! Values that come from a job file are checked here, at the edge: NaN, infinities and figures out of range never get
//! further. Inside the studies a quantity is a plain `f64` whose name carries its unit (`source_watts`, `drop_volts`).

mod figure;
mod length;
mod measure;

pub use figure::{
    Amps, BadFigure, Celsius, Factor, Lumens, Money, Ohms, Percent, PowerFactor, Share, SpacingRatio, Volts,
    Watts, WattsOrNone,
};
pub use length::{BadLength, Length, LengthForm, LengthUnit};
pub use measure::{
    Area, AreaUnit, BadMeasure, Illuminance, IlluminanceUnit, Mass, MassUnit, Volume, VolumeUnit,
};
