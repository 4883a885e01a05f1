//! The loop: waits for keys, lets the app act, draws, and does what the app asks for. Only here are effects.

use super::action::Effect;
use super::app::App;
use super::draw::draw;
use crate::design::Design;
use crate::job::read;
use crate::schedule::canvas::LineSet;
use crate::store;
use crate::terminal::{
    Capabilities, Event, Events, Parser, Repertoire, Screen, Session, TtyWriter, clipboard,
};
use anyhow::Context;
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use std::path::Path;

/// Names what is to go wrong on purpose, so that a test can see the terminal restored: `draw` panics in the first frame.
const PANIC_VARIABLE: &str = "STUDBAY_PANIC";

/// Opens the views on a job file and comes back when they are closed.
///
/// # Errors
/// When the file can't be used, there is no terminal, or the terminal can't be written.
///
/// # Panics
/// Only where the environment asks for it, for a test.
pub fn open(path: &Path) -> anyhow::Result<()> {
    let file = path.display().to_string();
    let mut app = App::new(load(path)?, &file, Box::new(super::NoLedger));
    let caps = Capabilities::from_env();
    app.set_lines(if caps.repertoire == Repertoire::Ascii { LineSet::Ascii } else { LineSet::Cp437 });
    let mut session = Session::enter(&caps)
        .context("cannot open the views; 'studbay sheet' and 'studbay check' work without a terminal")?;
    let hold = Parser::hold(&|name| std::env::var(name).ok());
    let mut events = Events::new(session.tty(), hold).context("cannot wait for the terminal")?;
    let mut screen = session.screen();
    let mut buffer = Buffer::empty(area(session.tty().size()));
    let panics = std::env::var(PANIC_VARIABLE).is_ok_and(|what| what == "draw");
    let mut batch = Vec::new();
    loop {
        frame(&mut app, &mut buffer, &mut screen)?;
        assert!(!panics, "{PANIC_VARIABLE} asked for this");
        events.wait(screen.waits(), None, &mut batch).context("cannot wait for the terminal")?;
        for event in batch.drain(..) {
            if !take(event, path, &mut app, &mut session, &mut screen, &mut buffer)? {
                return Ok(());
            }
        }
    }
}

fn load(path: &Path) -> anyhow::Result<Design> {
    let most = u64::try_from(read::MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(path, most)?;
    let (job, _) = read::from_str(&path.display().to_string(), &text)?;
    Ok(Design::derive(job))
}

const fn area(size: Size) -> Rect {
    Rect { x: 0, y: 0, width: size.width, height: size.height }
}

fn frame(app: &mut App, buffer: &mut Buffer, screen: &mut Screen<TtyWriter>) -> anyhow::Result<()> {
    buffer.reset();
    let cursor = draw(app, buffer.area, buffer);
    screen.present(buffer, cursor).context("cannot draw")
}

/// Takes one event; false when it is time to leave.
fn take(
    event: Event,
    path: &Path,
    app: &mut App,
    session: &mut Session,
    screen: &mut Screen<TtyWriter>,
    buffer: &mut Buffer,
) -> anyhow::Result<bool> {
    let effect = match event {
        Event::Key(key) => app.key(key),
        Event::Paste(text) => {
            app.paste(&text);
            Effect::None
        }
        Event::Resize(size) => {
            screen.resize(size);
            buffer.resize(area(size));
            Effect::None
        }
        Event::Hangup | Event::Terminate | Event::Interrupt => Effect::Quit,
        Event::Suspend => Effect::Suspend,
        Event::Continue => {
            session.resume(screen).context("cannot take the terminal back")?;
            buffer.resize(area(session.tty().size()));
            Effect::None
        }
        Event::Writable => {
            screen.resume_output().context("cannot draw")?;
            Effect::None
        }
        Event::Wake | Event::Deadline => Effect::None,
    };
    match effect {
        Effect::None => {}
        Effect::Quit => return Ok(false),
        Effect::Repaint => screen.repaint(),
        Effect::Save => app.say("saving comes with the keeper"),
        Effect::Copy(text) => match clipboard::copy(&text) {
            Some(bytes) => {
                screen.send_aside(&bytes).context("cannot draw")?;
                app.say("copied, if the terminal takes it");
            }
            None => app.say("too long to copy"),
        },
        Effect::Suspend => {
            session.suspend(screen).context("cannot stop")?;
            buffer.resize(area(session.tty().size()));
        }
        Effect::Reload => match load(path) {
            Ok(design) => app.replaced(design.job),
            // The views stay on what was read before; the first line says what is wrong with the file now.
            Err(error) => app.say(format!("{error:#}").lines().next().unwrap_or_default().to_owned()),
        },
    }
    Ok(true)
}
