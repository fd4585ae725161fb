//! The worker that keeps the piece at hand at every block: first on a coarse grid, then on a fine one.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use dryturn_carve::{CarveError, Carved, History, Replay, RunOptions, is_block, uncut};
use dryturn_check::Proof;
use rayon::prelude::*;

use super::news::{Known, News, Shown, Told};
use super::opened::Opened;
use crate::field::Field;
use crate::host::Host;
use crate::shape;
use crate::spot::Spot;

/// Most rays that are made triangles of while the piece changes quickly, and at rest.
const QUICK: usize = 60_000;
const RESTING: usize = 700_000;
/// At rest, where the processor draws.
const RESTING_SLOWLY: usize = 200_000;
/// How often the worker looks whether the fine grid is done.
const LOOK: Duration = Duration::from_millis(15);

/// What the carver is asked for.
pub(crate) enum Ask {
    /// The piece after so many blocks.
    Show(Wanted),
    /// What is known of a point, after so many blocks.
    Know(Spot, u32),
    /// What the proof found, for the maps that need it.
    Proved(Arc<Proof>),
}

/// The piece as it is wanted.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Wanted {
    /// How many blocks have run.
    pub blocks: u32,
    /// Name of the map that colours its rays.
    pub map: String,
    /// Whether it changes quickly, so that a coarse one is enough.
    pub is_quick: bool,
    /// Whether the processor draws.
    pub is_slow: bool,
}

/// What the carver works with.
pub(crate) struct Carver {
    /// The job.
    pub opened: Arc<Opened>,
    /// What the command does.
    pub host: Arc<dyn Host>,
    /// Whom it tells.
    pub news: News,
    /// Set to have it end.
    pub cancel: Arc<AtomicBool>,
    /// Threads to take.
    pub threads: usize,
    /// Most bytes the piece may take.
    pub memory: u64,
}

/// What it is asked, as far as it came.
#[derive(Default)]
struct Asked {
    show: Option<Wanted>,
    know: Option<(Spot, u32)>,
    proof: Option<Arc<Proof>>,
    /// Whether the proof is new.
    is_news: bool,
    is_over: bool,
}

impl Asked {
    fn take(&mut self, ask: Ask) {
        match ask {
            Ask::Show(wanted) => self.show = Some(wanted),
            Ask::Know(spot, blocks) => self.know = Some((spot, blocks)),
            Ask::Proved(proof) => (self.proof, self.is_news) = (Some(proof), true),
        }
    }

    /// Shows what was shown last once more, unless something else is wanted.
    fn again(&mut self, last: &Option<Wanted>) {
        self.show = self.show.take().or_else(|| last.clone());
    }

    /// Waits for something, and takes all that is there.
    fn wait(&mut self, asks: &Receiver<Ask>) {
        match asks.recv_timeout(LOOK) {
            Ok(ask) => self.take(ask),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => self.is_over = true,
        }
        while let Ok(ask) = asks.try_recv() {
            self.take(ask);
        }
    }
}

impl Carver {
    /// Works until nobody asks any more, or told to stop.
    pub(crate) fn run(&self, asks: &Receiver<Ask>) {
        match self.work(asks) {
            Ok(()) | Err(CarveError::Cancelled) => {}
            Err(error) => self.news.tell(Told::Failed(format!("the piece cannot be carved: {error}"))),
        }
    }

    fn work(&self, asks: &Receiver<Ask>) -> Result<(), CarveError> {
        let opened = &*self.opened;
        let mut asked = Asked::default();
        let coarse = opened.coarse();
        let blank = uncut(&opened.work.stock, opened.work.dimple, &coarse, &self.options(None))?;
        self.show(&blank, &Wanted { blocks: 0, map: String::new(), is_quick: false, is_slow: true }, &asked, true);
        let job = opened.work.job(&opened.job);
        let mut history = self.record(&job, &coarse, "carving")?;
        let (send, fine) = channel();
        thread::scope(|scope| {
            let is_finer = opened.fine() != coarse;
            if is_finer {
                scope.spawn(|| self.record_fine(&job, send));
            }
            let mut replay = None;
            let mut last = None;
            let mut is_coarse = is_finer;
            while !asked.is_over && !self.cancel.load(Ordering::Relaxed) {
                asked.wait(asks);
                if let Ok(finer) = fine.try_recv() {
                    (history, is_coarse) = (finer, false);
                    asked.again(&last);
                }
                if let Some(wanted) = asked.show.take() {
                    let carved = history.at(wanted.blocks, Some(&self.cancel))?;
                    self.show(carved, &wanted, &asked, is_coarse);
                    last = Some(wanted);
                }
                if let Some((spot, blocks)) = asked.know.take() {
                    let replay = match &replay {
                        Some(replay) => replay,
                        None => replay.insert(Replay::new(&job, &self.options(None))?),
                    };
                    self.know(replay, spot, blocks);
                }
                if std::mem::take(&mut asked.is_news) {
                    asked.again(&last);
                }
            }
            // The other thread looks at this too.
            self.cancel.store(true, Ordering::Relaxed);
            Ok(())
        })
    }

    fn record<'a>(
        &self,
        job: &dryturn_carve::Job<'a>,
        grid: &dryturn_carve::Grid,
        what: &'static str,
    ) -> Result<History<'a>, CarveError> {
        let tell = |share: f64| self.news.tell(Told::Stage(what, share));
        let seldom = Seldom::new(&tell);
        let progress = |share: f64| seldom.tell(share);
        let history = History::record(job, grid, History::EVERY, &self.options(Some(&progress)))?;
        self.news.tell(Told::Done(what));
        Ok(history)
    }

    fn record_fine<'a>(&self, job: &dryturn_carve::Job<'a>, send: Sender<History<'a>>) {
        match self.record(job, &self.opened.fine(), "refining") {
            Ok(history) => {
                // Nobody waits any more once the window is closed.
                let _ = send.send(history);
            }
            Err(CarveError::Cancelled) => {}
            Err(error) => self.news.tell(Told::Failed(format!("the piece stays coarse: {error}"))),
        }
    }

    fn options<'a>(&'a self, progress: Option<&'a (dyn Fn(f64) + Sync)>) -> RunOptions<'a> {
        RunOptions {
            threads: self.threads,
            cancel: Some(&self.cancel),
            memory: Some(self.memory),
            progress,
            ..RunOptions::default()
        }
    }

    fn show(&self, carved: &Carved, wanted: &Wanted, asked: &Asked, is_coarse: bool) {
        let most = match (wanted.is_quick, wanted.is_slow) {
            (true, _) => QUICK,
            (false, true) => RESTING_SLOWLY,
            (false, false) => RESTING,
        };
        let stride = Field::stride(carved.grid(), most);
        let chuck = self.opened.job.scene.machine.chuck_on;
        let field = Field::of(carved, stride, chuck);
        let (colors, key) = self.colors(carved, stride, &wanted.map, asked.proof.as_deref());
        let shape = Arc::new(shape::piece(&field, &colors));
        let relief = shape::relief(&field);
        self.news.tell(Told::Shown(Box::new(Shown {
            blocks: wanted.blocks,
            field,
            shape,
            key,
            colors,
            relief,
            is_coarse: is_coarse || wanted.is_quick,
        })));
    }

    /// The colours of a map, for every so many rays.
    fn colors(
        &self,
        carved: &Carved,
        stride: usize,
        map: &str,
        proof: Option<&Proof>,
    ) -> (Vec<[u8; 3]>, Option<dryturn_report::Key>) {
        if map.is_empty() {
            return (Vec::new(), None);
        }
        let mut numbers = Vec::new();
        let angles = carved.grid().angles;
        for rows in carved.bands() {
            let band = carved.band(rows.clone());
            let all = self.host.map(map, &self.opened.job, proof, &band);
            for row in rows.clone().filter(|row| row % stride == 0) {
                let from = (row - rows.start) * angles;
                numbers.extend(all.iter().skip(from).take(angles).step_by(stride));
            }
        }
        let key = self.host.key(map, &self.opened.job, &numbers);
        let colors = numbers.par_iter().map(|number| key.color(f64::from(*number))).collect();
        (colors, Some(key))
    }

    fn know(&self, replay: &Replay<'_>, spot: Spot, blocks: u32) {
        let ray = replay.ray_before(blocks, spot.station, spot.theta);
        let end = ray.ends().min_by(|a, b| (a.radius - spot.radius).abs().total_cmp(&(b.radius - spot.radius).abs()));
        let (radius, owner) = end.map_or((0.0, ray.emptied_by), |end| (end.radius, end.by));
        let before = is_block(owner).then(|| replay.ray_before(owner, spot.station, spot.theta));
        let half_turn = spot.theta + std::f64::consts::PI;
        let opposite = replay.ray_before(blocks, spot.station, half_turn).solid.first().map_or(0.0, |it| it.outer);
        let spot = Spot { radius, ..spot };
        self.news.tell(Told::Known(Box::new(Known { spot, blocks, owner, ray, before, opposite })));
    }
}

/// Tells a share only when it has grown by a hundredth.
pub(super) struct Seldom<'a> {
    tell: &'a (dyn Fn(f64) + Sync),
    told: std::sync::atomic::AtomicU32,
}

impl<'a> Seldom<'a> {
    pub(super) fn new(tell: &'a (dyn Fn(f64) + Sync)) -> Seldom<'a> {
        Seldom { tell, told: std::sync::atomic::AtomicU32::new(0) }
    }

    pub(super) fn tell(&self, share: f64) {
        let now = (share * 100.0) as u32;
        if self.told.fetch_max(now, Ordering::Relaxed) < now {
            (self.tell)(share);
        }
    }
}
