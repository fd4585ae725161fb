//! What examining whole jobs costs: 4 moving bodies against 10 rows of fixed ones, 98 pairs of convex parts.
//!
//! Each job is one a long prove meets, or made up to be hard on the search.

use dryturn_check::contact::{
    Assembly, ContactReport, Examiner, FixedBody, FixedShape, MovingBody, MovingPart, Span, Window, examine,
    flutes_body,
};
use dryturn_geom::{Flutes, Motion, Pose, Shape, angle::radians};

fn main() {
    divan::main();
}

fn fixed() -> Vec<FixedBody> {
    let body = |row: &str, which, shape| FixedBody { row: row.into(), which, shape };
    let mut bodies = vec![body("chuck", 0, FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 })];
    for which in 1..=4 {
        let angle = radians(90.0) * f64::from(which - 1);
        let jaw = FixedShape::Jaw { x: [-22.0, 0.0], inner: 30.0, outer: 48.0, width: 14.0, angle };
        bodies.push(body("jaws", which, jaw));
    }
    for which in 1..=2 {
        let angle = radians(180.0) * f64::from(which - 1);
        let screw = FixedShape::Screw { from: 0.0, to: 25.0, radius: 2.0, offset: 10.0, angle };
        bodies.push(body("screw", which, screw));
    }
    let plate = FixedShape::CylinderX { from: -8.0, to: 0.0, radius: 25.0 };
    let cone = FixedShape::ConeX { apex: 183.0, half_angle: radians(30.0), radius: 6.0 };
    let head = FixedShape::CylinderX { from: 193.4, to: 206.0, radius: 15.0 };
    let quill = FixedShape::CylinderX { from: 206.0, to: 216.0, radius: 8.0 };
    let tailstock = FixedShape::Box { x: [216.0, 286.0], y: [-20.0, 20.0], z: [-75.0, 40.0] };
    let clamp = FixedShape::Box { x: [60.0, 80.0], y: [60.0, 90.0], z: [-75.0, -30.0] };
    bodies.extend([
        body("faceplate", 0, plate),
        body("center", 0, cone),
        body("head", 0, head),
        body("quill", 0, quill),
        body("tailstock", 0, tailstock),
        body("bed", 0, FixedShape::Below { height: -75.0 }),
        body("clamp", 0, clamp),
    ]);
    bodies
}

fn assembly() -> Assembly {
    let cylinder = MovingPart::cylinder;
    let body = |name: &str, parts| MovingBody { name: name.into(), parts };
    let flutes = Flutes::new(Shape::Ball, 3.0, 20.0).expect("these are the numbers of a cutter");
    Assembly {
        bodies: vec![
            body("cutter", flutes_body(&flutes)),
            body("shank", vec![cylinder(3.0, 20.0, 35.0)]),
            body("holder", vec![cylinder(10.0, 35.0, 43.0), cylinder(12.5, 43.0, 63.0)]),
            body("spindle", vec![cylinder(26.0, 63.0, 103.0), cylinder(40.0, 103.0, 223.0)]),
        ],
    }
}

fn motions(poses: impl Iterator<Item = Pose>) -> Vec<Motion> {
    let poses: Vec<Pose> = poses.collect();
    let motion = |(block, pair): (u32, &[Pose])| Motion {
        from: pair[0],
        to: pair[1],
        arc: None,
        block,
        cutter: 0,
        rapid: false,
    };
    (0..).zip(poses.windows(2)).map(motion).collect()
}

fn helix(blocks: u32, x: [f64; 2], z: f64, degrees: f64) -> Vec<Motion> {
    motions((0..=blocks).map(|k| {
        let share = f64::from(k) / f64::from(blocks);
        Pose { x: x[0] + (x[1] - x[0]) * share, y: 0.0, z, turn: radians(degrees) * f64::from(k) }
    }))
}

fn raster(blocks: u32) -> Vec<Motion> {
    motions((0..=blocks).map(|k| {
        let (line, place) = (k / 200, k % 200);
        let along = if line % 2 == 0 { place } else { 199 - place };
        let z = 18.0 + 4.0 * (f64::from(along) * 0.1).sin();
        Pose { x: 12.0 + 0.75 * f64::from(along), y: 0.0, z, turn: radians(0.36) * f64::from(line) }
    }))
}

fn walk(blocks: u32) -> Vec<Motion> {
    let mut state = 1u64;
    let mut step = move |size: f64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        size * ((state >> 11) as f64 / (1u64 << 52) as f64 - 1.0)
    };
    let mut pose = Pose { x: 90.0, y: 0.0, z: 25.0, turn: 0.0 };
    motions((0..=blocks).map(move |_| {
        pose = Pose {
            x: (pose.x + step(0.5)).clamp(16.0, 170.0),
            y: (pose.y + step(0.3)).clamp(-10.0, 10.0),
            z: (pose.z + step(0.3)).clamp(15.0, 40.0),
            turn: pose.turn + step(0.1),
        };
        pose
    }))
}

fn run(bencher: divan::Bencher, motions: Vec<Motion>) {
    let (assemblies, fixed) = ([assembly()], fixed());
    bencher.bench(|| -> ContactReport { examine(&motions, &assemblies, &fixed, &|_| 2.0, &|_| 0) });
}

/// The window alone, its tree made before; on all cores.
fn run_window(bencher: divan::Bencher, motions: Vec<Motion>) {
    let (assemblies, fixed) = ([assembly()], fixed());
    let examiner = Examiner::new(&motions, &assemblies, &fixed, &|_| 0, None);
    bencher.bench_local(|| -> Window { examiner.window(&[(0, 15.0)]) });
}

/// The least distance in each of 400 slices, one after another.
fn run_slices(bencher: divan::Bencher, motions: Vec<Motion>) {
    let (assemblies, fixed) = ([assembly()], fixed());
    let examiner = Examiner::new(&motions, &assemblies, &fixed, &|_| 0, None);
    let count = motions.len() as u32;
    bencher.bench_local(|| -> Vec<Option<f64>> {
        let at = |slice: u32| (slice * (count / 400).max(1), 0.0);
        let span = |slice| Span { from: at(slice), to: at(slice + 1) };
        (0..400).map(|slice| examiner.least_over(&span(slice), 50.0)).collect()
    });
}

#[divan::bench(sample_count = 10)]
fn slices_of_finishing_helix_200k(bencher: divan::Bencher) {
    run_slices(bencher, helix(200_000, [15.0, 170.0], 20.0, 1.8));
}

#[divan::bench(sample_count = 10)]
fn slices_of_raster_200k(bencher: divan::Bencher) {
    run_slices(bencher, raster(200_000));
}

#[divan::bench(sample_count = 10)]
fn slices_of_random_walk_200k(bencher: divan::Bencher) {
    run_slices(bencher, walk(200_000));
}

#[divan::bench(sample_count = 10)]
fn slices_of_helix_over_the_jaws_200k(bencher: divan::Bencher) {
    run_slices(bencher, helix(200_000, [3.0, 8.0], 14.01, 1.8));
}

#[divan::bench(sample_count = 10)]
fn slices_of_holder_in_the_chuck_200k(bencher: divan::Bencher) {
    run_slices(bencher, helix(200_000, [-40.0, 15.0], 4.0, 1.8));
}

#[divan::bench(sample_count = 10)]
fn window_of_finishing_helix_200k(bencher: divan::Bencher) {
    run_window(bencher, helix(200_000, [15.0, 170.0], 20.0, 1.8));
}

#[divan::bench(sample_count = 10)]
fn window_of_raster_200k(bencher: divan::Bencher) {
    run_window(bencher, raster(200_000));
}

#[divan::bench(sample_count = 10)]
fn window_of_random_walk_200k(bencher: divan::Bencher) {
    run_window(bencher, walk(200_000));
}

#[divan::bench(sample_count = 10)]
fn window_of_helix_over_the_jaws_200k(bencher: divan::Bencher) {
    run_window(bencher, helix(200_000, [3.0, 8.0], 14.01, 1.8));
}

#[divan::bench(sample_count = 10)]
fn window_of_holder_in_the_chuck_200k(bencher: divan::Bencher) {
    run_window(bencher, helix(200_000, [-40.0, 15.0], 4.0, 1.8));
}

#[divan::bench(sample_count = 10)]
fn finishing_helix_200k(bencher: divan::Bencher) {
    run(bencher, helix(200_000, [15.0, 170.0], 20.0, 1.8));
}

#[divan::bench(sample_count = 10)]
fn raster_200k(bencher: divan::Bencher) {
    run(bencher, raster(200_000));
}

#[divan::bench(sample_count = 10)]
fn random_walk_200k(bencher: divan::Bencher) {
    run(bencher, walk(200_000));
}

#[divan::bench(sample_count = 10)]
fn sixty_blocks_of_200_turns(bencher: divan::Bencher) {
    run(bencher, helix(60, [15.0, 170.0], 20.0, 72_000.0));
}

/// The holder half a millimetre over the corners of the jaws all the time.
#[divan::bench(sample_count = 10)]
fn helix_over_the_jaws_200k(bencher: divan::Bencher) {
    run(bencher, helix(200_000, [3.0, 8.0], 14.01, 1.8));
}

/// The holder on the corners of the jaws at every turn.
#[divan::bench(sample_count = 10)]
fn helix_into_the_jaws_200k(bencher: divan::Bencher) {
    run(bencher, helix(200_000, [3.0, 8.0], 13.3, 1.8));
}

#[divan::bench(sample_count = 10)]
fn two_thousand_blocks_of_120_degrees(bencher: divan::Bencher) {
    run(bencher, helix(2_000, [3.0, 8.0], 14.01, 120.0));
}

/// The holder in the chuck for half of the job.
#[divan::bench(sample_count = 10)]
fn holder_in_the_chuck_200k(bencher: divan::Bencher) {
    run(bencher, helix(200_000, [-40.0, 15.0], 4.0, 1.8));
}
