//! The search of a balance in a thread of its own, so that keys are taken while it goes on.

use crate::design::Design;
use crate::plan::balance::{Asked, News, search};
use crate::terminal::Waker;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::thread;

/// News of progress comes in steps of so many percent: each makes a frame.
const STEP: u8 = 5;

/// A search that goes on.
#[derive(Debug)]
pub(super) struct Worker {
    end: Arc<AtomicBool>,
    news: Receiver<News>,
}

impl Worker {
    /// Begins to search; each piece of news wakes the loop.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub(super) fn start(design: Design, asked: Asked, waker: Waker) -> io::Result<Self> {
        let end = Arc::new(AtomicBool::new(false));
        let (sender, news) = channel();
        let told = Arc::clone(&end);
        thread::Builder::new().name("balance".into()).spawn(move || {
            let mut said = 0;
            search(&design, &asked, &mut |news| {
                let on = !told.load(Ordering::Relaxed);
                match news {
                    News::Progress(percent) if percent < said + STEP => return on,
                    News::Progress(percent) => said = percent,
                    News::Better(_) | News::Done => {}
                }
                // Where nobody listens any more, it ends.
                let heard = sender.send(news).is_ok();
                waker.wake();
                on && heard
            });
        })?;
        Ok(Self { end, news })
    }

    /// Tells it to end; what it has comes as news.
    pub(super) fn end(&self) {
        self.end.store(true, Ordering::Relaxed);
    }

    /// The news since the last time.
    pub(super) fn news(&self) -> impl Iterator<Item = News> + '_ {
        self.news.try_iter()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.end();
    }
}
