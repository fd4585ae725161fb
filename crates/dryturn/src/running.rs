//! How a command runs: on which threads, within which memory, and who may end it.

use std::sync::atomic::AtomicBool;

use dryturn_check::RunOptions;

use crate::arguments::Going;
use crate::failure::Failure;
use crate::progress::Progress;

/// What a run keeps to.
#[derive(Clone, Copy)]
pub(crate) struct Running<'a> {
    pub(crate) threads: usize,
    /// Most bytes it may take.
    pub(crate) memory: u64,
    /// Whether the pitch was typed, in the place of the scene's.
    pub(crate) is_pitch_typed: bool,
    pub(crate) quiet: bool,
    /// Set from outside to have it end early.
    pub(crate) interrupted: &'a AtomicBool,
}

impl<'a> Running<'a> {
    pub(crate) fn new(going: &Going, interrupted: &'a AtomicBool) -> Running<'a> {
        Running {
            threads: threads(going.threads),
            memory: going.memory,
            is_pitch_typed: going.pitch.is_some(),
            quiet: going.quiet,
            interrupted,
        }
    }

    /// Does a stage of the run while a bar tells how far it is.
    pub(crate) fn stage<T, E: Into<Failure>>(
        &self,
        what: &str,
        work: impl FnOnce(&RunOptions<'_>) -> Result<T, E>,
    ) -> Result<T, Failure> {
        let progress = Progress::new(what, self.quiet);
        let show = |share: f64| progress.show(share);
        let done = work(&RunOptions {
            threads: self.threads,
            cancel: Some(self.interrupted),
            progress: Some(&show),
            ..RunOptions::default()
        });
        progress.done();
        done.map_err(Into::into)
    }
}

/// Threads to take: as many as were asked for, or one for each core.
pub(crate) fn threads(asked: u16) -> usize {
    match asked {
        0 => std::thread::available_parallelism().map_or(1, usize::from),
        asked => usize::from(asked),
    }
}
