//! The worker that keeps the piece at hand at every block: at once on few rays, then on ever more.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use dryturn_carve::{CarveError, Carved, Grid, History, Replay, RunOptions, uncut};
use dryturn_check::Proof;
use rayon::prelude::*;

use super::answer::{Known, Question};
use super::news::{News, Seldom, Shown, Told};
use super::opened::Opened;
use super::{CARVING, REFINING};
use crate::field::Field;
use crate::host::{Host, MapOf};
use crate::shape;

/// Most rays that are made triangles of while the piece changes quickly, and at rest.
const QUICK: usize = 60_000;
const RESTING: usize = 700_000;
/// At rest, where the processor draws.
const RESTING_SLOWLY: usize = 400_000;
/// Most rays that are held against the target while the piece changes quickly, and at rest: each takes some microseconds.
const COMPARED_QUICKLY: usize = 4_000;
const COMPARED: usize = 60_000;
/// From stripe to stripe where a map is striped, and how wide they are; rays.
const STRIPES: [usize; 2] = [10, 3];
/// So long the first picture of the piece is waited for; where the pane is hidden there is none.
const UNSEEN: Duration = Duration::from_millis(600);
/// How often the worker looks whether the fine grid is done.
const LOOK: Duration = Duration::from_millis(15);

/// What the carver is asked for.
pub(crate) enum Ask {
    /// The piece after so many blocks.
    Show(Wanted),
    /// What is known of a point.
    Know(Question),
    /// What the proof found, for the maps that need it.
    Proved(Arc<Proof>),
    /// Nothing: the piece is before the eyes, and finer ones may take their time.
    Seen,
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
    /// Whether nothing is to be seen yet, so that the blank is shown first; else the piece of the reading before stays so long.
    pub is_first: bool,
    /// Set to have it end.
    pub cancel: Arc<AtomicBool>,
    /// Set to have the piece stay coarse.
    pub long: Arc<AtomicBool>,
    /// Threads to take.
    pub threads: usize,
    /// Most bytes the piece may take.
    pub memory: u64,
}

/// A piece on a finer grid, unless there is none, and what is done therewith.
type Refined<'a> = (Option<History<'a>>, &'static str);

/// What it is asked, as far as it came.
#[derive(Default)]
struct Asked {
    show: Option<Wanted>,
    /// The last two: whoever measures at once needs both.
    know: Vec<Question>,
    proof: Option<Arc<Proof>>,
    /// Whether the proof is new.
    is_news: bool,
    /// Whether the piece is before the eyes.
    is_seen: bool,
    is_over: bool,
}

impl Asked {
    fn take(&mut self, ask: Ask) {
        match ask {
            Ask::Show(wanted) => self.show = Some(wanted),
            Ask::Know(question) => self.know = self.know.pop().into_iter().chain([question]).collect(),
            Ask::Proved(proof) => (self.proof, self.is_news) = (Some(proof), true),
            Ask::Seen => self.is_seen = true,
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
            Err(error) => {
                self.news.tell(Told::Failed(format!("the piece cannot be carved: {error}")));
                self.news.tell(Told::Done(CARVING));
            }
        }
    }

    fn work(&self, asks: &Receiver<Ask>) -> Result<(), CarveError> {
        let opened = &*self.opened;
        let mut asked = Asked::default();
        let grids = opened.grids();
        let [first, .., finest] = &grids;
        if self.is_first {
            let blank = uncut(&opened.work.stock, opened.work.dimple, first, &self.options(&self.cancel, None))?;
            self.show(&blank, &Wanted { blocks: 0, map: String::new(), is_quick: false, is_slow: true }, &asked, true);
        }
        let job = opened.work.job(&opened.job);
        let mut history = self.record(&job, first, &self.cancel, CARVING)?;
        let (send, refined) = channel();
        thread::scope(|scope| {
            let (job, grids, since) = (&job, &grids, Instant::now());
            let mut send = Some(send);
            let mut replay = None;
            let mut last = None;
            while !asked.is_over && !self.cancel.load(Ordering::Relaxed) {
                asked.wait(asks);
                let mut done = None;
                if let Ok((finer, what)) = refined.try_recv() {
                    if let Some(finer) = finer {
                        history = finer;
                        asked.again(&last);
                    }
                    done = Some(what);
                }
                if let Some(wanted) = asked.show.take() {
                    let carved = history.at(wanted.blocks, Some(&self.cancel))?;
                    self.show(carved, &wanted, &asked, carved.grid() != finest);
                    last = Some(wanted);
                }
                if let Some(what) = done {
                    // Not before it is shown: some wait for that.
                    self.news.tell(Told::Done(what));
                }
                for question in std::mem::take(&mut asked.know) {
                    let replay = match &replay {
                        Some(replay) => replay,
                        None => replay.insert(Replay::new(job, &self.options(&self.cancel, None))?),
                    };
                    self.news.tell(Told::Known(Box::new(Known::of(&question, replay, &opened.job))));
                }
                // Before that it would take the time of what draws the first picture.
                let is_time = asked.is_seen || since.elapsed() > UNSEEN;
                if let Some(send) = send.take_if(|_| is_time) {
                    scope.spawn(move || self.refine(job, grids, &send));
                }
                if std::mem::take(&mut asked.is_news) {
                    asked.again(&last);
                }
            }
            // The other thread looks at these too.
            self.cancel.store(true, Ordering::Relaxed);
            self.long.store(true, Ordering::Relaxed);
            Ok(())
        })
    }

    fn record<'a>(
        &self,
        job: &dryturn_carve::Job<'a>,
        grid: &Grid,
        cancel: &AtomicBool,
        what: &'static str,
    ) -> Result<History<'a>, CarveError> {
        let tell = |share: f64| self.news.tell(Told::Stage(what, share));
        tell(0.0);
        let seldom = Seldom::new(&tell);
        let progress = |share: f64| seldom.tell(share);
        History::record(job, grid, History::EVERY, &self.options(cancel, Some(&progress)))
    }

    /// Carves once more on each finer grid. All but the finest are quick, and count as the carving that others wait for.
    fn refine<'a>(&self, job: &dryturn_carve::Job<'a>, grids: &[Grid; 3], send: &Sender<Refined<'a>>) {
        let [first, coarse, fine] = grids;
        let steps = [(first, coarse, &self.cancel, CARVING), (coarse, fine, &self.long, REFINING)];
        for (before, grid, cancel, what) in steps {
            let refined = (grid != before).then(|| self.record(job, grid, cancel, what)).transpose();
            match refined {
                // Nobody waits any more once the window is closed.
                Ok(refined) => drop(send.send((refined, what))),
                Err(error) => {
                    if !matches!(error, CarveError::Cancelled) {
                        self.news.tell(Told::Failed(format!("the piece stays coarse: {error}")));
                    }
                    return self.news.tell(Told::Done(what));
                }
            }
        }
    }

    fn options<'a>(&self, cancel: &'a AtomicBool, progress: Option<&'a (dyn Fn(f64) + Sync)>) -> RunOptions<'a> {
        RunOptions {
            threads: self.threads,
            cancel: Some(cancel),
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
        let (colors, key) = self.colors(carved, stride, wanted, asked.proof.as_deref());
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

    /// The colours of the map that is wanted, for every so many rays.
    fn colors(
        &self,
        carved: &Carved,
        stride: usize,
        wanted: &Wanted,
        proof: Option<&Proof>,
    ) -> (Vec<[u8; 3]>, Option<dryturn_report::Key>) {
        let (job, map) = (&self.opened.job, &wanted.map);
        if map.is_empty() {
            return (Vec::new(), None);
        }
        let is_whole = wanted.blocks >= self.opened.blocks();
        let is_proved = is_whole && proof.is_some_and(|proof| proof.carved.grid() == carved.grid());
        let is_beside = self.host.maps(job, proof).iter().any(|it| it.name == map && it.is_beside_target);
        let target = if is_beside { self.opened.surface() } else { None };
        let most = if wanted.is_quick { COMPARED_QUICKLY } else { COMPARED };
        let cells = if is_beside && !is_proved { Field::stride(carved.grid(), most).div_ceil(stride) } else { 1 };
        let every = stride * cells;
        let of = MapOf { name: map, job, proof, is_proved, target, every };
        let numbers: Vec<f32> = carved.bands().flat_map(|rows| self.host.map(&of, &carved.band(rows))).collect();
        let key = self.host.key(map, job, &numbers);
        let told = carved.grid().angles.div_ceil(every);
        let (rows, columns) = (carved.grid().stations.div_ceil(stride), carved.grid().angles.div_ceil(stride));
        let color = |ray: usize| {
            let (row, column) = (ray / columns, ray % columns);
            let number = f64::from(numbers[row / cells * told + column / cells]);
            let is_stripe = key.is_striped(number) && (row + column) % STRIPES[0] < STRIPES[1];
            if is_stripe { key.stripe(number) } else { key.color(number) }
        };
        let colors = (0..rows * columns).into_par_iter().map(color).collect();
        (colors, Some(key))
    }
}
