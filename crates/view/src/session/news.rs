//! What the workers tell the window, and how they wake it.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

use dryturn_check::Proof;
use dryturn_render::Picture;
use dryturn_render::live::Shape;
use dryturn_report::Key;

use super::answer::Known;
use super::opened::Opened;
use super::watch::Watched;
use crate::eye::Extent;
use crate::field::Field;

/// The piece at a moment, ready to be looked at.
pub struct Shown {
    /// How many blocks have run.
    pub blocks: u32,
    /// Its rays.
    pub field: Field,
    /// Its triangles.
    pub shape: Arc<Shape>,
    /// What the colours of its rays stand for; `None` for the wood's own.
    pub key: Option<Key>,
    /// A colour for each ray.
    pub colors: Vec<[u8; 3]>,
    /// How bright each ray is as light falls on the unrolled skin, 255 being as bright as its colour.
    pub relief: Vec<u8>,
    /// Whether there is a finer one to come.
    pub is_coarse: bool,
}

/// The piece as it was drawn.
pub struct Drawn {
    /// What is seen.
    pub picture: Picture,
    /// The number of the scenery it was made from.
    pub number: u64,
    /// How many blocks have run of the piece that is in it; `None` where there was none yet.
    pub blocks: Option<u32>,
    /// What of the room is in it.
    pub extent: Extent,
}

/// What a worker tells.
pub(crate) enum Told {
    /// What is under way, and the share of it that is done.
    Stage(&'static str, f64),
    /// What was under way is done.
    Done(&'static str),
    /// The files that the scene hangs on.
    Files(Vec<Watched>),
    /// The scene cannot be read, and why.
    Refused(String),
    /// Something could not be done.
    Failed(String),
    /// The job has been read.
    Opened(Arc<Opened>),
    /// The piece at a moment.
    Shown(Box<Shown>),
    /// The job has been proved.
    Proved(Arc<Proof>),
    /// The job cannot be proved, and why.
    Unproved(String),
    /// What is known of a point.
    Known(Box<Known>),
    /// A picture of the piece.
    Painted(Box<Drawn>),
    /// The piece cannot be drawn, and why.
    Unpainted(String),
    /// What draws the piece.
    Painter(String),
    /// A file of the scene has changed.
    Changed,
    /// The file of a mesh that has been written, or why it could not be.
    Written(Result<String, String>),
}

/// How workers tell the window something; `serial` says which reading of the scene it belongs to.
#[derive(Clone)]
pub(crate) struct News {
    pub(super) serial: u64,
    pub(super) send: Sender<(u64, Told)>,
    pub(super) wake: Arc<dyn Fn() + Send + Sync>,
}

impl News {
    /// Tells something, if anyone still listens.
    pub(crate) fn tell(&self, told: Told) {
        // Without a listener there is nobody to miss it.
        let _ = self.send.send((self.serial, told));
        (self.wake)();
    }
}

/// From one share that is told to the next. Each has the window drawn, which must not take the time of the work itself.
const EVERY: Duration = Duration::from_millis(100);

/// Tells shares of what is under way, from any thread, but seldom.
pub(super) struct Seldom<'a> {
    tell: &'a (dyn Fn(f64) + Sync),
    since: Instant,
    /// How many such times have gone by when something was told last.
    told: AtomicU64,
}

impl<'a> Seldom<'a> {
    pub(super) fn new(tell: &'a (dyn Fn(f64) + Sync)) -> Seldom<'a> {
        Seldom { tell, since: Instant::now(), told: AtomicU64::new(0) }
    }

    pub(super) fn tell(&self, share: f64) {
        let now = (self.since.elapsed().as_millis() / EVERY.as_millis()) as u64;
        if self.told.fetch_max(now, Ordering::Relaxed) < now {
            (self.tell)(share);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_told_once_in_a_while_and_not_at_every_step() {
        let told = AtomicU64::new(0);
        let count = |_: f64| {
            told.fetch_add(1, Ordering::Relaxed);
        };
        let seldom = Seldom::new(&count);
        let begun = Instant::now();
        while told.load(Ordering::Relaxed) < 2 {
            (0..100).for_each(|step| seldom.tell(f64::from(step) / 100.0));
        }
        assert!(begun.elapsed() >= EVERY, "{:?}", begun.elapsed());
    }
}
