//! Keeping work: lock, log, recovery, saves. Each test has a folder of its own.

pub(crate) mod disk;
mod faults;
pub(crate) mod kill;
mod lock;
mod log;
mod save;

use crate::support::STARTER;
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use studbay::job::edit::Edit;
use studbay::job::history::{History, Refused};
use studbay::job::{Job, Kind, Subject, read, write};
use studbay::store::{KeepError, Keeper, Lock, Opened};
use tempfile::TempDir;

/// A folder with the starter job in it, written without comments.
fn house() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    fs::write(&path, text(&starter())).unwrap();
    (folder, path)
}

fn starter() -> Job {
    read::from_str("starter", STARTER).unwrap().0
}

fn text(job: &Job) -> String {
    write::to_string(job).unwrap()
}

fn open(path: &Path) -> Opened {
    Keeper::open(path).unwrap_or_else(|error| panic!("{error}"))
}

/// The names of what is in the folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn beside(path: &Path, word: &str) -> PathBuf {
    PathBuf::from(format!("{}.{word}", path.display()))
}

/// An editor without a screen.
struct Desk {
    keeper: Keeper,
    job: Job,
    history: History,
}

impl Desk {
    /// Opens a job that nobody else has open and of which nothing is to be restored.
    fn at(path: &Path) -> Self {
        let opened = open(path);
        assert_eq!(opened.lock, Lock::Held);
        assert_eq!(opened.recovered, None);
        assert_eq!(opened.notes, [""; 0]);
        Self { keeper: opened.keeper, job: opened.job, history: History::new() }
    }

    fn name(&mut self, id: &str, name: &str) -> Result<(), Refused<KeepError>> {
        let subject = Subject::new(Kind::Fixture, id);
        let edit = Edit::Set { subject, field: "name".into(), value: json!(name) };
        let Self { keeper, job, history } = self;
        history.perform(job, format!("name {id} {name}"), edit, |step| keeper.record(step))
    }

    fn undo(&mut self) {
        let Self { keeper, job, history } = self;
        assert!(history.undo(job, |step| keeper.record(step)).unwrap().is_some());
    }

    fn redo(&mut self) {
        let Self { keeper, job, history } = self;
        assert!(history.redo(job, |step| keeper.record(step)).unwrap().is_some());
    }

    fn save(&mut self) {
        self.keeper.save(&self.job).unwrap_or_else(|error| panic!("{error}"));
        self.history.saved();
    }
}
