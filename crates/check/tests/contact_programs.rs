//! Whole programs against dense sampling with a collision library.

mod oracle;

use dryturn_check::contact::{
    Assembly, ContactReport, FixedBody, FixedShape, MovingBody, MovingPart, Stretch, examine, flutes_body,
};
use dryturn_geom::{Arc, Axis, Flutes, Motion, Motions, Pose, Shape, angle::radians};
use oracle::Dice;

/// What a moving body must lose before a meeting is a contact, mm.
const SKIN: f64 = 0.02;

fn fixed(row: &str, which: u32, shape: FixedShape) -> FixedBody {
    FixedBody { row: row.into(), which, shape }
}

fn body(name: &str, parts: Vec<MovingPart>) -> MovingBody {
    MovingBody { name: name.into(), parts }
}

fn examine_all(motions: &[Motion], bodies: &[MovingBody], fixed: &[FixedBody], near: f64) -> ContactReport {
    let assembly = Assembly { bodies: bodies.to_vec() };
    examine(&motions.to_vec(), &[assembly], fixed, &|_| near, &|_| 0)
}

fn chuck_with_jaws(dice: &mut Dice) -> Vec<FixedBody> {
    let mut bodies = vec![fixed("chuck", 0, FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 })];
    let (inner, width, turned) = (dice.between(15.0, 32.0), dice.between(8.0, 20.0), dice.between(0.0, 2.0));
    for which in 1..=4 {
        let angle = turned + radians(90.0) * f64::from(which - 1);
        bodies.push(fixed(
            "jaws",
            which,
            FixedShape::Jaw { x: [-22.0, 0.0], inner, outer: inner + 18.0, width, angle },
        ));
    }
    for which in 1..=2 {
        let angle = radians(180.0) * f64::from(which - 1) + 0.3;
        bodies.push(fixed("screw", which, FixedShape::Screw { from: 0.0, to: 25.0, radius: 2.0, offset: 10.0, angle }));
    }
    bodies
}

fn tailstock(dice: &mut Dice) -> Vec<FixedBody> {
    let cone = FixedShape::ConeX { apex: 83.0, half_angle: radians(dice.between(20.0, 40.0)), radius: 6.0 };
    vec![
        fixed("center", 0, cone),
        fixed("head", 0, FixedShape::CylinderX { from: 92.0, to: 105.0, radius: 15.0 }),
        fixed("quill", 0, FixedShape::CylinderX { from: 105.0, to: 120.0, radius: 8.0 }),
        fixed("tailstock", 0, FixedShape::Box { x: [120.0, 180.0], y: [-20.0, 20.0], z: [-75.0, 40.0] }),
        fixed("bed", 0, FixedShape::Below { height: -75.0 }),
        fixed("clamp", 0, FixedShape::Box { x: [30.0, 45.0], y: [50.0, 80.0], z: [-75.0, -20.0] }),
    ]
}

fn cutter(dice: &mut Dice) -> Vec<MovingPart> {
    let radius = dice.between(2.0, 6.0);
    let shape = match dice.below(6) {
        0 => Shape::Flat,
        1 => Shape::Ball,
        2 => Shape::Bull { corner: 0.4 * radius },
        3 => Shape::Vee { half_angle: radians(45.0), tip_radius: 0.0 },
        4 => Shape::Taper { half_angle: radians(6.0), tip_radius: 0.3 * radius, ball: true },
        _ => Shape::Form { profile: vec![(0.0, radius), (4.0, radius), (4.0, 0.5 * radius), (15.0, 0.5 * radius)] },
    };
    flutes_body(&Flutes::new(shape, radius, dice.between(15.0, 25.0)).unwrap())
}

fn spindle_side(dice: &mut Dice) -> Vec<MovingBody> {
    let stickout = dice.between(26.0, 45.0);
    let top = stickout + 28.0;
    vec![
        body("cutter", cutter(dice)),
        body("shank", vec![MovingPart::cylinder(3.0, 25.0, stickout)]),
        body(
            "holder",
            vec![MovingPart::cylinder(10.0, stickout, stickout + 8.0), MovingPart::cylinder(12.5, stickout + 8.0, top)],
        ),
        body(
            "spindle",
            vec![MovingPart::cylinder(26.0, top, top + 40.0), MovingPart::cylinder(40.0, top + 40.0, top + 160.0)],
        ),
    ]
}

/// A random walk; `low` is the lowest tip.
fn program(dice: &mut Dice, blocks: u32, x: [f64; 2], low: f64) -> Vec<Motion> {
    let tip = |dice: &mut Dice, turn: f64| Pose {
        x: dice.between(x[0], x[1]),
        y: dice.between(-25.0, 25.0),
        z: dice.between(low, low + 50.0),
        turn,
    };
    let mut from = tip(dice, 0.0);
    (0..blocks)
        .map(|block| {
            let sweep = [0.0, dice.between(-1.0, 1.0), dice.between(-12.0, 12.0)][dice.below(3)];
            let mut to = tip(dice, from.turn + sweep);
            if dice.below(4) == 0 {
                to = Pose { turn: to.turn, ..from };
            }
            let motion = Motion { from, to, arc: None, block, cutter: 0, rapid: false };
            from = to;
            motion
        })
        .collect()
}

/// The same walk on half circles across the station or in a level plane.
fn arc_program(dice: &mut Dice, blocks: u32, x: [f64; 2], low: f64) -> Vec<Motion> {
    let mut motions = program(dice, blocks, x, low);
    let mut from = motions[0].from;
    for motion in &mut motions {
        let axes = [[Axis::X, Axis::Y], [Axis::Y, Axis::Z], [Axis::X, Axis::Z]][dice.below(3)];
        let get = |pose: &Pose, axis: Axis| match axis {
            Axis::X => pose.x,
            Axis::Y => pose.y,
            Axis::Z => pose.z,
            Axis::Turn => pose.turn,
        };
        motion.from = from;
        let [a, b] = axes.map(|axis| (get(&motion.from, axis), get(&motion.to, axis)));
        let (center, out) = ([0.5 * (a.0 + a.1), 0.5 * (b.0 + b.1)], [0.5 * (a.0 - a.1), 0.5 * (b.0 - b.1)]);
        let radius = out[0].hypot(out[1]);
        let sweep = std::f64::consts::PI * if dice.below(2) == 0 { 1.0 } else { -1.0 };
        let start = out[1].atan2(out[0]);
        motion.arc = Some(Arc { axes, center, reach: [radius; 2], start, sweep });
        from = motion.to;
    }
    motions
}

/// Least of a function of the share by samples and by closing in on the lowest of them.
fn sampled_least(samples: u32, value: impl Fn(f64) -> f64) -> f64 {
    let share = |k: u32| f64::from(k) / f64::from(samples);
    let all: Vec<f64> = (0..=samples).map(|k| value(share(k))).collect();
    let lowest = (0..=samples).min_by(|&a, &b| all[a as usize].total_cmp(&all[b as usize])).unwrap();
    let (mut low, mut high) = (share(lowest.saturating_sub(1)), share((lowest + 1).min(samples)));
    for _ in 0..40 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if value(a) <= value(b) { high = b } else { low = a }
    }
    value(0.5 * (low + high)).min(all[lowest as usize])
}

fn row<'a>(fixed: &'a [FixedBody], name: &'a str) -> impl Iterator<Item = &'a FixedBody> + Clone {
    fixed.iter().filter(move |body| body.row == name)
}

fn distance_at<'a>(parts: &[MovingPart], fixed: impl Iterator<Item = &'a FixedBody> + Clone, pose: &Pose) -> f64 {
    let from = |part: &MovingPart| {
        fixed.clone().map(|body| oracle::distance(part, &body.shape, pose)).fold(f64::INFINITY, f64::min)
    };
    parts.iter().map(from).fold(f64::INFINITY, f64::min)
}

fn least_distances_agree(motions: &[Motion], bodies: &[MovingBody], fixed: &[FixedBody], samples: u32) -> u32 {
    let report = examine_all(motions, bodies, fixed, 0.0);
    let rows: std::collections::BTreeSet<&str> = fixed.iter().map(|body| body.row.as_str()).collect();
    assert_eq!(report.clearances.len(), bodies.len() * rows.len());
    let mut checked = 0;
    for found in &report.clearances {
        let parts = &bodies.iter().find(|body| body.name == found.moving).unwrap().parts;
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
    println!("{checked} blocks looked at closely");
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

/// A body of one part made smaller by the skin.
fn eroded(part: &MovingPart) -> MovingPart {
    match *part {
        MovingPart::Cylinder { radius, from, to, rounding } if rounding > 0.0 => {
            MovingPart::Cylinder { radius: radius - SKIN, from: from + SKIN, to: to - SKIN, rounding: rounding - SKIN }
        }
        MovingPart::Cylinder { radius, from, to, .. } => MovingPart::cylinder(radius - SKIN, from + SKIN, to - SKIN),
        MovingPart::Frustum { from, from_radius, to, to_radius } => {
            let side = (to_radius - from_radius).atan2(to - from);
            let wall = |z: f64| from_radius + (z - from) * side.tan() - SKIN / side.cos();
            let point = from + SKIN / side.sin();
            let low = if from_radius == 0.0 { point } else { from + SKIN };
            MovingPart::Frustum {
                from: low,
                from_radius: wall(low).max(0.0),
                to: to - SKIN,
                to_radius: wall(to - SKIN),
            }
        }
        MovingPart::Bowl { disc, tube, center, top } => {
            MovingPart::Bowl { disc, tube: tube - SKIN, center, top: top - SKIN }
        }
    }
}

/// How far a part must go up to leave a body it meets, by halving.
fn lift_at(part: &MovingPart, body: &FixedBody, pose: &Pose) -> f64 {
    let meets = |lift: f64| oracle::distance(part, &body.shape, &Pose { z: pose.z + lift, ..*pose }) == 0.0;
    if !meets(0.0) {
        return 0.0;
    }
    let (mut inside, mut free) = (0.0, 400.0);
    for _ in 0..45 {
        let middle = 0.5 * (inside + free);
        if meets(middle) { inside = middle } else { free = middle }
    }
    inside
}

fn single_parts() -> Vec<MovingBody> {
    vec![
        body("flat", vec![MovingPart::cylinder(5.0, 0.0, 22.0)]),
        body("ball", vec![MovingPart::Cylinder { radius: 4.0, from: 0.0, to: 8.0, rounding: 4.0 }]),
        body("torus", vec![MovingPart::Cylinder { radius: 5.0, from: 0.0, to: 4.0, rounding: 1.5 }]),
        body("vee", vec![MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 8.0, to_radius: 6.0 }]),
        body("bowl", vec![MovingPart::Bowl { disc: 1.0, tube: 7.0, center: 7.0, top: 5.0 }]),
        body("holder", vec![MovingPart::cylinder(12.5, 30.0, 50.0)]),
    ]
}

#[test]
fn contacts_and_lifts_of_random_programs() {
    let mut dice = Dice::new(21);
    let (mut hits, mut lifts) = (0, 0);
    for round in 0..40 {
        let (fixed, x) = if round % 2 == 0 {
            (chuck_with_jaws(&mut dice), [-30.0, 20.0])
        } else {
            (tailstock(&mut dice), [70.0, 130.0])
        };
        let low = dice.between(-25.0, 30.0);
        let bodies = single_parts();
        let motions = if round % 5 == 4 { arc_program(&mut dice, 5, x, low) } else { program(&mut dice, 5, x, low) };
        let report = examine_all(&motions, &bodies, &fixed, 0.0);
        for found in &report.clearances {
            let part = bodies.iter().find(|body| body.name == found.moving).unwrap().parts[0];
            let stretches: Vec<&Stretch> = report
                .contacts
                .iter()
                .filter(|stretch| stretch.moving == found.moving && stretch.row == found.row)
                .collect();
            let here = row(&fixed, &found.row);
            let smaller = eroded(&part);
            for motion in &motions {
                let stretch = stretches.iter().find(|s| s.first_block <= motion.block && motion.block <= s.last_block);
                let least = |samples| sampled_least(samples, |t| distance_at(&[smaller], here.clone(), &motion.at(t)));
                match stretch {
                    None => assert!(least(60) > 0.0, "{found:?}: block {} is in contact", motion.block),
                    Some(stretch) => {
                        hits += 1;
                        assert!(least(60) < 2e-4 || least(3000) < 2e-4, "{stretch:?}: block {} is not", motion.block);
                        // No sampled moment in contact asks for more.
                        for k in 0..=60 {
                            let pose = motion.at(f64::from(k) / 60.0);
                            for body in here.clone() {
                                if distance_at(&[smaller], std::iter::once(body), &pose) > 0.0 {
                                    continue;
                                }
                                let lift = lift_at(&part, body, &pose);
                                assert!(lift < stretch.lift_mm + 3e-3, "{stretch:?}: {lift} at {k} of {motion:?}");
                                lifts += 1;
                            }
                        }
                    }
                }
            }
            for stretch in stretches {
                let pose = motions[stretch.block as usize].at(stretch.share);
                let named = here.clone().find(|body| body.which == stretch.which).unwrap();
                let lift = lift_at(&part, named, &pose);
                // On a steep wall a hair of distance, all that the library can tell, is a long way up.
                assert!((lift - stretch.lift_mm).abs() < 2e-3, "{stretch:?}: {lift} at that moment");
            }
            let greatest = report
                .contacts
                .iter()
                .filter(|stretch| stretch.moving == found.moving && stretch.row == found.row)
                .map(|stretch| stretch.lift_mm)
                .fold(f64::NEG_INFINITY, f64::max);
            if greatest.is_finite() {
                assert!((found.least_mm + greatest).abs() < 2e-3, "{found:?}");
            }
        }
    }
    println!("{hits} blocks in contact, {lifts} lifts");
    assert!(hits > 100 && lifts > 1000);
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

fn stretches(gaps: &Gaps, near: f64, program_of: &dyn Fn(u32) -> usize) -> Vec<(u32, u32, u32)> {
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
    let motions = [
        Motion { from: zero, to: nan, arc: None, block: 0, cutter: 0, rapid: false },
        Motion { from: nan, to: zero, arc: None, block: 1, cutter: 0, rapid: false },
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
