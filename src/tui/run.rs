//! The loop: waits for keys, lets the app act, draws, and does what the app asks for. Only here are effects.

mod files;

use super::action::Effect;
use super::app::App;
use super::draw::draw;
use super::ledger::{Ledger, NotKept};
use super::question::Question;
use super::trying::Tried;
use super::worker::Worker;
use crate::design::Design;
use crate::job::history::{Entry, History};
use crate::schedule::canvas::LineSet;
use crate::store::{KeepError, Keeper, Lock, Opened, Recovered, Unsaved};
use crate::terminal::{
    Capabilities, Event, Events, Parser, Repertoire, Screen, Session, TtyWriter, Waker, clipboard,
};
use anyhow::Context;
use jiff::tz::TimeZone;
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::mpsc::Receiver;

/// Names what is to go wrong on purpose, so that a test can see the terminal restored: `draw` panics in the first frame.
const PANIC_VARIABLE: &str = "STUDBAY_PANIC";

/// The app keeps what is done through the same keeper that the loop saves with.
#[derive(Debug)]
struct Kept(Rc<RefCell<Keeper>>);

impl Ledger for Kept {
    fn keep(&mut self, entry: &Entry<'_>) -> Result<(), NotKept> {
        self.0.borrow_mut().record(entry).map_err(|error| NotKept(error.to_string()))
    }
}

/// How the views were left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Left {
    /// A person left them.
    Asked,
    /// The line is gone, or the system wants the program to end.
    Forced,
}

/// Opens the views on a job file and comes back when they are closed.
///
/// # Errors
/// When the file can't be used, there is no terminal, or the terminal can't be written.
///
/// # Panics
/// Only where the environment asks for it, for a test.
pub fn open(path: &Path) -> anyhow::Result<()> {
    let caps = Capabilities::from_env();
    let Opened { keeper, job, lock, recovered, notes, .. } = Keeper::open(path)?;
    let mut session = Session::enter(&caps)
        .context("cannot open the views; 'studbay sheet' and 'studbay check' work without a terminal")?;
    let hold = Parser::hold(&|name| std::env::var(name).ok());
    let mut events = Events::new(session.tty(), hold).context("cannot wait for the terminal")?;
    let keeper = Rc::new(RefCell::new(keeper));
    let mut app =
        App::new(Design::derive(job), &path.display().to_string(), Box::new(Kept(Rc::clone(&keeper))));
    app.set_today(jiff::ZonedDateTime::now().date());
    app.set_lines(if caps.repertoire == Repertoire::Ascii { LineSet::Ascii } else { LineSet::Cp437 });
    greet(&mut app, &lock, recovered.as_ref(), &notes);
    let mut shell = Shell {
        screen: session.screen(),
        buffer: Buffer::empty(area(session.tty().size())),
        keeper,
        path: path.to_owned(),
        recovered,
        waker: events.waker(),
        worker: None,
        trying: None,
    };
    let panics = std::env::var(PANIC_VARIABLE).is_ok_and(|what| what == "draw");
    let mut batch = Vec::new();
    let left = 'views: loop {
        shell.frame(&mut app)?;
        assert!(!panics, "{PANIC_VARIABLE} asked for this");
        let due = shell.keeper.borrow().sync_due();
        events.wait(shell.screen.waits(), due, &mut batch).context("cannot wait for the terminal")?;
        for event in batch.drain(..) {
            if let Some(left) = shell.take(event, &mut app, &mut session)? {
                break 'views left;
            }
        }
    };
    let unsaved = if app.changed_since_save() { Unsaved::Keep } else { Unsaved::None };
    drop(app);
    let kept = match (left, Rc::try_unwrap(shell.keeper)) {
        (Left::Forced, Ok(keeper)) => {
            keeper.into_inner().emergency();
            false
        }
        (Left::Asked, Ok(keeper)) => {
            keeper.into_inner().close(unsaved);
            unsaved == Unsaved::Keep
        }
        (_, Err(_)) => false,
    };
    session.leave();
    if kept {
        let said = "studbay: unsaved changes are kept; the next start on this job offers them\n";
        // After the terminal is back: where it can't be said there is nobody to tell.
        let _ = std::io::Write::write_all(&mut std::io::stderr(), said.as_bytes());
    }
    Ok(())
}

/// Says who has the job open, what there is to know, and asks about work that was not saved.
fn greet(app: &mut App, lock: &Lock, recovered: Option<&Recovered>, notes: &[String]) {
    match lock {
        Lock::Held => {}
        Lock::HeldBy(Some(holder)) => app.set_read_only(format!("{holder} has it open")),
        Lock::HeldBy(None) => app.set_read_only("somebody has it open"),
        Lock::ReadOnly(reason) => app.set_read_only(reason.clone()),
    }
    if let Some(reason) = app.read_only.clone() {
        app.say(format!("read only: {reason}"));
    } else if !notes.is_empty() {
        app.say(notes.join("; "));
    }
    if let Some(recovered) = recovered.filter(|_| *lock == Lock::Held) {
        let when = recovered
            .last
            .map(|last| last.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string());
        app.ask(Question::about_recovered(recovered.labels(), when.as_deref()));
    }
}

const fn area(size: Size) -> Rect {
    Rect { x: 0, y: 0, width: size.width, height: size.height }
}

/// What the loop works with.
struct Shell {
    screen: Screen<TtyWriter>,
    buffer: Buffer,
    keeper: Rc<RefCell<Keeper>>,
    path: PathBuf,
    recovered: Option<Recovered>,
    waker: Waker,
    worker: Option<Worker>,
    trying: Option<Receiver<Tried>>,
}

impl Shell {
    fn frame(&mut self, app: &mut App) -> anyhow::Result<()> {
        self.buffer.reset();
        let cursor = draw(app, self.buffer.area, &mut self.buffer);
        self.screen.present(&self.buffer, cursor).context("cannot draw")?;
        self.try_out(app);
        Ok(())
    }

    /// Begins to try out what helps against the finding that is shown, one at a time. What can't be tried out stays as it
    /// is said in general.
    fn try_out(&mut self, app: &App) {
        if self.trying.is_none() {
            self.trying = app.trial().and_then(|trial| trial.start(self.waker.clone()).ok());
        }
    }

    /// Takes one event, and says how the views were left if they were.
    fn take(&mut self, event: Event, app: &mut App, session: &mut Session) -> anyhow::Result<Option<Left>> {
        let effect = match event {
            Event::Key(key) => app.key(key),
            Event::Paste(text) => {
                app.paste(&text);
                Effect::None
            }
            Event::Resize(size) => {
                self.screen.resize(size);
                self.buffer.resize(area(size));
                Effect::None
            }
            Event::Hangup | Event::Terminate | Event::Interrupt => return Ok(Some(Left::Forced)),
            Event::Suspend => Effect::Suspend,
            Event::Continue => {
                session.resume(&mut self.screen).context("cannot take the terminal back")?;
                self.buffer.resize(area(session.tty().size()));
                Effect::None
            }
            Event::Writable => {
                self.screen.resume_output().context("cannot draw")?;
                Effect::None
            }
            Event::Wake => {
                for news in self.worker.iter().flat_map(Worker::news) {
                    app.search_news(news);
                }
                if let Some(tried) = self.trying.as_ref().and_then(|trying| trying.try_recv().ok()) {
                    self.trying = None;
                    app.tried(tried);
                }
                Effect::None
            }
            Event::Deadline => {
                if let Err(error) = self.keeper.borrow_mut().sync() {
                    app.say(format!("{error}"));
                }
                Effect::None
            }
        };
        self.perform(effect, app, session)
    }

    fn perform(
        &mut self,
        effect: Effect,
        app: &mut App,
        session: &mut Session,
    ) -> anyhow::Result<Option<Left>> {
        match effect {
            // What an answer takes is done by the app.
            Effect::None | Effect::Take(_) => {}
            Effect::Quit => return Ok(Some(Left::Asked)),
            Effect::Repaint => self.screen.repaint(),
            Effect::Suspend => {
                session.suspend(&mut self.screen).context("cannot stop")?;
                self.buffer.resize(area(session.tty().size()));
            }
            Effect::Copy(text) => match clipboard::copy(&text) {
                Some(bytes) => {
                    self.screen.send_aside(&bytes).context("cannot draw")?;
                    app.say("copied, if this terminal takes it");
                }
                None => app.say("too long for the clipboard"),
            },
            Effect::Save => self.save(app, Keeper::save),
            Effect::SaveOver => self.save(app, Keeper::save_over),
            Effect::SaveBeside => self.save_beside(app),
            Effect::Restore => self.restore(app),
            Effect::DropRecovered => {
                self.recovered = None;
                self.keeper.borrow_mut().drop_recovered();
                app.say("let go");
            }
            Effect::Reload => self.reload(app),
            Effect::Search => self.search(app),
            Effect::EndSearch => {
                if let Some(worker) = &self.worker {
                    worker.end();
                }
            }
            Effect::ReadJob(path) => match files::other_job(&path) {
                Ok(job) => app.take_over_from(&path.display().to_string(), &job),
                Err(error) => app.say(format!("nothing taken over: {error:#}")),
            },
            Effect::Compare => match files::other_job(&self.path) {
                Ok(job) => app.compare_with(&self.path.display().to_string(), &job),
                Err(error) => app.say(format!("nothing compared: {error:#}")),
            },
            Effect::ReadTable(path) => match files::text_of(&path, crate::intake::MOST_BYTES) {
                Ok(text) => app.take_table(&path.display().to_string(), &text),
                Err(error) => app.say(format!("nothing read: {error:#}")),
            },
            Effect::WriteTable(path) => match files::write_table(&path, &app.design().job) {
                Ok(said) => app.say(said),
                Err(error) => app.say(format!("nothing written: {error:#}")),
            },
        }
        Ok(None)
    }

    /// Searches in a thread, in place of the search before.
    fn search(&mut self, app: &mut App) {
        let Some((design, asked)) = app.search_task() else { return };
        match Worker::start(design, asked, self.waker.clone()) {
            Ok(worker) => self.worker = Some(worker),
            Err(error) => {
                app.search_news(crate::plan::balance::News::Done);
                app.say(format!("nothing is searched: {error}"));
            }
        }
    }

    fn save(
        &mut self,
        app: &mut App,
        save: fn(&mut Keeper, &crate::job::Job) -> Result<crate::store::Saved, KeepError>,
    ) {
        let saved = save(&mut self.keeper.borrow_mut(), &app.design().job);
        match saved {
            Ok(saved) => {
                app.saved();
                if let Some(orig) = saved.orig {
                    app.say(format!("saved; the file as it was is kept as {}", orig.display()));
                }
            }
            Err(error @ KeepError::Changed(..)) => {
                app.ask(Question::about_changed(&error.to_string()));
            }
            Err(error) => app.say(format!("{error}")),
        }
    }

    /// Saves under a free name beside the file, and goes on with that.
    fn save_beside(&mut self, app: &mut App) {
        let stem = self.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let free = (2..1000)
            .map(|number| self.path.with_file_name(format!("{stem}-{number}.ron")))
            .find(|path| !path.exists());
        let Some(path) = free else {
            app.say("no free name beside the file");
            return;
        };
        let done = self.keeper.borrow_mut().save_beside(&path, &app.design().job);
        match done {
            Ok((lock, notes)) => {
                app.saved_as(&path.display().to_string());
                self.path = path;
                greet(app, &lock, None, &notes);
            }
            Err(error) => app.say(format!("{error}")),
        }
    }

    fn restore(&mut self, app: &mut App) {
        let Some(recovered) = self.recovered.take() else { return };
        let restored = self.keeper.borrow_mut().restore(&recovered);
        match restored {
            Ok(()) => {
                let count = recovered.history.done().len();
                app.replaced(recovered.job, recovered.history);
                app.say(format!("restored {count} changes; they are not saved yet"));
            }
            Err(error) => {
                app.set_read_only(format!("what was done could not be restored: {error}"));
                app.say(format!("{error}"));
            }
        }
    }

    fn reload(&mut self, app: &mut App) {
        let read = self.keeper.borrow_mut().reload();
        match read {
            Ok((job, _)) => {
                app.replaced(job, History::new());
                app.say("read again");
            }
            // The views stay on what was read before; the first line says what is wrong with the file now.
            Err(error) => app.say(format!("{error:#}").lines().next().unwrap_or_default().to_owned()),
        }
    }
}
