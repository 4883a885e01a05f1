//! The site: what a meter should read, what its readings tell of a cable, how far the work is, and which fixtures may
//! still be chosen.
//!
//! Pure functions of the design and of the records in its job. Readings tell of the copper they go through and of
//! nothing else; what they can't tell is said with what they can.

mod bridge;
mod choice;
mod diagnose;
mod expect;
mod line;
mod open;
mod progress;
mod service;

pub use bridge::{Cable, Observed, Place, Where, place};
pub use choice::{Choice, ChoiceState, LoopChoices, Need, choices};
pub use diagnose::{Diagnosis, Fault, Verdict, diagnose};
pub use expect::{Band, Expected, Judged, LEAST_INSULATION, Taking, expected, judged, usual_meter};
pub use line::{Line, LineKind, Stop, line, lines};
pub use open::{Bracket, Point, bracket};
pub use progress::{Blocks, RoomProgress, Stand, progress, stands};
pub use service::{Dark, On, Shared, Substitute, dark, substitute};
