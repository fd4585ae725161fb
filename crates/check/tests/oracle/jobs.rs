//! Set-ups and programs to examine, and how they are sampled.

use super::Dice;
use dryturn_check::contact::{
    Assembly, ContactReport, FixedBody, FixedShape, MovingBody, MovingPart, examine, flutes_body,
};
use dryturn_geom::{Arc, Axis, Flutes, Lean, Motion, Pose, Shape, angle::radians};

pub fn fixed(row: &str, which: u32, shape: FixedShape) -> FixedBody {
    FixedBody { row: row.into(), which, shape }
}

pub fn body(name: &str, parts: Vec<MovingPart>) -> MovingBody {
    MovingBody { name: name.into(), parts }
}

pub fn examine_all(motions: &[Motion], bodies: &[MovingBody], fixed: &[FixedBody], near: f64) -> ContactReport {
    let assembly = Assembly { bodies: bodies.to_vec() };
    examine(&motions.to_vec(), &[assembly], fixed, &|_| near, &|_| 0)
}

pub fn chuck_with_jaws(dice: &mut Dice) -> Vec<FixedBody> {
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

pub fn tailstock(dice: &mut Dice) -> Vec<FixedBody> {
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

pub fn cutter(dice: &mut Dice) -> Vec<MovingPart> {
    let radius = dice.between(2.0, 6.0);
    let shape = match dice.below(6) {
        0 => Shape::Flat,
        1 => Shape::Ball,
        2 => Shape::Bull { corner: 0.4 * radius },
        3 => Shape::Vee { half_angle: radians(45.0), tip_radius: 0.0 },
        4 => Shape::Taper { half_angle: radians(6.0), tip_radius: 0.3 * radius, ball: true },
        _ => Shape::Form { profile: vec![(0.0, radius), (4.0, radius), (4.0, 0.5 * radius), (15.0, 0.5 * radius)] },
    };
    flutes_body(&Flutes::new(shape, radius, dice.between(15.0, 25.0)).expect("a cutter"))
}

pub fn spindle_side(dice: &mut Dice) -> Vec<MovingBody> {
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
pub fn program(dice: &mut Dice, blocks: u32, x: [f64; 2], low: f64) -> Vec<Motion> {
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
pub fn arc_program(dice: &mut Dice, blocks: u32, x: [f64; 2], low: f64) -> Vec<Motion> {
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
        motion.arc = Some(Arc { axes, center, reach: [radius; 2], start, sweep, lean: Lean::default() });
        from = motion.to;
    }
    motions
}

/// Least of a function of the share by samples and by closing in on the lowest of them.
pub fn sampled_least(samples: u32, value: impl Fn(f64) -> f64) -> f64 {
    let share = |k: u32| f64::from(k) / f64::from(samples);
    let all: Vec<f64> = (0..=samples).map(|k| value(share(k))).collect();
    let lowest = (0..=samples).min_by(|&a, &b| all[a as usize].total_cmp(&all[b as usize])).expect("samples");
    let (mut low, mut high) = (share(lowest.saturating_sub(1)), share((lowest + 1).min(samples)));
    for _ in 0..40 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if value(a) <= value(b) { high = b } else { low = a }
    }
    value(0.5 * (low + high)).min(all[lowest as usize])
}

pub fn row<'a>(fixed: &'a [FixedBody], name: &'a str) -> impl Iterator<Item = &'a FixedBody> + Clone {
    fixed.iter().filter(move |body| body.row == name)
}

pub fn distance_at<'a>(parts: &[MovingPart], fixed: impl Iterator<Item = &'a FixedBody> + Clone, pose: &Pose) -> f64 {
    let from = |part: &MovingPart| {
        fixed.clone().map(|body| super::distance(part, &body.shape, pose)).fold(f64::INFINITY, f64::min)
    };
    parts.iter().map(from).fold(f64::INFINITY, f64::min)
}

pub fn single_parts() -> Vec<MovingBody> {
    vec![
        body("flat", vec![MovingPart::cylinder(5.0, 0.0, 22.0)]),
        body("ball", vec![MovingPart::Cylinder { radius: 4.0, from: 0.0, to: 8.0, rounding: 4.0 }]),
        body("torus", vec![MovingPart::Cylinder { radius: 5.0, from: 0.0, to: 4.0, rounding: 1.5 }]),
        body("vee", vec![MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 8.0, to_radius: 6.0 }]),
        body("bowl", vec![MovingPart::Bowl { disc: 1.0, tube: 7.0, center: 7.0, top: 5.0 }]),
        body("holder", vec![MovingPart::cylinder(12.5, 30.0, 50.0)]),
    ]
}

/// The moving body of a name.
pub fn named<'a>(bodies: &'a [MovingBody], name: &str) -> &'a [MovingPart] {
    &bodies.iter().find(|body| body.name == name).expect("a body of the job").parts
}
