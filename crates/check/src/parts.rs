//! Which parts the wood falls into, and the block that cuts each of them loose.
//!
//! Wood is only ever taken away: what is one part at the end was one part all the while, and two points that lie in
//! different parts stay apart once they are. So the block that severs them is found by halving the run.
//!
//! What has come loose and was then milled away leaves no part behind. It is seen where a station was left without any
//! wood while there was wood on both sides of it.

use std::collections::BTreeMap;

use dryturn_carve::{CarveError, Carved, Course, History, Job as Work, Part, RunOptions, WoodPoint};
use dryturn_scene::Scene;

/// Smaller pieces are the crumbs that every cutter leaves, mm³.
const CRUMB: f64 = 1.0;

/// Parts that are followed back to the block that severed them.
const FOLLOWED: usize = 6;

/// A part that nothing holds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Loose {
    /// The part.
    pub(crate) part: Part,
    /// The block that cut it loose; `None` where there is no memory to look for it.
    pub(crate) block: Option<u32>,
    /// Whether it is the one in which most of the target lies.
    pub(crate) holds_target: bool,
}

/// What is to be looked at.
pub(crate) struct Looked<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) work: &'a Work<'a>,
    pub(crate) carved: &'a Carved,
    pub(crate) course: &'a Course,
    /// Stations between which the target lies, mm.
    pub(crate) span: Option<[f64; 2]>,
}

/// All parts that come loose, the greatest first; none where the wood stays in one piece.
///
/// # Errors
/// As [`History::record`], which is carved only where something comes loose.
pub(crate) fn loose(looked: &Looked<'_>, options: &RunOptions<'_>) -> Result<Vec<Loose>, CarveError> {
    let parts = looked.carved.parts(options.cancel)?;
    let vanished = vanished(looked);
    let at_end = looked.loose(&parts);
    if at_end.is_empty() && vanished.is_none() {
        return Ok(Vec::new());
    }
    // The carved piece is kept beside the history.
    let memory = options.memory.map(|bound| bound.saturating_sub(looked.carved.bytes()));
    let options = RunOptions { memory, ..*options };
    match History::record(looked.work, looked.carved.grid(), History::EVERY, &options) {
        Ok(mut history) => looked.traced(&parts, vanished, &mut history, &options),
        Err(CarveError::Memory { .. }) => Ok(at_end),
        Err(error) => Err(error),
    }
}

/// The first moment at which a station has lost all its wood while wood is left on both sides of it.
fn vanished(looked: &Looked<'_>) -> Option<u32> {
    let (course, rows) = (looked.course, looked.carved.grid().stations);
    let last = course.moments().len().checked_sub(1)?;
    let area = |row: usize, moment: usize| course.section(row, moment).area;
    let mut by_moment: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for row in (0..rows).filter(|&row| area(row, 0) > 0.0 && area(row, last) == 0.0) {
        let emptied = (0..=last).find(|&moment| area(row, moment) == 0.0);
        by_moment.entry(emptied.unwrap_or(last)).or_default().push(row);
    }
    by_moment.into_iter().find_map(|(moment, emptied)| {
        let holds_wood = |row: usize| area(row, moment) > 0.0;
        let is_between = |row: &usize| (0..*row).any(holds_wood) && (*row + 1..rows).any(holds_wood);
        emptied.iter().any(is_between).then(|| course.moments()[moment])
    })
}

impl Looked<'_> {
    /// What is loose, each part with the block that severed it: at the end, and where a station vanished.
    fn traced(
        &self,
        at_end: &[Part],
        vanished: Option<u32>,
        history: &mut History<'_>,
        options: &RunOptions<'_>,
    ) -> Result<Vec<Loose>, CarveError> {
        let mut found = Vec::new();
        if let Some(block) = vanished {
            let parts = history.at(block, options.cancel)?.parts(options.cancel)?;
            found.extend(self.severed(&parts, block, history, options)?);
        }
        for part in self.severed(at_end, self.work.motions.count(), history, options)? {
            // What came loose earlier and is still there is told once.
            let is_known = found.iter().any(|known: &Loose| known.block == part.block);
            found.extend((!is_known).then_some(part));
        }
        Ok(found)
    }

    /// The loose ones of some parts, the greatest first.
    fn loose(&self, parts: &[Part]) -> Vec<Loose> {
        let Some(held) = self.held(parts) else { return Vec::new() };
        let with_target = self.with_target(parts);
        let others = parts.iter().enumerate().filter(|(part, _)| *part != held);
        others
            .filter(|(_, part)| part.volume_mm3 >= CRUMB)
            .take(FOLLOWED)
            .map(|(at, part)| Loose { part: part.clone(), block: None, holds_target: with_target == Some(at) })
            .collect()
    }

    /// The same with the blocks that severed them, of parts that there are before a block.
    fn severed(
        &self,
        parts: &[Part],
        before: u32,
        history: &mut History<'_>,
        options: &RunOptions<'_>,
    ) -> Result<Vec<Loose>, CarveError> {
        let Some(held) = self.held(parts) else { return Ok(Vec::new()) };
        let point = |part: &Part| (part.ray, part.radius);
        let mut loose = self.loose(parts);
        for one in &mut loose {
            one.block = Some(severing([point(&parts[held]), point(&one.part)], before, history, options)?);
        }
        Ok(loose)
    }

    /// The part that what holds the blank has hold of: the greatest of those that begin nearest to it.
    fn held(&self, parts: &[Part]) -> Option<usize> {
        let is_gripped = |part: &Part| part.stations.0 < self.scene.blank_start() + self.grip();
        let of = |wanted: &dyn Fn(&Part) -> bool| parts.iter().position(wanted);
        of(&is_gripped).or_else(|| of(&|_| true))
    }

    /// Length of blank that is surely in the holding, mm: all of it that is in the jaws, else the first row.
    fn grip(&self) -> f64 {
        let step = self.carved.grid().station_step;
        (-self.scene.blank_start()).max(step)
    }

    fn with_target(&self, parts: &[Part]) -> Option<usize> {
        let [first, last] = self.span?;
        let share = |part: &Part| part.volume_between(first, last);
        (0..parts.len()).max_by(|&a, &b| share(&parts[a]).total_cmp(&share(&parts[b])))
    }
}

/// The block that parts two points of the wood, which are apart before a block.
fn severing(
    points: [WoodPoint; 2],
    before: u32,
    history: &mut History<'_>,
    options: &RunOptions<'_>,
) -> Result<u32, CarveError> {
    // Together before block `together`, apart before block `apart`.
    let (mut together, mut apart) = (0, before);
    while apart - together > 1 {
        let middle = together + (apart - together) / 2;
        if history.at(middle, options.cancel)?.are_joined(points, options.cancel)? {
            together = middle;
        } else {
            apart = middle;
        }
    }
    Ok(together)
}
