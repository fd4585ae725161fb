//! What the tests of whole carves share: programs in a few words, carves that are checked for soundness, and solids
//! compared ray by ray.

#![allow(dead_code, reason = "each test crate uses its own part")]

use std::hash::{DefaultHasher, Hash, Hasher};

use dryturn_carve::{Carved, Cutter, Grid, Job, Reach, RunOptions, Upper, UpperBody, carve};
use dryturn_geom::{Arc, Axis, Flutes, Lean, Motion, Pose, Shape, Stock, angle};

/// A pose from mm and degrees.
pub(crate) fn pose(x: f64, y: f64, z: f64, degrees: f64) -> Pose {
    Pose { x, y, z, turn: degrees.to_radians() }
}

/// A bare cutter: flutes and nothing above them.
pub(crate) fn cutter(shape: Shape, radius: f64, length: f64) -> Cutter {
    Cutter { flutes: Flutes::new(shape, radius, length).expect("the cutters of the tests are cutters"), uppers: vec![] }
}

/// One cutter of every kind, about `radius` mm wide on each side with flutes 4 times as long; `share` from 0 to 1 varies
/// their proportions.
pub(crate) fn one_of_each(radius: f64, share: f64) -> Vec<(&'static str, Cutter)> {
    let small = radius * (0.1 + 0.6 * share);
    let half_angle = |least: f64, most: f64| angle::radians(least + (most - least) * share);
    let tall = 0.5 * radius + share;
    let form = |profile: &[(f64, f64)]| Shape::Form { profile: profile.to_vec() };
    let shapes = [
        ("flat", Shape::Flat),
        ("ball", Shape::Ball),
        ("bull", Shape::Bull { corner: small }),
        ("vee", Shape::Vee { half_angle: half_angle(15.0, 75.0), tip_radius: 0.0 }),
        ("flat vee", Shape::Vee { half_angle: half_angle(15.0, 75.0), tip_radius: small }),
        ("ball taper", Shape::Taper { half_angle: half_angle(2.0, 20.0), tip_radius: small, ball: true }),
        ("flat taper", Shape::Taper { half_angle: half_angle(2.0, 20.0), tip_radius: small, ball: false }),
        ("drill", Shape::Drill { half_angle: half_angle(45.0, 70.0) }),
        (
            "convex form",
            form(&[(0.0, 0.0), (0.2 * radius, 0.6 * radius), (radius, 0.9 * radius), (3.0 * radius, radius)]),
        ),
        ("cove form", form(&[(0.0, small), (tall, small), (2.0 * tall, radius)])),
        ("keyhole", form(&[(0.0, radius), (tall, radius), (tall, 0.5 * small)])),
        ("dovetail", form(&[(0.0, radius), (2.0 * tall, small), (3.0 * tall, small)])),
    ];
    shapes.map(|(name, shape)| (name, cutter(shape, radius, 4.0 * radius))).into()
}

/// A program: one block after the other, each from where the last one ended.
pub(crate) struct Program {
    pub(crate) motions: Vec<Motion>,
    at: Pose,
    cutter: u16,
}

impl Program {
    pub(crate) fn new(start: Pose) -> Program {
        Program { motions: Vec::new(), at: start, cutter: 0 }
    }

    /// Goes on elsewhere, with another cutter, without a block.
    pub(crate) fn resume(&mut self, at: Pose, cutter: u16) -> &mut Program {
        (self.at, self.cutter) = (at, cutter);
        self
    }

    pub(crate) fn feed(&mut self, to: Pose) -> &mut Program {
        self.block(to, false)
    }

    pub(crate) fn rapid(&mut self, to: Pose) -> &mut Program {
        self.block(to, true)
    }

    /// One whole turn of the blank under the cutter at rest.
    pub(crate) fn ring(&mut self, x: f64, y: f64, z: f64) -> &mut Program {
        self.resume(pose(x, y, z, 0.0), self.cutter).feed(pose(x, y, z, 360.0))
    }

    fn block(&mut self, to: Pose, rapid: bool) -> &mut Program {
        let block = self.motions.len() as u32;
        self.motions.push(Motion { from: self.at, to, arc: None, block, cutter: self.cutter, rapid });
        self.at = to;
        self
    }
}

/// Numbers the blocks of a list of motions anew, in the order they stand in.
pub(crate) fn numbered(mut motions: Vec<Motion>) -> Vec<Motion> {
    for (block, motion) in motions.iter_mut().enumerate() {
        motion.block = block as u32;
    }
    motions
}

/// Carves on the grid of the given pitch and checks what must hold of any carved blank.
pub(crate) fn carved(stock: &Stock, cutters: &[Cutter], motions: &Vec<Motion>, pitch: f64) -> Carved {
    let job = Job { stock, dimple: None, cutters, motions };
    carve_checked(&job, &Grid::over(stock, pitch), &RunOptions::default())
}

/// Carves and checks what must hold of any carved blank.
pub(crate) fn carve_checked(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> Carved {
    let carved = carve(job, grid, options).expect("nothing cancels it and its cutters are there");
    if let Err(fault) = carved.check_integrity(job.stock.swept_radius()) {
        panic!("{fault}");
    }
    carved
}

/// Solid along a ray, (inner, outer) in mm, from the axis out.
pub(crate) type Solid = Vec<(f64, f64)>;

/// The solid a carved blank holds along a ray.
pub(crate) fn solid(carved: &Carved, row: usize, column: usize) -> Solid {
    let mut solid: Solid =
        carved.spans(row, column).map(|span| (f64::from(span.inner), f64::from(span.outer))).collect();
    solid.reverse();
    solid
}

/// What is left of some solid when the radii `lo` … `hi` go.
pub(crate) fn without(solid: &[(f64, f64)], lo: f64, hi: f64) -> Solid {
    solid
        .iter()
        .flat_map(|&(inner, outer)| [(inner, outer.min(lo)), (inner.max(hi), outer)])
        .filter(|(inner, outer)| inner < outer)
        .collect()
}

/// The longest stretch of the ray that belongs to one solid and not to the other, mm.
///
/// It is at least as long as the error of any end, and slivers thinner than any end's error do not upset it.
pub(crate) fn difference(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let beyond = |solid: &[(f64, f64)], other: &[(f64, f64)]| {
        let rest = other.iter().fold(solid.to_vec(), |rest, &(lo, hi)| without(&rest, lo, hi));
        rest.iter().map(|(inner, outer)| outer - inner).fold(0.0, f64::max)
    };
    beyond(a, b).max(beyond(b, a))
}

/// A closed form of `data/oracles.json`, to 15 digits, by its id and a part of its description.
///
/// Sources: V11 MathWorld, *Steinmetz Solid*, eq. 8 and the volume V₂(a, b) there, and Hubbell, *J. Res. NBS* 69C
/// (1965); V26 the integral of arXiv 2512.22555; V25 that of `tests/closed_forms.rs`, by quadrature. From memory: V08's
/// torus part by Pappus' theorem; V23 by Cavalieri's principle; caps, frusta, segments and prisms as in the tables of
/// volumes of any handbook (Beyer, *CRC Standard Mathematical Tables*).
pub(crate) fn oracle(id: &str, part: &str) -> f64 {
    let text = include_str!("../data/oracles.json");
    let rows: Vec<[String; 3]> = serde_json::from_str(text).expect("a table of three columns");
    let found: Vec<_> = rows.iter().filter(|[row, about, _]| row == id && about.contains(part)).collect();
    assert_eq!(found.len(), 1, "{id} {part}");
    found[0][2].parse().expect("a number")
}

/// Relative error of a volume summed over the rays of a grid that meet a round wall of this radius parallel to the tool
/// axis: twice the 1.2e-3 measured on a hole of radius 5 at a pitch of 0.25 mm, scaled by its order of 1.5.
pub(crate) fn round_wall(pitch: f64, radius: f64) -> f64 {
    2.0 * 1.2e-3 * (pitch / radius / 0.05).powf(1.5)
}

/// The worst of something over all rays, and where.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Worst {
    pub(crate) value: f64,
    pub(crate) row: usize,
    pub(crate) column: usize,
}

/// The worst of a measure of rays (row, column) over a grid.
pub(crate) fn worst(grid: &Grid, measure: impl Fn(usize, usize) -> f64) -> Worst {
    let mut worst = Worst::default();
    for row in 0..grid.stations {
        for column in 0..grid.angles {
            let value = measure(row, column);
            if value > worst.value || value.is_nan() {
                worst = Worst { value, row, column };
            }
        }
    }
    worst
}

/// The greatest [`difference`] between a carved blank and a solid given as a function of (station, angle), over one in
/// so many rays.
pub(crate) fn worst_difference(carved: &Carved, one_in: usize, expected: impl Fn(f64, f64) -> Solid) -> Worst {
    let grid = carved.grid();
    worst(grid, |row, column| {
        if !(row * grid.angles + column).is_multiple_of(one_in) {
            return 0.0;
        }
        difference(&solid(carved, row, column), &expected(grid.station(row), grid.theta(column)))
    })
}

/// The greatest [`difference`] between two carved blanks of one grid, the ray (row, column) of the first belonging to
/// the ray `of(row, column)` of the second; rays that belong to none are left out.
pub(crate) fn worst_between(a: &Carved, b: &Carved, of: impl Fn(usize, usize) -> Option<(usize, usize)>) -> Worst {
    worst(a.grid(), |row, column| {
        of(row, column).map_or(0.0, |(r, c)| difference(&solid(a, row, column), &solid(b, r, c)))
    })
}

/// All volume removed, mm³.
pub(crate) fn removed_mm3(carved: &Carved, motions: &[Motion]) -> f64 {
    carved.removed_mm3(0..motions.len() as u32)
}

/// All bits of a result, hashed.
pub(crate) fn bits(carved: &Carved, blocks: u32) -> u64 {
    let mut hasher = DefaultHasher::new();
    for rows in carved.bands() {
        let band = carved.band(rows.clone());
        for dexel in rows.flat_map(|row| band.row(row)) {
            for span in dexel.spans() {
                (span.inner.to_bits(), span.outer.to_bits(), span.inner_by, span.outer_by).hash(&mut hasher);
            }
            (u32::MAX, dexel.radius().to_bits(), dexel.cut_by()).hash(&mut hasher);
        }
    }
    for block in 0..blocks {
        carved.removed_by(block).to_bits().hash(&mut hasher);
    }
    let mut hash_all = |reaches: &[Reach]| {
        reaches.len().hash(&mut hasher);
        for reach in reaches {
            (reach.block, reach.depth.to_bits(), reach.radius.to_bits(), reach.row, reach.column).hash(&mut hasher);
        }
    };
    hash_all(&carved.rapids);
    hash_all(&carved.beyond_axis);
    carved.uppers.iter().for_each(|(_, reaches)| hash_all(reaches));
    (carved.blank_mm3().to_bits(), carved.left_mm3().to_bits()).hash(&mut hasher);
    hasher.finish()
}

/// A cutter with a shank, a holder and a spindle over its flutes.
pub(crate) fn with_uppers(mut cutter: Cutter) -> Cutter {
    let (length, radius) = (cutter.flutes.length(), cutter.flutes.radius());
    let body = |kind, radius, from: f64, to: f64| UpperBody { kind, radius, from: length + from, to: length + to };
    cutter.uppers = vec![
        body(Upper::Shank, radius + 0.5, 0.0, 1.0),
        body(Upper::Holder, radius + 5.0, 1.0, 3.0),
        body(Upper::Spindle, 20.0, 3.0, 60.0),
    ];
    cutter
}

fn arc_at(from: Pose, axes: [Axis; 2], reach: [f64; 2], sweep: f64, rise: f64) -> Motion {
    let mut motion = Motion { from, to: from, arc: None, block: 0, cutter: 0, rapid: false };
    let first = match axes[0] {
        Axis::X => from.x,
        _ => from.z,
    };
    let second = match axes[1] {
        Axis::Y => from.y,
        Axis::X => from.x,
        _ => from.turn,
    };
    motion.arc =
        Some(Arc { axes, center: [first - reach[0], second], reach, start: 0.0, sweep, lean: Lean::default() });
    motion.to = motion.at(1.0 - 1e-12);
    motion.to.z += rise;
    motion
}

/// Every kind of cutter with bodies above it, one after the other: rings, helices, plunges, rapids, arcs.
pub(crate) fn everything() -> (Vec<Cutter>, Vec<Motion>) {
    let cutters: Vec<Cutter> = one_of_each(2.0, 0.4).into_iter().map(|(_, cutter)| with_uppers(cutter)).collect();
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for index in 0..cutters.len() {
        let (k, x) = (index as f64, 2.5 * index as f64 + 1.0);
        program
            .resume(pose(x, 0.3 * k - 1.0, 20.0, 40.0 * k), index as u16)
            .rapid(pose(x, 0.3 * k - 1.0, 11.5, 40.0 * k))
            .feed(pose(x + 1.0, 0.0, 8.0 - 0.6 * k, 40.0 * k + 100.0))
            .feed(pose(x + 2.0, 1.0, 6.0, 40.0 * k + 130.0))
            .rapid(pose(x + 3.0, 1.0, 7.0, 40.0 * k + 131.0))
            .feed(pose(x + 3.0, 0.0, 9.0, 40.0 * k + 331.0))
            .feed(pose(x + 3.0, 0.0, -1.0, 40.0 * k + 335.0));
        let arcs = [
            arc_at(pose(x, 1.0, 9.0, 70.0 * k), [Axis::X, Axis::Y], [2.0, 2.0], 4.0, -1.0),
            arc_at(pose(x, 0.0, 10.0, 70.0 * k), [Axis::Z, Axis::X], [1.5, 1.5], -3.0, 0.0),
            arc_at(pose(x, 0.0, 9.5, 70.0 * k), [Axis::X, Axis::Turn], [2.0, 0.2], 6.0, 0.0),
        ];
        for arc in arcs {
            program.motions.push(Motion { block: program.motions.len() as u32, cutter: index as u16, ..arc });
        }
    }
    (cutters, program.motions)
}
