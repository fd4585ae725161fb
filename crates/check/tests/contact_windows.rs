//! Windows against closed forms, and against the search for contacts itself on programs shifted by a little less and a
//! little more.

mod oracle;

use dryturn_check::contact::{
    Assembly, Examiner, FARTHEST, FixedBody, FixedShape, Limit, MovingBody, MovingPart, Window,
};
use dryturn_geom::{Motion, Pose, angle::radians};
use oracle::Dice;
use oracle::jobs::{body, chuck_with_jaws, examine_all, fixed, program, spindle_side, tailstock};

/// How far inside its limit a window may end, mm.
const INSIDE: f64 = 0.001;

fn window(motions: &[Motion], bodies: &[MovingBody], fixed: &[FixedBody], stickouts: &[(u16, f64)]) -> Window {
    let (motions, assemblies) = (motions.to_vec(), [Assembly { bodies: bodies.to_vec() }]);
    Examiner::new(&motions, &assemblies, fixed, &|_| 0, None).window(stickouts)
}

fn still(x: f64, y: f64, z: f64, degrees: f64) -> Vec<Motion> {
    let pose = |x| Pose { x, y, z, turn: radians(degrees) };
    vec![Motion { from: pose(x + 3.0), to: pose(x), arc: None, block: 7, cutter: 0, rapid: false }]
}

#[track_caller]
fn ends(limit: &Limit, free: f64, met: &str) {
    assert!((free - INSIDE..=free).contains(&limit.free), "{limit:?} does not end at {free}");
    let end = limit.end.as_ref().expect("something ends it");
    assert_eq!((end.row.as_str(), end.cutter, end.block), (met, 0, 7));
}

#[track_caller]
fn endless(limit: &Limit, cap: f64) {
    assert_eq!(*limit, Limit { free: cap, end: None });
}

const CHUCK: FixedShape = FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 };

fn holder() -> Vec<MovingBody> {
    vec![body("holder", vec![MovingPart::cylinder(12.5, 35.0, 55.0)])]
}

#[test]
fn a_holder_before_a_chuck() {
    // Its lower face at 25, its edge 9.5 before the chuck's.
    let window = window(&still(0.0, 0.0, -10.0, 0.0), &holder(), &[fixed("chuck", 0, CHUCK)], &[(0, 20.0)]);
    let [x, y, z] = &window.axes;
    ends(&x[0], 9.5, "chuck");
    endless(&x[1], FARTHEST);
    for limit in y.iter().chain(z) {
        endless(limit, FARTHEST);
    }
    ends(&window.together, 9.5, "chuck");
    for limit in &window.turn {
        endless(limit, radians(180.0));
    }
}

#[test]
fn a_holder_over_a_chuck() {
    // Its lower face at 46, 6 over the chuck.
    let bodies = [holder(), vec![body("cutter", vec![MovingPart::cylinder(3.0, 0.0, 20.0)])]].concat();
    let motions = still(-40.0, 0.0, 11.0, 0.0);
    let above = window(&motions, &holder(), &[fixed("chuck", 0, CHUCK)], &[(0, 20.0)]);
    ends(&above.axes[2][0], 6.0, "chuck");
    endless(&above.axes[2][1], FARTHEST);
    let (cutter, [shorter, longer]) = &above.stickout[0];
    assert_eq!(*cutter, 0);
    ends(shorter, 6.0, "chuck");
    endless(longer, FARTHEST);
    // No shorter than the flutes.
    endless(&window(&motions, &holder(), &[fixed("chuck", 0, CHUCK)], &[(0, 4.0)]).stickout[0].1[0], 4.0);
    // The cutter is in the chuck already: nothing may be off, but the holder has its room.
    let hit = window(&motions, &bodies, &[fixed("chuck", 0, CHUCK)], &[(0, 20.0)]);
    for limit in hit.axes.iter().flatten().chain([&hit.together]) {
        ends(limit, 0.0, "chuck");
        assert_eq!(limit.end.as_ref().unwrap().moving, "cutter");
    }
    ends(&hit.stickout[0].1[0], 6.0, "chuck");
}

#[test]
fn a_cutter_over_the_bed_and_beside_a_clamp() {
    let cutter = [body("cutter", vec![MovingPart::cylinder(3.0, 0.0, 20.0)])];
    let clamp = FixedShape::Box { x: [-50.0, 80.0], y: [20.0, 40.0], z: [-75.0, 0.0] };
    let standing = [fixed("bed", 0, FixedShape::Below { height: -75.0 }), fixed("clamp", 0, clamp)];
    let window = window(&still(10.0, 5.0, -62.0, 0.0), &cutter, &standing, &[]);
    ends(&window.axes[2][0], 13.0, "bed");
    ends(&window.axes[1][1], 12.0, "clamp");
    endless(&window.axes[1][0], FARTHEST);
    endless(&window.axes[0][0], FARTHEST);
    ends(&window.together, 12.0, "clamp");
    assert!(window.stickout.is_empty());
}

#[test]
fn a_graze_ends_only_the_way_into_it() {
    // The cutter's side runs along the face of the chuck.
    let cutter = [body("cutter", vec![MovingPart::cylinder(3.0, 0.0, 20.0)])];
    let window = window(&still(-19.0, 0.0, 10.0, 0.0), &cutter, &[fixed("chuck", 0, CHUCK)], &[]);
    ends(&window.axes[0][0], 0.0, "chuck");
    endless(&window.axes[0][1], FARTHEST);
    endless(&window.axes[1][1], FARTHEST);
}

#[test]
fn a_cutter_beside_a_screw_turning_toward_it() {
    // Both upright over the axis; the screw's axis at radius 10 comes round until the two radii meet side by side.
    let screw = FixedShape::Screw { from: 0.0, to: 25.0, radius: 2.0, offset: 10.0, angle: radians(-60.0) };
    let cutter = [body("cutter", vec![MovingPart::cylinder(3.0, 0.0, 40.0)])];
    let found = window(&still(20.0, 0.0, -12.0, 0.0), &cutter, &[fixed("screw", 1, screw)], &[]);
    // At θ = −60° the screw stands at y = 8.66; they meet at y = 5, θ = −30°, turning one way; the other way it goes
    // under the axis and comes up at −150°.
    let [down, up] = &found.turn;
    for (limit, degrees) in [(down, 30.0), (up, 90.0)] {
        let off = radians(degrees) - limit.free;
        assert!(off.abs() < radians(0.05), "{limit:?} is not {degrees}°");
        assert_eq!(limit.end.as_ref().unwrap().which, 1);
    }
    // Above it there is nothing to be met.
    endless(&window(&still(20.0, 0.0, 13.0, 0.0), &cutter, &[fixed("screw", 1, screw)], &[]).turn[0], radians(180.0));
}

/// The motions with the tip off by so much.
fn off(motions: &[Motion], by: [f64; 4]) -> Vec<Motion> {
    let pose = |p: Pose| Pose { x: p.x + by[0], y: p.y + by[1], z: p.z + by[2], turn: p.turn + by[3] };
    motions.iter().map(|motion| Motion { from: pose(motion.from), to: pose(motion.to), ..*motion }).collect()
}

fn along(axis: usize, by: f64) -> [f64; 4] {
    std::array::from_fn(|k| if k == axis { by } else { 0.0 })
}

#[test]
fn what_is_off_by_less_hits_nothing_and_by_more_hits() {
    let mut dice = Dice::new(31);
    let (mut open, mut ended, mut turned) = (0, 0, 0);
    for round in 0..120 {
        let (standing, x, low) = match round % 3 {
            0 => (tailstock(&mut dice), [30.0, 85.0], 8.0),
            1 => (chuck_with_jaws(&mut dice), [5.0, 45.0], 8.0),
            _ => (chuck_with_jaws(&mut dice), [-8.0, 15.0], 12.0),
        };
        let bodies = spindle_side(&mut dice);
        let mut motions = program(&mut dice, 4, x, low);
        if round % 3 == 2 {
            // Between the jaws, which stand still.
            let rest = |pose: Pose| Pose { turn: radians(45.0), z: 40.0 + 0.1 * pose.z, ..pose };
            motions = motions.iter().map(|m| Motion { from: rest(m.from), to: rest(m.to), ..*m }).collect();
        }
        let hits = |by: [f64; 4]| !examine_all(&off(&motions, by), &bodies, &standing, 0.0).contacts.is_empty();
        let window = window(&motions, &bodies, &standing, &[]);
        if hits([0.0; 4]) {
            assert!(window.axes.iter().flatten().all(|limit| limit.free == 0.0), "{window:?}");
            continue;
        }
        open += 1;
        for (axis, limits) in window.axes.iter().chain([&window.turn]).enumerate() {
            for (limit, sign) in limits.iter().zip([-1.0, 1.0]) {
                for share in [0.3, 0.7, 0.95, 1.0] {
                    assert!(!hits(along(axis, sign * share * limit.free)), "{axis} {sign} {share} {limit:?}");
                }
                let Some(end) = &limit.end else { continue };
                let beyond = if axis == 3 { radians(0.25) } else { 0.04 };
                assert!(hits(along(axis, sign * (limit.free + beyond))), "{axis} {sign} {limit:?}");
                assert!(end.block < 4);
                ended += 1;
                turned += u32::from(axis == 3);
            }
        }
        let e = window.together.free;
        for corner in 0..27 {
            let sign = |k: u32| f64::from(corner / 3u32.pow(k) % 3) - 1.0;
            assert!(!hits([sign(0) * e, sign(1) * e, sign(2) * e, 0.0]), "{window:?}");
        }
        let least = window.axes.iter().flatten().map(|limit| limit.free).fold(f64::INFINITY, f64::min);
        assert!(e <= least + INSIDE && e > 0.0, "{window:?}");
    }
    assert!(open > 25 && ended > 60 && turned > 6, "{open} jobs, {ended} ends, {turned} of them angles");
}
