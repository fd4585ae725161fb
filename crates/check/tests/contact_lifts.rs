//! Contacts of whole programs and their lifts, against dense sampling with a collision library.

mod oracle;

use dryturn_check::contact::{FixedBody, MovingPart, Stretch};
use dryturn_geom::Pose;
use oracle::Dice;
use oracle::jobs::{
    arc_program, chuck_with_jaws, distance_at, examine_all, named, program, row, sampled_least, single_parts,
    spindle_side, tailstock,
};

/// What a moving body must lose before a meeting is a contact, mm.
const SKIN: f64 = 0.02;

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
            let part = named(&bodies, &found.moving)[0];
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
                let met = here.clone().find(|body| body.which == stretch.which).unwrap();
                let lift = lift_at(&part, met, &pose);
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
    assert!(hits > 100 && lifts > 1000);
}

/// The lift of a body of several parts: up in small steps until nothing meets, then back by halving.
fn stepped_lift(parts: &[MovingPart], body: &FixedBody, pose: &Pose) -> f64 {
    let meets = |lift: f64| distance_at(parts, std::iter::once(body), &Pose { z: pose.z + lift, ..*pose }) == 0.0;
    let mut free = 0.0;
    while meets(free) {
        free += 0.25;
    }
    let mut inside = (free - 0.25).max(0.0);
    for _ in 0..30 {
        let middle = 0.5 * (inside + free);
        if meets(middle) { inside = middle } else { free = middle }
    }
    free
}

#[test]
fn lifts_of_bodies_of_several_parts() {
    let mut dice = Dice::new(31);
    let mut seen = 0;
    for round in 0..40 {
        let (fixed, x) = if round % 2 == 0 {
            (chuck_with_jaws(&mut dice), [-30.0, 20.0])
        } else {
            (tailstock(&mut dice), [70.0, 130.0])
        };
        let low = dice.between(-25.0, 30.0);
        let bodies = spindle_side(&mut dice);
        let motions = program(&mut dice, 4, x, low);
        for stretch in examine_all(&motions, &bodies, &fixed, 0.0).contacts {
            let parts = named(&bodies, &stretch.moving);
            let met = row(&fixed, &stretch.row).find(|body| body.which == stretch.which).unwrap();
            // The worst may be where one part just begins to touch: a hair's breadth to one side it does.
            let pose = motions[stretch.block as usize].at(stretch.share);
            let nudged = |dx: f64, dy: f64| Pose { x: pose.x + dx, y: pose.y + dy, ..pose };
            let hair = 1e-6;
            let lift = [nudged(0.0, 0.0), nudged(hair, 0.0), nudged(-hair, 0.0), nudged(0.0, hair), nudged(0.0, -hair)]
                .iter()
                .map(|pose| stepped_lift(parts, met, pose))
                .fold(0.0, f64::max);
            assert!((lift - stretch.lift_mm).abs() < 2e-3, "{stretch:?}: {lift} at that moment");
            // Deep inside, the skin does not matter: no deep moment of these blocks asks for more.
            for motion in &motions[stretch.first_block as usize..=stretch.last_block as usize] {
                for k in 0..=20 {
                    let pose = motion.at(f64::from(k) / 20.0);
                    for body in row(&fixed, &stretch.row) {
                        let lift = stepped_lift(parts, body, &pose);
                        let sideways = [-0.1, 0.1].map(|y| Pose { y: pose.y + y, ..pose });
                        let endways = [-0.1, 0.1].map(|x| Pose { x: pose.x + x, ..pose });
                        let deep = sideways.iter().chain(&endways).all(|p| stepped_lift(parts, body, p) > 0.1);
                        assert!(!deep || lift < stretch.lift_mm + 3e-3, "{stretch:?}: {lift} at {k} of {motion:?}");
                    }
                }
            }
            seen += 1;
        }
    }
    assert!(seen > 50);
}
