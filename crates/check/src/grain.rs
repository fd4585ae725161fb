//! How the cuts of a run go with the grain, program by program.

use dryturn_scene::Job;

use crate::load::{Grain, Load};

/// How long a program cuts, and how.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Tally {
    pub(crate) program: usize,
    /// Seconds at feed in wood, as they are asked for.
    pub(crate) cut_s: f64,
    /// Of these, seconds that climb.
    pub(crate) climb_s: f64,
    /// Of these, seconds along the axis with the tip rising.
    pub(crate) uphill_s: f64,
    /// What goes uphill, if anything does.
    pub(crate) uphill: Option<Uphill>,
}

/// What of a program goes uphill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Uphill {
    /// The first block of it, the last, and how many there are.
    pub(crate) first: u32,
    pub(crate) last: u32,
    pub(crate) blocks: u32,
    /// The block of the deepest stroke, of equals the first, and the share in the middle of it.
    pub(crate) deepest: (u32, f64),
    /// How deep that is, mm.
    pub(crate) depth: f64,
}

impl Uphill {
    fn of(load: &Load) -> Uphill {
        Uphill {
            first: load.block,
            last: load.last,
            blocks: load.last - load.block + 1,
            deepest: (load.block, 0.5 * (load.share.0 + load.share.1)),
            depth: load.engagement.depth,
        }
    }

    /// Takes in what goes uphill later.
    fn join(self, later: Uphill) -> Uphill {
        let (deepest, depth) =
            if later.depth > self.depth { (later.deepest, later.depth) } else { (self.deepest, self.depth) };
        // Strokes of one block follow each other.
        let blocks = self.blocks + later.blocks - u32::from(later.first == self.last);
        Uphill { first: self.first, last: later.last, blocks, deepest, depth }
    }
}

impl Tally {
    fn of(job: &Job, load: &Load) -> Option<Tally> {
        let cut_s = load.seconds.filter(|_| !load.rapid)?;
        let is_uphill = load.engagement.grain == Grain::Uphill;
        let when = |holds: bool| if holds { cut_s } else { 0.0 };
        Some(Tally {
            program: job.program_of(load.block),
            cut_s,
            climb_s: when(load.engagement.is_climb == Some(true)),
            uphill_s: when(is_uphill),
            uphill: is_uphill.then(|| Uphill::of(load)),
        })
    }

    /// Takes in more of the same program, later.
    fn add(&mut self, later: &Tally) {
        self.cut_s += later.cut_s;
        self.climb_s += later.climb_s;
        self.uphill_s += later.uphill_s;
        self.uphill = self.uphill.into_iter().chain(later.uphill).reduce(Uphill::join);
    }
}

/// The tallies of the programs that cut, of a run or of some of its blocks in a row.
#[derive(Clone, Debug, Default)]
pub(crate) struct WithGrain(pub(crate) Vec<Tally>);

impl WithGrain {
    /// Takes in the load that follows.
    pub(crate) fn take(&mut self, job: &Job, load: &Load) {
        if let Some(tally) = Tally::of(job, load) {
            self.add(&tally);
        }
    }

    /// Takes in those of the blocks that follow.
    pub(crate) fn join(&mut self, later: &WithGrain) {
        later.0.iter().for_each(|tally| self.add(tally));
    }

    fn add(&mut self, later: &Tally) {
        match self.0.last_mut().filter(|last| last.program == later.program) {
            Some(last) => last.add(later),
            None => self.0.push(*later),
        }
    }
}
