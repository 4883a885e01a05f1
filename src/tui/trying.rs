//! What helps against the finding under the cursor, tried out aside so that no key waits for it.

use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::job::Subject;
use crate::remedy::remedies;
use crate::terminal::Waker;
use std::collections::HashMap;
use std::io;
use std::sync::mpsc::{Receiver, channel};
use std::thread;

/// What a finding is known by: what is tried clears all of a check and a cause.
type Key = (&'static str, Subject, Subject);

fn key(finding: &Finding) -> Key {
    (finding.code, finding.cause.clone(), finding.subject.clone())
}

/// What was tried against findings since the job last changed.
#[derive(Debug, Default)]
pub(super) struct Tries {
    change: u64,
    known: HashMap<Key, Vec<String>>,
}

impl Tries {
    /// The job has changed: nothing is known any more.
    pub(super) fn forget(&mut self) {
        self.change = self.change.wrapping_add(1);
        self.known.clear();
    }

    /// What helps against a finding, in words; none as long as nothing was tried, or where nothing helps.
    pub(super) fn against(&self, finding: &Finding) -> &[String] {
        self.known.get(&key(finding)).map(Vec::as_slice).unwrap_or_default()
    }

    /// What is to be tried against a finding, if it was not yet and nobody answers for it;
    /// advice is not.
    pub(super) fn trial(&self, design: &Design, finding: &Finding) -> Option<Trial> {
        // Advice is mostly to be thought about, not mended; the command line tries it all the same.
        let mends = finding.severity != Severity::Advice && finding.accepted.is_none();
        let wanted = mends && !self.known.contains_key(&key(finding));
        wanted.then(|| Trial { design: design.clone(), finding: finding.clone(), change: self.change })
    }

    /// Takes what was tried, unless the job has changed meanwhile.
    pub(super) fn take(&mut self, tried: Tried) {
        if tried.change == self.change {
            self.known.insert(tried.key, tried.texts);
        }
    }
}

/// A finding with the job it is found in.
#[derive(Debug)]
pub struct Trial {
    design: Design,
    finding: Finding,
    change: u64,
}

/// What was tried.
#[derive(Debug)]
pub struct Tried {
    key: Key,
    change: u64,
    texts: Vec<String>,
}

impl Trial {
    /// Tries it out.
    pub fn run(&self) -> Tried {
        let found = remedies(&self.design, &self.finding).into_iter();
        Tried { key: key(&self.finding), change: self.change, texts: found.map(|one| one.text).collect() }
    }

    /// Tries it out in a thread; what was tried wakes the loop.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub(super) fn start(self, waker: Waker) -> io::Result<Receiver<Tried>> {
        let (sender, news) = channel();
        thread::Builder::new().name("remedies".into()).spawn(move || {
            // Where nobody listens any more there is nobody to tell.
            let _ = sender.send(self.run());
            waker.wake();
        })?;
        Ok(news)
    }
}
