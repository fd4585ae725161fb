//! The way in which a run is told to stop and tells how far it is.

use std::sync::atomic::{AtomicUsize, Ordering};

use dryturn_carve::RunOptions;

use crate::SurfaceError;

/// Counts the steps of a run.
pub(crate) struct Stop<'a> {
    options: &'a RunOptions<'a>,
    stages: usize,
    done: AtomicUsize,
}

impl<'a> Stop<'a> {
    /// A run of so many stages.
    pub(crate) fn new(options: &'a RunOptions<'a>, stages: usize) -> Stop<'a> {
        Stop { options, stages, done: AtomicUsize::new(0) }
    }

    /// # Errors
    /// [`SurfaceError::Cancelled`] if told to stop.
    pub(crate) fn check(&self) -> Result<(), SurfaceError> {
        let is_cancelled = self.options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed));
        if is_cancelled { Err(SurfaceError::Cancelled) } else { Ok(()) }
    }

    /// One more step of a stage that has so many.
    ///
    /// # Errors
    /// As [`Stop::check`].
    pub(crate) fn step(&self, steps: usize) -> Result<(), SurfaceError> {
        self.check()?;
        if let Some(progress) = self.options.progress {
            let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
            progress((done as f64 / (steps * self.stages) as f64).min(1.0));
        }
        Ok(())
    }
}
