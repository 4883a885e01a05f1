//! The terminal floor: what the program needs of a terminal, knowing nothing of jobs.
//!
//! Takes frames of ratatui and gives events. It does not use the stock event loop and backend:
//! that loop spins for ever at the end of input, takes a sequence that a slow line split for an
//! Escape key, and its backend repaints whole rows, addresses every run of cells, and queries
//! the cursor when it clears. None of that does over SSH from a building site.
//!
//! ```no_run
//! use ratatui::{Frame, Terminal};
//! use studbay::terminal::{Capabilities, Event, Events, KeyCode, Parser, Session};
//!
//! fn run(mut draw: impl FnMut(&mut Frame<'_>)) -> Result<(), Box<dyn std::error::Error>> {
//!     let mut session = Session::enter(&Capabilities::from_env())?;
//!     let hold = Parser::hold(&|name| std::env::var(name).ok());
//!     let mut events = Events::new(session.tty(), hold)?;
//!     let mut terminal = Terminal::new(session.screen())?;
//!     let mut batch = Vec::new();
//!     terminal.draw(&mut draw)?;
//!     loop {
//!         events.wait(terminal.backend().waits(), None, &mut batch)?;
//!         for event in batch.drain(..) {
//!             let screen = terminal.backend_mut();
//!             match event {
//!                 Event::Hangup | Event::Terminate | Event::Interrupt => return Ok(()), // after saving
//!                 Event::Key(key) if key.code == KeyCode::Char('q') => return Ok(()),
//!                 Event::Key(key) if key.ctrl && key.code == KeyCode::Char('l') => screen.repaint(),
//!                 Event::Key(key) if key.ctrl && key.code == KeyCode::Char('z') => {
//!                     session.suspend(screen)?;
//!                 }
//!                 Event::Suspend => drop(session.suspend(screen)?),
//!                 Event::Continue => session.resume(screen)?,
//!                 Event::Resize(size) => screen.resize(size),
//!                 Event::Writable => screen.resume_output()?,
//!                 Event::Key(_) | Event::Paste(_) | Event::Wake | Event::Deadline => {} // update the state
//!             }
//!         }
//!         terminal.draw(&mut draw)?; // one frame for all events that waited
//!     }
//! }
//! ```

pub mod caps;
pub mod clipboard;
pub mod events;
mod glyph;
mod grid;
pub mod guard;
pub mod input;
pub mod key;
mod moves;
mod pace;
mod paint;
pub mod paste;
mod pen;
mod scroll;
pub mod tty;
pub mod writer;

pub use caps::{Capabilities, Colour, Repertoire};
pub use events::{Event, Events, Waker};
pub use guard::{EnterError, Session};
pub use input::{Input, Parser};
pub use key::{Key, KeyCode};
pub use tty::{Tty, TtyWriter};
pub use writer::{OutputWaits, Screen};
