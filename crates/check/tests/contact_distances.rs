//! Least distances of single poses: closed forms, values computed independently, and a collision library.

mod oracle;

use dryturn_check::contact::{Assembly, FixedBody, FixedShape, MovingBody, MovingPart, examine};
use dryturn_geom::{Motion, Pose, angle::radians};
use oracle::Dice;

/// Least distance through the crate's front door: a job of one block that goes nowhere.
fn distance(part: MovingPart, shape: FixedShape, pose: Pose) -> f64 {
    let motion = Motion { from: pose, to: pose, arc: None, block: 0, cutter: 0, rapid: false };
    let moving = MovingBody { name: "moving".into(), parts: vec![part] };
    let fixed = FixedBody { row: "fixed".into(), which: 0, shape };
    let report = examine(&vec![motion], &[Assembly { bodies: vec![moving] }], &[fixed], &|_| 0.0, &|_| 0);
    report.clearances[0].least_mm
}

fn pose(x: f64, y: f64, z: f64, degrees: f64) -> Pose {
    Pose { x, y, z, turn: radians(degrees) }
}

const CHUCK: FixedShape = FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 };
const JAW: FixedShape = FixedShape::Jaw { x: [-22.0, 0.0], inner: 30.0, outer: 48.0, width: 14.0, angle: 0.0 };
const BOX: FixedShape = FixedShape::Box { x: [216.0, 286.0], y: [-20.0, 20.0], z: [-75.0, 40.0] };
const SCREW: FixedShape = FixedShape::Screw { from: 0.0, to: 25.0, radius: 2.0, offset: 10.0, angle: 0.0 };
const BALL: MovingPart = MovingPart::Cylinder { radius: 3.0, from: 0.0, to: 6.0, rounding: 3.0 };
const TORUS: MovingPart = MovingPart::Cylinder { radius: 3.0, from: 0.0, to: 2.0, rounding: 1.0 };
const VEE: MovingPart = MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 6.0, to_radius: 6.0 };
const HOLDER: MovingPart = MovingPart::Cylinder { radius: 12.5, from: 35.0, to: 55.0, rounding: 0.0 };

fn center() -> FixedShape {
    FixedShape::ConeX { apex: 183.0, half_angle: radians(30.0), radius: 6.0 }
}

#[test]
fn values_computed_independently() {
    let cases = [
        (HOLDER, CHUCK, pose(-5.0, 6.0, 10.0, 0.0), 6.954_386_2),
        (HOLDER, CHUCK, pose(-5.0, 30.0, 3.0, 0.0), 7.780_121_6),
        (HOLDER, CHUCK, pose(0.0, 3.0, -40.0, 0.0), 9.5),
        (HOLDER, JAW, pose(5.0, 0.0, 20.0, 0.0), 7.0),
        (HOLDER, JAW, pose(10.0, 4.0, 12.0, 37.0), 10.153_950_5),
        (HOLDER, JAW, pose(15.0, -5.0, -10.0, -80.0), 19.960_813_0),
        (BALL, center(), pose(182.0, 5.0, 2.0, 0.0), 3.623_724_4),
        (HOLDER, center(), pose(172.0, 4.0, -25.0, 0.0), 8.130_663_9),
        (TORUS, center(), pose(185.0, 9.0, 1.0, 0.0), 4.027_947_4),
        (TORUS, JAW, pose(4.0, 1.0, 48.0, 10.0), 1.088_448_1),
        (BALL, SCREW, pose(27.0, 3.0, 11.0, 25.0), 0.678_186_5),
        (HOLDER, BOX, pose(200.0, 28.0, 9.0, 0.0), 6.710_916_8),
        (VEE, CHUCK, pose(-18.0, 5.0, 41.0, 0.0), 3.736_948_6),
        (VEE, JAW, pose(3.0, 9.0, 47.0, -12.0), 7.957_773_3),
        (VEE, center(), pose(186.0, 8.0, 2.0, 0.0), 3.914_213_6),
        (VEE, BOX, pose(213.0, 21.0, 38.0, 0.0), 0.821_854_4),
    ];
    for (part, shape, pose, expected) in cases {
        let found = distance(part, shape, pose);
        assert!((found - expected).abs() < 1e-6, "{part:?} {shape:?} {pose:?}: {found} for {expected}");
    }
}

#[test]
fn closed_forms() {
    // Rim against rim over the crest: a right triangle of the gap along the axis and the gap in height.
    let holder = MovingPart::cylinder(10.0, 35.0, 55.0);
    let found = distance(holder, CHUCK, pose(-9.0, 0.0, 9.0, 0.0));
    assert!((found - 5.0).abs() < 1e-9, "{found}");
    // A ball's centre against a cone's side: its distance from the line, less its radius.
    let found = distance(BALL, center(), pose(185.0, 0.0, 9.0, 0.0));
    let (along, up) = (2.0, 12.0);
    let line = up * radians(30.0).cos() - along * radians(30.0).sin();
    let to_rim = (up - 6.0f64).hypot(along - 6.0 / radians(30.0).tan());
    let beyond = up * radians(30.0).sin() + along * radians(30.0).cos() > 6.0 / radians(30.0).sin();
    assert!((found - (if beyond { to_rim } else { line } - 3.0)).abs() < 1e-9, "{found}");
    // A turned jaw's corner under a flat bottom: the height of the corner, r cos φ.
    let (radius, own) = (7f64.hypot(48.0), 7f64.atan2(48.0));
    let turn = radians(20.0);
    let wide = MovingPart::cylinder(100.0, 60.0, 90.0);
    let found = distance(wide, JAW, Pose { x: -10.0, y: 0.0, z: 0.0, turn });
    let top = radius * (turn - own).abs().min((turn + own).abs()).cos();
    assert!((found - (60.0 - top)).abs() < 1e-9, "{found}");
}

#[test]
fn random_set_ups_against_a_collision_library() {
    let mut dice = Dice::new(1);
    for kind in 0..6 {
        let (mut apart, mut touching) = (0, 0);
        for round in 0..4000 {
            let spread = if round % 2 == 0 { 70.0 } else { 25.0 };
            let (part, shape, pose) = (dice.part(), dice.shape(kind), dice.pose(spread));
            let (found, expected) = (distance(part, shape, pose), oracle::distance(&part, &shape, &pose));
            // Nearer than the crate's bracket counts as a graze there.
            if expected <= 2e-3 {
                assert!(found <= 3e-3, "{part:?} {shape:?} {pose:?}: {found} for {expected}");
                touching += 1;
                continue;
            }
            apart += 1;
            let off = (found.max(0.0) - expected).abs();
            assert!(off < 5e-5, "{part:?} {shape:?} {pose:?}: {found} for {expected}");
        }
        assert!(apart > 500 && touching > 100, "{apart} {touching}");
    }
}

#[test]
fn a_table_made_with_another_collision_library() {
    let table = include_str!("data/clearances.csv");
    let mut rows = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')) {
        let fields: Vec<&str> = line.split("; ").collect();
        let numbers = |k: usize| -> Vec<f64> { fields[k].split(' ').map(|n| n.parse().unwrap()).collect() };
        let (own, other, tip) = (numbers(1), numbers(3), numbers(4));
        let part = match fields[0] {
            "cylinder" => MovingPart::cylinder(own[0], own[1], own[2]),
            "ball" => MovingPart::Cylinder { radius: own[0], from: 0.0, to: 2.0 * own[0], rounding: own[0] },
            _ => MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: own[1], to_radius: own[0] },
        };
        let shape = match (fields[2], other.as_slice()) {
            ("cylinder", &[from, to, radius]) => FixedShape::CylinderX { from, to, radius },
            ("screw", &[from, to, radius, offset, angle]) => {
                FixedShape::Screw { from, to, radius, offset, angle: radians(angle) }
            }
            ("cone", &[apex, half, radius]) => FixedShape::ConeX { apex, half_angle: radians(half), radius },
            ("box", &[x0, x1, y0, y1, z0, z1]) => FixedShape::Box { x: [x0, x1], y: [y0, y1], z: [z0, z1] },
            ("jaw", &[x0, x1, inner, outer, width, angle]) => {
                FixedShape::Jaw { x: [x0, x1], inner, outer, width, angle: radians(angle) }
            }
            unknown => panic!("{unknown:?}"),
        };
        let found = distance(part, shape, pose(tip[0], tip[1], tip[2], tip[3]));
        let expected: f64 = fields[5].parse().unwrap();
        // The library's own search stops some hundred thousandths of a millimetre above the least.
        assert!((found - expected).abs() < 1e-4, "{line}: {found}");
        rows += 1;
    }
    assert_eq!(rows, 180);
}
