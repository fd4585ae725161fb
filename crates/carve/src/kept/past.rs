//! How a piece came to be what it is.

use dryturn_geom::{Facets, Flutes, Maker, Motion, Motions, Offset, Stock};

use super::place::{along, outline_along};
use super::solid::KeptSolid;
use crate::job::{Cutter, Dimple, Job};

/// What a piece was before the first cut, and all that has passed over it since.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Past {
    /// The outline before the first cut.
    pub(super) stock: Stock,
    /// Its facets, where it came from a mesh.
    pub(super) facets: Option<Facets>,
    /// Holes of live centers, as they were pressed.
    pub(super) holes: Vec<Hole>,
    /// The cutters, their flutes alone.
    pub(super) cutters: Vec<Cutter>,
    /// Every motion in order; one is its own number.
    pub(super) motions: Vec<Motion>,
    /// The line of each motion.
    pub(super) lines: Vec<Line>,
    pub(super) sources: Vec<Source>,
}

/// A hole of a live center whose axis need not be the rotary axis any more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hole {
    pub(super) cone: Dimple,
    pub(super) center: Offset,
}

/// A line of a program.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Index of the program among the sources.
    pub(super) source: u32,
    pub(super) line: u32,
}

/// A program that has been run over the piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// What its set-up is called.
    pub set_up: String,
    /// Its file, as the scene names it.
    pub program: String,
}

/// The programs that a job runs over its blank.
pub struct Programs<'a> {
    /// The programs.
    pub sources: Vec<Source>,
    /// Of a block the index of its program among them, and its line from 1.
    pub line_of: &'a dyn Fn(u32) -> (u32, u32),
}

impl Past {
    /// The past of a job's blank and the job itself, stations from the blank's end, and of each block its number among the
    /// motions. `None` for a solid that nothing more is known of.
    pub(super) fn with(job: &Job<'_>, programs: Programs<'_>) -> Option<(Past, Vec<u32>)> {
        let mut past = Past::before(job.stock)?;
        let (first_cutter, first_source) = (past.cutters.len() as u16, past.sources.len() as u32);
        let blank_end = job.stock.start;
        past.sources.extend(programs.sources);
        past.cutters.extend(job.cutters.iter().map(|cutter| bare(cutter.flutes.clone())));
        past.holes.extend(
            job.dimple
                .map(|cone| Hole { cone: Dimple { apex: cone.apex - blank_end, ..cone }, center: Offset::default() }),
        );
        let mut numbers = Vec::with_capacity(job.motions.count() as usize);
        for block in 0..job.motions.count() {
            let number = past.motions.len() as u32;
            numbers.push(number);
            let Some(motion) = job.motions.motion(block) else { continue };
            let (source, line) = (programs.line_of)(block);
            past.lines.push(Line { source: first_source + source, line });
            let cutter = first_cutter + motion.cutter;
            past.motions.push(Motion { block: number, cutter, ..along(&motion, -blank_end) });
        }
        Some((past, numbers))
    }

    /// The past of a blank alone.
    fn before(stock: &Stock) -> Option<Past> {
        let facets = match stock.solid() {
            Some(solid) => match (solid as &dyn std::any::Any).downcast_ref::<KeptSolid>() {
                Some(piece) => return Some(piece.past().clone()),
                None => Some(solid.facets()?),
            },
            None => None,
        };
        Some(Past {
            stock: outline_along(stock, -stock.start),
            facets,
            holes: Vec::new(),
            cutters: Vec::new(),
            motions: Vec::new(),
            lines: Vec::new(),
            sources: Vec::new(),
        })
    }

    /// The number that holes and bores go by.
    pub(super) fn hole(&self) -> u32 {
        self.motions.count()
    }

    /// The line of a program that a number stands for.
    pub(super) fn maker(&self, number: u32) -> Option<Maker<'_>> {
        let Line { source, line } = *self.lines.get(number as usize)?;
        let index = source as usize;
        let Source { set_up, program } = self.sources.get(index)?;
        Some(Maker { index, set_up, program, line })
    }

    /// The job that it was.
    pub(super) fn job(&self) -> Job<'_> {
        Job { stock: &self.stock, dimple: None, cutters: &self.cutters, motions: &self.motions }
    }
}

/// A cutter without anything above its flutes.
pub(super) fn bare(flutes: Flutes) -> Cutter {
    Cutter { flutes, uppers: Vec::new() }
}
