//! Whole programs: least distances against dense sampling with a collision library, stretches, and what is no number.

mod oracle;

use dryturn_check::contact::{Assembly, ContactReport, FixedBody, FixedShape, MovingBody, MovingPart, examine};
use dryturn_geom::{Motion, Motions, Pose, angle::radians};
use oracle::Dice;
use oracle::jobs::{
    arc_program, body, chuck_with_jaws, distance_at, examine_all, fixed, named, program, row, sampled_least,
    single_parts, spindle_side, tailstock,
};

fn least_distances_agree(motions: &[Motion], bodies: &[MovingBody], fixed: &[FixedBody], samples: u32) -> u32 {
    let report = examine_all(motions, bodies, fixed, 0.0);
    let rows: std::collections::BTreeSet<&str> = fixed.iter().map(|body| body.row.as_str()).collect();
    assert_eq!(report.clearances.len(), bodies.len() * rows.len());
    let mut checked = 0;
    for found in &report.clearances {
        let parts = named(bodies, &found.moving);
        let here = motions[found.block as usize].at(found.share);
        let there = distance_at(parts, row(fixed, &found.row), &here);
        assert!((there - found.least_mm.max(0.0)).abs() < 2e-3, "{found:?}: {there} at that moment");
        let which = row(fixed, &found.row).filter(|body| body.which == found.which);
        assert!(distance_at(parts, which, &here) < there + 2e-3, "{found:?} names another body");
        for motion in motions {
            // Only what could be nearer than what was found is worth many samples.
            let coarse = sampled_least(16, |t| distance_at(parts, row(fixed, &found.row), &motion.at(t)));
            let reach = 60.0 * (motion.to.turn - motion.from.turn).abs() / 16.0 + 10.0;
            if coarse - reach > found.least_mm {
                continue;
            }
            let least = sampled_least(samples, |t| distance_at(parts, row(fixed, &found.row), &motion.at(t)));
            assert!(least > found.least_mm.max(0.0) - 2e-3, "{found:?}: block {} has {least}", motion.block);
            checked += 1;
        }
    }
    checked
}

#[test]
fn the_least_distances_of_random_programs() {
    let mut dice = Dice::new(11);
    let mut checked = 0;
    for round in 0..60 {
        let (fixed, x) = if round % 2 == 0 {
            (chuck_with_jaws(&mut dice), [-30.0, 40.0])
        } else {
            (tailstock(&mut dice), [40.0, 120.0])
        };
        let low = dice.between(-20.0, 30.0);
        let bodies = spindle_side(&mut dice);
        let motions = program(&mut dice, 6, x, low);
        checked += least_distances_agree(&motions, &bodies, &fixed, 120);
    }
    assert!(checked > 500);
}

#[test]
fn the_least_distances_of_random_arcs() {
    let mut dice = Dice::new(12);
    for round in 0..24 {
        let (fixed, x) = if round % 2 == 0 {
            (chuck_with_jaws(&mut dice), [-30.0, 40.0])
        } else {
            (tailstock(&mut dice), [40.0, 120.0])
        };
        let bodies = spindle_side(&mut dice);
        let motions = arc_program(&mut dice, 5, x, 0.0);
        least_distances_agree(&motions, &bodies, &fixed, 120);
    }
}

const JAW: FixedShape = FixedShape::Jaw { x: [-22.0, 0.0], inner: 30.0, outer: 48.0, width: 14.0, angle: 0.0 };

fn block(from: [f64; 4], to: [f64; 4]) -> Motion {
    let pose = |p: [f64; 4]| Pose { x: p[0], y: p[1], z: p[2], turn: radians(p[3]) };
    Motion { from: pose(from), to: pose(to), arc: None, block: 0, cutter: 0, rapid: false }
}

#[test]
fn blocks_computed_independently() {
    let chuck = FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 };
    let holder = MovingPart::cylinder(12.5, 35.0, 55.0);
    let spindle = MovingPart::cylinder(26.0, 45.0, 80.0);
    let cases = [
        (holder, JAW, block([5.0, 0.0, 16.0, -30.0], [8.0, 1.0, 15.0, 45.0]), 1.975_624_3, Some(0.522_66)),
        (holder, JAW, block([14.0, 0.0, 8.0, 0.0], [13.0, 0.0, 6.0, 3600.0]), 0.5, Some(1.0)),
        (spindle, JAW, block([10.0, 4.0, 9.0, 11.0], [16.0, -3.0, 5.0, 2531.0]), 1.496_473_6, None),
        (holder, chuck, block([0.0, -20.0, 3.0, 0.0], [-2.0, 20.0, 5.0, 0.0]), 8.005_918_3, Some(0.799_14)),
        (holder, JAW, block([5.0, 0.0, 13.6, -60.0], [5.0, 0.0, 13.6, 60.0]), 0.092_268_7, Some(0.430_86)),
    ];
    for (part, shape, motion, least, share) in cases {
        let report = examine_all(&[motion], &[body("m", vec![part])], &[fixed("f", 0, shape)], 0.0);
        let found = &report.clearances[0];
        assert!((found.least_mm - least).abs() < 2e-7, "{found:?} for {least}");
        // The distance is level there, so its place is known less well than its value.
        assert!(share.is_none_or(|share| (found.share - share).abs() < 1e-3), "{found:?} for {share:?}");
    }
}

#[test]
fn a_block_of_two_hundred_turns_costs_little_and_misses_nothing() {
    let holder = [body("holder", vec![MovingPart::cylinder(12.5, 35.0, 55.0)])];
    let jaws = [fixed("jaws", 1, JAW)];
    // The corners swing to 48.508 under a holder that comes down from 50.2 to 48.45 over the jaws.
    let motion = block([-5.0, 0.0, 15.2, 0.0], [-5.0, 0.0, 13.45, 72_000.0]);
    let report = examine_all(&[motion], &holder, &jaws, 0.0);
    let stretch = &report.contacts[0];
    assert!((stretch.lift_mm - 0.058).abs() < 0.005, "{stretch:?}");
    let clear = block([-5.0, 0.0, 15.2, 0.0], [-5.0, 0.0, 14.0, 72_000.0]);
    let report = examine_all(&[clear], &holder, &jaws, 0.0);
    assert!((report.clearances[0].least_mm - (49.0 - 48f64.hypot(7.0))).abs() < 1e-3, "{:?}", report.clearances);
}

#[test]
fn a_million_turns_in_one_block_are_seen_through() {
    let holder = [body("holder", vec![MovingPart::cylinder(12.5, 35.0, 55.0)])];
    let jaws = [fixed("jaws", 1, JAW)];
    let clear = block([-5.0, 0.0, 15.2, 0.0], [-5.0, 0.0, 14.0, 3.6e8]);
    let report = examine_all(&[clear], &holder, &jaws, 0.0);
    assert!((report.clearances[0].least_mm - (49.0 - 48f64.hypot(7.0))).abs() < 2e-3, "{:?}", report.clearances);
    let hitting = block([-5.0, 0.0, 15.2, 0.0], [-5.0, 0.0, 13.0, 3.6e8]);
    let lift = examine_all(&[hitting], &holder, &jaws, 0.0).contacts[0].lift_mm;
    assert!((lift - (48f64.hypot(7.0) - 48.0)).abs() < 5e-3, "{lift}");
}

/// Blocks of which some move nothing or another cutter.
struct Gaps(Vec<Option<Motion>>);

impl Motions for Gaps {
    fn count(&self) -> u32 {
        self.0.len() as u32
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        self.0[index as usize]
    }
}

/// A holder going along the chuck at the lift `1`, up and back down, `heights` over the crest at each block's end.
fn over_the_chuck(heights: &[f64]) -> Gaps {
    let pose = |height: f64, k: usize| Pose { x: -40.0, y: 0.0, z: 5.0 + height, turn: 0.1 * k as f64 };
    let motion = |k: usize| Motion {
        from: pose(heights[k], k),
        to: pose(heights[k + 1], k + 1),
        arc: None,
        block: k as u32,
        cutter: 0,
        rapid: false,
    };
    Gaps((0..heights.len() - 1).map(|k| Some(motion(k))).collect())
}

fn stretches(gaps: &Gaps, near: f64, program_of: &(dyn Fn(u32) -> usize + Sync)) -> Vec<(u32, u32, u32)> {
    let holder = body("holder", vec![MovingPart::cylinder(12.5, 35.0, 55.0)]);
    let chuck = fixed("chuck", 0, FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 });
    let assemblies = [Assembly { bodies: vec![holder] }, Assembly::default()];
    let report = examine(gaps, &assemblies, &[chuck], &|_| near, program_of);
    report.contacts.iter().map(|s| (s.first_block, s.last_block, s.blocks)).collect()
}

#[test]
fn stretches_join_while_the_pair_stays_near() {
    let mut gaps = over_the_chuck(&[9.0, -1.0, -1.0, 1.0, 1.5, 1.0, -1.0, 9.0, 5.0, 5.0, -0.5, 9.0]);
    assert_eq!(stretches(&gaps, 2.0, &|_| 0), [(0, 6, 5), (9, 10, 2)]);
    assert_eq!(stretches(&gaps, 0.1, &|_| 0), [(0, 2, 3), (5, 6, 2), (9, 10, 2)]);
    // Another program begins at block 2.
    assert_eq!(stretches(&gaps, 0.1, &|block| usize::from(block >= 2)), [(0, 1, 2), (2, 2, 1), (5, 6, 2), (9, 10, 2)]);
    // A block that moves nothing is passed over; one that moves another cutter parts what is on either side.
    let mut other = gaps.0[1].unwrap();
    gaps.0[1] = None;
    assert_eq!(stretches(&gaps, 0.1, &|_| 0), [(0, 2, 2), (5, 6, 2), (9, 10, 2)]);
    other.cutter = 1;
    gaps.0[1] = Some(other);
    assert_eq!(stretches(&gaps, 0.1, &|_| 0), [(0, 0, 1), (2, 2, 1), (5, 6, 2), (9, 10, 2)]);
}

#[test]
fn long_contacts_are_found_whole() {
    let heights: Vec<f64> = (0..5000).map(|k| if (100..4200).contains(&k) { -1.0 } else { 3.0 }).collect();
    assert_eq!(stretches(&over_the_chuck(&heights), 2.0, &|_| 0), [(99, 4199, 4101)]);
}

#[test]
fn a_graze_is_zero_and_no_contact() {
    let gaps = over_the_chuck(&[9.0, -0.015, 9.0]);
    assert!(stretches(&gaps, 2.0, &|_| 0).is_empty());
    let holder = body("holder", vec![MovingPart::cylinder(12.5, 35.0, 55.0)]);
    let chuck = fixed("chuck", 0, FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 });
    let report = examine(&gaps, &[Assembly { bodies: vec![holder] }], &[chuck], &|_| 2.0, &|_| 0);
    assert_eq!(report.clearances[0].least_mm, 0.0);
    assert_eq!(report.near.len(), 1);
}

#[test]
fn the_first_of_equally_near_blocks_is_named() {
    let pose = |x: f64| Pose { x, y: 0.0, z: 20.0, turn: 0.0 };
    let motion = |k: u32| Motion {
        from: pose(f64::from(k)),
        to: pose(f64::from(k + 1)),
        arc: None,
        block: k,
        cutter: 0,
        rapid: false,
    };
    let motions: Vec<Motion> = (0..900).map(motion).collect();
    let bed = fixed("bed", 0, FixedShape::Below { height: -75.0 });
    let report = examine_all(&motions, &[body("cutter", vec![MovingPart::cylinder(3.0, 0.0, 20.0)])], &[bed], 2.0);
    assert_eq!((report.clearances[0].block, report.clearances[0].least_mm), (0, 95.0));
}

#[test]
fn numbers_that_are_none_and_bodies_that_are_none_break_nothing() {
    let nan = Pose { x: f64::NAN, y: 1e308, z: f64::INFINITY, turn: f64::NAN };
    let zero = Pose { x: 0.0, y: 0.0, z: 0.0, turn: 0.0 };
    let far = Pose { x: 1e308, y: -1e308, z: 1e200, turn: 1e300 };
    let motions = [
        Motion { from: zero, to: nan, arc: None, block: 0, cutter: 0, rapid: false },
        Motion { from: nan, to: zero, arc: None, block: 1, cutter: 0, rapid: false },
        Motion { from: zero, to: far, arc: None, block: 2, cutter: 0, rapid: false },
        Motion {
            from: zero,
            to: Pose { x: f64::NAN, turn: 0.3, ..zero },
            arc: None,
            block: 3,
            cutter: 0,
            rapid: false,
        },
        Motion { from: zero, to: Pose { x: 1e8, turn: 1e3, ..zero }, arc: None, block: 4, cutter: 0, rapid: false },
    ];
    let bodies = [
        body("none", vec![MovingPart::cylinder(-1.0, 5.0, 2.0), MovingPart::cylinder(f64::NAN, 0.0, 1.0)]),
        body("some", vec![MovingPart::cylinder(3.0, 0.0, 20.0), single_parts()[3].parts[0]]),
    ];
    let mut dice = Dice::new(5);
    let bodies_around: Vec<FixedBody> = chuck_with_jaws(&mut dice).into_iter().chain(tailstock(&mut dice)).collect();
    let report = examine_all(&motions, &bodies, &bodies_around, 2.0);
    assert!(report.clearances.iter().all(|found| found.moving == "some"));
    assert_eq!(examine_all(&[], &bodies, &bodies_around, 2.0), ContactReport::default());
}
