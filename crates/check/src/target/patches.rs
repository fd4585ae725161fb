//! What is beyond its tolerance, joined over the skin.

use dryturn_carve::Grid;

/// What is wrong at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Wood of the target was cut away.
    Gouge,
    /// Wood was left over the target.
    Leftover,
    /// The target has wood where the blank never had any.
    Short,
    /// The target has wood where the live center has its dimple.
    Dimple,
}

/// A place beyond its tolerance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Row of the ray, or of the nearest.
    pub row: u32,
    /// Column of the ray, or of the nearest.
    pub column: u32,
    /// What is wrong.
    pub kind: Kind,
    /// Signed shortest distance, mm: above 0 outside the target.
    pub gap: f32,
    /// How far the surface that was meant may lie off the facets there, mm.
    pub chord: f32,
    /// Station, mm.
    pub station: f32,
    /// Angle θ, radians.
    pub theta: f32,
    /// Radius, mm.
    pub radius: f32,
    /// The block that made the surface there; [`dryturn_carve::UNTOUCHED`] or [`dryturn_carve::PREPARED`] where none did.
    pub by: u32,
    /// Volume missing or too much on its ray, mm³; 0 off the rays.
    pub mm3: f32,
}

impl Fault {
    pub(super) fn new(
        (row, column): (usize, usize),
        kind: Kind,
        gap: f64,
        chord: f64,
        (station, theta, radius): (f64, f64, f64),
        by: u32,
    ) -> Fault {
        let [gap, chord, station, theta, radius] = [gap, chord, station, theta, radius].map(|value| value as f32);
        Fault { row: row as u32, column: column as u32, kind, gap, chord, station, theta, radius, by, mm3: 0.0 }
    }

    /// How far it is off, mm.
    pub fn depth(&self) -> f32 {
        self.gap.abs()
    }
}

/// Places of one kind that are connected over the skin.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// What is wrong.
    pub kind: Kind,
    /// Of the worst the first.
    pub worst: Fault,
    /// How many rays, or steps beside them, it takes in.
    pub rays: usize,
    /// Volume missing or too much, mm³.
    pub mm3: f64,
    /// Blocks that made its surface, in order.
    pub blocks: Vec<u32>,
    /// Whether it is wood that no cutter of the job can reach.
    pub is_out_of_reach: bool,
    /// Some of its places, evenly spread.
    pub(super) samples: Vec<Fault>,
}

/// Most places of a patch that are kept for a closer look.
const SAMPLES: usize = 24;

/// Joins faults, sorted by kind, row and column; the worst patch of each kind first.
pub(super) fn joined(mut faults: Vec<Fault>, grid: &Grid) -> Vec<Patch> {
    faults.sort_by_key(|fault| (fault.kind, fault.row, fault.column));
    let mut patches: Vec<Patch> =
        faults.chunk_by(|a, b| a.kind == b.kind).flat_map(|faults| of_one_kind(faults, grid)).collect();
    patches.sort_by(|a, b| a.kind.cmp(&b.kind).then(b.worst.depth().total_cmp(&a.worst.depth())));
    patches
}

fn of_one_kind(faults: &[Fault], grid: &Grid) -> Vec<Patch> {
    let mut union: Vec<u32> = (0..faults.len() as u32).collect();
    let cell = |fault: &Fault| (fault.row, fault.column);
    for (index, fault) in faults.iter().enumerate() {
        // Those before it in order; round the blank the last column is next to the first, before and after.
        let (row, column, columns) = (fault.row, fault.column, grid.angles as u32);
        let left = (column + columns - 1) % columns;
        let right = (column + 1) % columns;
        let above = row.checked_sub(1);
        let beside =
            [left, column, right].map(|column| (above, column)).into_iter().filter_map(|(row, c)| Some((row?, c)));
        for neighbour in beside.chain([(row, left), (row, column), (row, right)]) {
            let first = faults.partition_point(|other| cell(other) < neighbour);
            for other in (first..faults.len()).take_while(|&other| cell(&faults[other]) == neighbour) {
                join(&mut union, index as u32, other as u32);
            }
        }
    }
    let mut members: Vec<(u32, usize)> =
        (0..faults.len()).map(|index| (root(&mut union, index as u32), index)).collect();
    members.sort_unstable();
    let of = |members: &[(u32, usize)]| patch(members.iter().map(|member| &faults[member.1]));
    members.chunk_by(|a, b| a.0 == b.0).filter_map(of).collect()
}

fn root(union: &mut [u32], mut index: u32) -> u32 {
    while union[index as usize] != index {
        let above = union[union[index as usize] as usize];
        union[index as usize] = above;
        index = above;
    }
    index
}

/// The lower root stays, so that the result hangs on no order.
fn join(union: &mut [u32], one: u32, other: u32) {
    let (one, other) = (root(union, one), root(union, other));
    union[one.max(other) as usize] = one.min(other);
}

fn patch<'a>(faults: impl ExactSizeIterator<Item = &'a Fault>) -> Option<Patch> {
    let rays = faults.len();
    let apart = rays.div_ceil(SAMPLES);
    let (mut worst, mut mm3, mut blocks, mut samples): (Option<Fault>, _, _, _) = (None, 0.0, Vec::new(), Vec::new());
    for (index, fault) in faults.enumerate() {
        if worst.is_none_or(|worst| fault.depth() > worst.depth()) {
            worst = Some(*fault);
        }
        mm3 += f64::from(fault.mm3);
        if blocks.last() != Some(&fault.by) {
            blocks.push(fault.by);
        }
        if index % apart == 0 {
            samples.push(*fault);
        }
    }
    blocks.sort_unstable();
    blocks.dedup();
    let worst = worst?;
    samples.push(worst);
    Some(Patch { kind: worst.kind, worst, rays, mm3, blocks, is_out_of_reach: false, samples })
}
