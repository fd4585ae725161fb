//! Progress on a terminal, none in a pipe.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Steps the bar counts; finer than a terminal is wide.
const STEPS: u64 = 1000;
/// Nothing is shown for runs that are over before anyone could read it.
const PATIENCE: Duration = Duration::from_millis(400);

/// A bar that appears on standard error once a run takes long, if that is a terminal.
pub(crate) struct Progress {
    bar: ProgressBar,
    started: std::time::Instant,
}

impl Progress {
    pub(crate) fn new(what: &str, quiet: bool) -> Progress {
        let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::no_length() };
        if let Ok(style) = ProgressStyle::with_template("{msg}  {wide_bar}  {percent:>3} %  {eta} left") {
            bar.set_style(style.progress_chars("━╾ "));
        }
        bar.set_message(what.to_owned());
        Progress { bar, started: std::time::Instant::now() }
    }

    /// Shows the share that is done, 0 … 1.
    pub(crate) fn show(&self, share: f64) {
        if self.started.elapsed() < PATIENCE {
            return;
        }
        self.bar.set_length(STEPS);
        self.bar.set_position((share * STEPS as f64) as u64);
    }

    pub(crate) fn done(&self) {
        self.bar.finish_and_clear();
    }
}
