//! The workers that read the scene and prove it.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use dryturn_check::{CarveError, ReadError, RunOptions};
use dryturn_scene::JobOptions;

use super::PROVING;
use super::edits::Edits;
use super::news::{News, Seldom, Told};
use super::opened::Opened;
use super::watch::Watched;
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
    /// Set to have the proof end.
    pub long: Arc<AtomicBool>,
}

impl Reader {
    /// Reads the job.
    pub(crate) fn run(&self) {
        if let Some(opened) = self.read() {
            self.news.tell(Told::Opened(opened));
        }
    }

    fn read(&self) -> Option<Arc<Opened>> {
        let read = self.host.read();
        self.news.tell(Told::Files(read.files.into_iter().map(Watched::new).collect()));
        let mut scene = match read.scene {
            Ok(scene) => scene,
            Err(told) => {
                self.news.tell(Told::Refused(told));
                return None;
            }
        };
        self.edits.apply(&mut scene);
        let reading = JobOptions { lenient: self.going.lenient };
        match dryturn_check::read(scene, reading, &self.options(&self.cancel, None)) {
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

    /// Proves a job that was read.
    pub(crate) fn prove(&self, opened: &Opened) {
        let tell = |share: f64| self.news.tell(Told::Stage(PROVING, share));
        let seldom = Seldom::new(&tell);
        let progress = |share: f64| seldom.tell(share);
        let proved = self.host.room(&opened.job).map(|memory| {
            let options = RunOptions { memory: Some(memory), ..self.options(&self.long, Some(&progress)) };
            dryturn_check::prove(&opened.job, &options)
        });
        match proved {
            Ok(Ok(proof)) => self.news.tell(Told::Proved(Arc::new(proof))),
            Ok(Err(CarveError::Cancelled)) => {}
            Ok(Err(CarveError::Memory { .. })) => self.news.tell(Told::Unproved(self.host.beyond_room(&opened.job))),
            Ok(Err(error)) => self.news.tell(Told::Unproved(error.to_string())),
            Err(why) => self.news.tell(Told::Unproved(why)),
        }
        self.news.tell(Told::Done(PROVING));
    }

    fn options<'a>(&self, cancel: &'a AtomicBool, progress: Option<&'a (dyn Fn(f64) + Sync)>) -> RunOptions<'a> {
        RunOptions {
            threads: self.going.threads,
            cancel: Some(cancel),
            memory: Some(self.going.memory),
            progress,
            ..RunOptions::default()
        }
    }
}
