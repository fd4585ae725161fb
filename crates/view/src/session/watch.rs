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

/// Tells once when any of the files has changed, and has then stayed the same for a look: editors write in steps.
pub(crate) fn run(files: &[PathBuf], news: &News, cancel: &Arc<AtomicBool>) {
    let marks = || -> Vec<Mark> { files.iter().map(mark).collect() };
    let first = marks();
    let mut last = first.clone();
    while !cancel.load(Ordering::Relaxed) {
        thread::sleep(EVERY);
        let now = marks();
        if now != first && now == last {
            return news.tell(Told::Changed);
        }
        last = now;
    }
}

fn mark(file: &PathBuf) -> Mark {
    let about = std::fs::metadata(file).ok()?;
    Some((about.modified().ok()?, about.len()))
}
