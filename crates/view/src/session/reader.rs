//! The worker that reads the scene and proves it.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use dryturn_check::{CarveError, ReadError, RunOptions};
use dryturn_scene::JobOptions;

use super::carver::Seldom;
use super::edits::Edits;
use super::news::{News, Told};
use super::opened::Opened;
use crate::host::{Going, Host};

/// What the reader works with.
pub(crate) struct Reader {
    /// What the command does.
    pub host: Arc<dyn Host>,
    /// What is tried out.
    pub edits: Edits,
    /// How it goes about it.
    pub going: Going,
    /// Whom it tells.
    pub news: News,
    /// Set to have it end.
    pub cancel: Arc<AtomicBool>,
}

impl Reader {
    /// Reads the job, and proves it.
    pub(crate) fn run(&self) {
        let Some(opened) = self.read() else { return };
        self.news.tell(Told::Opened(Arc::clone(&opened)));
        self.prove(&opened);
    }

    fn read(&self) -> Option<Arc<Opened>> {
        let mut scene = match self.host.scene() {
            Ok(scene) => scene,
            Err(told) => {
                self.news.tell(Told::Refused(told));
                return None;
            }
        };
        self.edits.apply(&mut scene);
        let reading = JobOptions { lenient: self.going.lenient };
        match dryturn_check::read(scene, reading, &self.options(None)) {
            Ok(job) => Some(Arc::new(Opened::new(job, &*self.host))),
            Err(ReadError::Carve(CarveError::Cancelled)) => None,
            Err(ReadError::Scene(error)) => {
                self.news.tell(Told::Refused(error.render(false)));
                None
            }
            Err(error) => {
                self.news.tell(Told::Refused(error.to_string()));
                None
            }
        }
    }

    fn prove(&self, opened: &Opened) {
        const WHAT: &str = "proving";
        let tell = |share: f64| self.news.tell(Told::Stage(WHAT, share));
        let seldom = Seldom::new(&tell);
        let progress = |share: f64| seldom.tell(share);
        match dryturn_check::prove(&opened.job, &self.options(Some(&progress))) {
            Ok(proof) => self.news.tell(Told::Proved(Arc::new(proof))),
            Err(CarveError::Cancelled) => {}
            Err(error) => self.news.tell(Told::Failed(format!("the job cannot be proved: {error}"))),
        }
        self.news.tell(Told::Done(WHAT));
    }

    fn options<'a>(&'a self, progress: Option<&'a (dyn Fn(f64) + Sync)>) -> RunOptions<'a> {
        RunOptions {
            threads: self.going.threads,
            cancel: Some(&self.cancel),
            memory: Some(self.going.memory),
            progress,
            ..RunOptions::default()
        }
    }
}
