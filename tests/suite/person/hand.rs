//! A person at the keyboard: types, looks, and goes on when the screen shows what they waited for.

use crate::pty::{Opened, PATIENCE, command};
use portable_pty::CommandBuilder;
use std::path::Path;
use std::time::{Duration, Instant};
use studbay::job::Job;

/// Where the fields of a form begin on 80 columns.
const FIELD: u16 = 20;

/// The program has gone while somebody waited for its screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Gone;

/// One thing a person does, and what it makes of the job.
pub(super) struct Task {
    steps: Vec<Step>,
    /// What stands on the screen when it is done.
    pub done: String,
    /// What it does to the job, by the job's own types and not by the program's edits.
    pub does: Box<dyn Fn(&mut Job)>,
    /// Whether it may come first, wherever the cursor is.
    pub can_begin: bool,
}

#[derive(Debug, Clone)]
enum Step {
    /// Presses a key and waits for a text.
    Press(&'static str, String),
    /// Goes to a line by part of its name; the text is what then stands on the cursor's line.
    Find(String),
    /// Goes to a field of a form and types.
    Field(&'static str, String),
    /// Takes the form.
    Take,
}

impl Task {
    /// A task that ends with something made.
    pub(super) fn making(id: &str, does: impl Fn(&mut Job) + 'static) -> Self {
        let done = format!(" {id}; u undoes it");
        Self { steps: Vec::new(), done, does: Box::new(does), can_begin: false }
    }

    /// It ends with the next form open for another one.
    pub(super) fn more(mut self, word: &str) -> Self {
        let id = self.done.trim_end_matches("; u undoes it").trim().to_owned();
        self.done = format!("done: make {word} {id}");
        self.quick("\x0e")
    }

    /// A task that ends with that on the screen.
    pub(super) fn until(done: &str, does: impl Fn(&mut Job) + 'static) -> Self {
        Self { done: done.to_owned(), ..Self::making("", does) }
    }

    pub(super) fn press(mut self, keys: &'static str, shows: &str) -> Self {
        self.steps.push(Step::Press(keys, shows.to_owned()));
        self
    }

    /// It may come first.
    pub(super) fn first(mut self) -> Self {
        self.can_begin = true;
        self
    }

    /// Keys pressed without a look at what is between.
    pub(super) fn quick(self, keys: &'static str) -> Self {
        self.press(keys, "")
    }

    pub(super) fn find(mut self, name: &str) -> Self {
        self.steps.push(Step::Find(name.to_owned()));
        self.can_begin = true;
        self
    }

    pub(super) fn field(mut self, label: &'static str, text: &str) -> Self {
        self.steps.push(Step::Field(label, text.to_owned()));
        self
    }

    pub(super) fn take(mut self) -> Self {
        self.steps.push(Step::Take);
        self
    }
}

/// A person with the program open.
pub(super) struct Hand {
    pub opened: Opened,
    /// How many keys were pressed.
    pub keys: usize,
}

impl Hand {
    /// Opens a job in a terminal of 80 columns and 24 rows.
    pub(super) fn open(path: &Path) -> Self {
        Self::of("anna", path)
    }

    /// The same as a person of that name.
    pub(super) fn of(user: &str, path: &Path) -> Self {
        Self::at(command(&path.display().to_string(), &[("USER", user)]))
    }

    /// Starts a command that opens a job.
    pub(super) fn at(command: CommandBuilder) -> Self {
        Self { opened: Opened::start(command, (80, 24)), keys: 0 }
    }

    /// Opens a job and waits until it is there to be worked on.
    pub(super) fn ready(path: &Path) -> Self {
        let mut hand = Self::open(path);
        hand.see("[1 Runs]").unwrap();
        hand
    }

    /// Whether a text stands on the screen.
    pub(super) fn shows(&self, what: &str) -> bool {
        self.opened.text().contains(what)
    }

    /// The line the cursor stands on.
    pub(super) fn line(&self) -> String {
        let screen = self.opened.parser.screen();
        let row = usize::from(screen.cursor_position().0);
        screen.rows(0, u16::MAX).nth(row).unwrap_or_default()
    }

    /// Waits until the screen is as it should be.
    fn wait(&mut self, what: &str, is: impl Fn(&Self) -> bool) -> Result<(), Gone> {
        let end = Instant::now() + PATIENCE;
        while !is(self) {
            assert!(Instant::now() < end, "waited for '{what}' on\n{}", self.opened.text());
            if !self.opened.take(Duration::from_millis(20)) && self.opened.has_ended() {
                // What it still sent was on the screen.
                while self.opened.take(Duration::from_millis(5)) {}
                return if is(self) { Ok(()) } else { Err(Gone) };
            }
        }
        Ok(())
    }

    /// Waits for a text on the screen.
    pub(super) fn see(&mut self, what: &str) -> Result<(), Gone> {
        self.wait(what, |hand| hand.shows(what))
    }

    /// Waits for one text or the other, and says whether it is the first.
    pub(super) fn sees_first_of(&mut self, one: &str, other: &str) -> Result<bool, Gone> {
        self.wait(&format!("{one}' or '{other}"), |hand| hand.shows(one) || hand.shows(other))?;
        Ok(self.shows(one))
    }

    /// Waits for a text on the line of the cursor.
    fn see_here(&mut self, what: &str) -> Result<(), Gone> {
        self.wait(&format!("{what}' at the cursor, '"), |hand| hand.line().contains(what))
    }

    /// Presses keys; to a program that is gone they go nowhere.
    pub(super) fn press(&mut self, keys: &str) {
        // Shift-Tab is three bytes.
        self.keys += keys.replace("\x1b[Z", "\t").chars().count();
        self.opened.press(keys);
    }

    /// Presses keys and waits for a text.
    pub(super) fn answer(&mut self, keys: &str, shows: &str) -> Result<(), Gone> {
        self.press(keys);
        self.see(shows)
    }

    /// Does one task to its end.
    pub(super) fn work(&mut self, task: &Task) -> Result<(), Gone> {
        for step in &task.steps {
            match step {
                Step::Press(keys, shows) => self.answer(keys, shows)?,
                Step::Find(name) => self.find(name)?,
                Step::Field(label, text) => self.fill(label, text)?,
                Step::Take => self.press("\r"),
            }
        }
        self.see(&task.done)
    }

    fn find(&mut self, name: &str) -> Result<(), Gone> {
        self.press("/");
        self.press(name);
        self.see(&format!("find: {name}"))?;
        self.press("\r");
        self.wait("the prompt to go", |hand| !hand.shows("find:"))?;
        self.see_here(name)
    }

    /// Goes to a field and types, all at once as one who knows the form; then looks.
    fn fill(&mut self, label: &str, text: &str) -> Result<(), Gone> {
        let named = |line: &str| line.trim_start_matches(['>', ' ']).starts_with(label);
        let screen = self.opened.parser.screen();
        let here = usize::from(screen.cursor_position().0);
        // The views' names stand above the form.
        let there = screen.rows(0, FIELD).enumerate().skip(2).find(|(_, line)| named(line));
        let there = there.unwrap_or_else(|| panic!("no field '{label}' on\n{}", screen.contents())).0;
        let mut keys = if there < here { "\x1b[Z".repeat(here - there) } else { "\t".repeat(there - here) };
        // What stands there is replaced by what is typed.
        keys += text;
        self.press(&keys);
        self.wait(&format!("{text}' in '{label}"), |hand| {
            let line = hand.line();
            named(&line) && line.contains(text)
        })
    }

    /// Saves and leaves, and gives how the program ended.
    pub(super) fn save_and_leave(&mut self) -> u32 {
        self.answer("s", "saved ").unwrap();
        self.press("q");
        self.opened.ended()
    }
}
