//! The terminal views: what the design holds, to look at.
//!
//! A key becomes an [`Action`](action::Action) by the table in [`keys`], which also makes the help; [`App::act`]
//! changes what is looked at and may ask for an [`Effect`](action::Effect); only the loop has effects. Drawing takes an
//! [`App`] and fills a buffer. Views hold no facts: every row comes from a schedule.

pub mod action;
mod app;
mod draw;
mod form;
mod input;
pub mod keys;
mod ledger;
mod listing;
mod menu;
mod picture;
mod question;
mod run;
mod trying;
mod worker;

pub use app::{App, View};
pub use draw::draw;
pub use ledger::{Ledger, NoLedger, NotKept};
pub use question::{Answer, Question};
pub use run::open;
pub use trying::{Trial, Tried};
