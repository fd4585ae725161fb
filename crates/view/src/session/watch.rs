//! The worker that looks whether files of the scene change.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, SystemTime};

use super::news::{News, Told};

/// From one look to the next. Looking works on every disk, also on those of others that report no changes.
const EVERY: Duration = Duration::from_millis(300);

/// When a file was written, and how long it is; `None` while it is not there.
type Mark = Option<(SystemTime, u64)>;

/// A file as it was when it was read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Watched {
    file: PathBuf,
    mark: Mark,
}

impl Watched {
    /// Takes down how a file is now; it need not be there.
    pub(super) fn new(file: PathBuf) -> Watched {
        let about = std::fs::metadata(&file).ok();
        let mark = about.and_then(|about| Some((about.modified().ok()?, about.len())));
        Watched { file, mark }
    }

    fn now(&self) -> Watched {
        Watched::new(self.file.clone())
    }
}

/// Tells once when any of the files has changed, and has then stayed the same for a look: editors write in steps.
pub(crate) fn run(first: &[Watched], news: &News, cancel: &Arc<AtomicBool>) {
    let mut last = first.to_vec();
    while !cancel.load(Ordering::Relaxed) {
        thread::sleep(EVERY);
        let now: Vec<Watched> = last.iter().map(Watched::now).collect();
        if now != first && now == last {
            return news.tell(Told::Changed);
        }
        last = now;
    }
}
