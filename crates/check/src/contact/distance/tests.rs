use super::*;
use crate::contact::shape::{FixedBody, FixedShape};
use crate::contact::solid::Fixed;

/// Numbers in 0 … 1 that are the same on every run.
fn numbers(seed: u64) -> impl FnMut(f64, f64) -> f64 {
    let mut state = seed;
    move |low, high| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn parts() -> [MovingPart; 6] {
    [
        MovingPart::cylinder(12.5, 5.0, 25.0),
        MovingPart::Cylinder { radius: 3.0, from: 0.0, to: 6.0, rounding: 3.0 },
        MovingPart::Cylinder { radius: 3.0, from: 0.0, to: 2.0, rounding: 1.0 },
        MovingPart::Frustum { from: 0.0, from_radius: 0.0, to: 6.0, to_radius: 6.0 },
        MovingPart::Frustum { from: 1.0, from_radius: 8.0, to: 6.0, to_radius: 3.0 },
        MovingPart::Bowl { disc: 2.0, tube: 9.0, center: 9.0, top: 5.0 },
    ]
}

fn solids() -> [Solid; 6] {
    let at = |shape| Fixed::new(&FixedBody { row: String::new(), which: 0, shape }).at(0.4);
    [
        at(FixedShape::CylinderX { from: -30.0, to: -5.0, radius: 20.0 }),
        at(FixedShape::Screw { from: -30.0, to: 5.0, radius: 2.0, offset: 10.0, angle: 0.0 }),
        at(FixedShape::ConeX { apex: 3.0, half_angle: 0.5, radius: 8.0 }),
        at(FixedShape::Box { x: [-10.0, 10.0], y: [-12.0, 3.0], z: [-40.0, 5.0] }),
        at(FixedShape::Jaw { x: [-22.0, 0.0], inner: 10.0, outer: 28.0, width: 14.0, angle: 0.0 }),
        at(FixedShape::Below { height: -20.0 }),
    ]
}

fn point(at: [f64; 3]) -> TipBox {
    TipBox { x: [at[0]; 2], y: [at[1]; 2], z: [at[2]; 2] }
}

/// The distance over a box is that of the box's best point, and the planes across its direction prove it from below.
#[test]
fn a_box_of_tips_has_the_distance_of_its_nearest_point() {
    let mut number = numbers(7);
    let mut apart = 0;
    for round in 0..3000 {
        let (part, solid) = (parts()[round % 6], solids()[round / 6 % 6]);
        let mut range = |size: f64| {
            let low = number(-45.0, 45.0);
            [low, low + number(0.0, size)]
        };
        let tip = TipBox { x: range(20.0), y: range(20.0), z: range(20.0) };
        let found = distance(&part, &tip, &solid);
        // Whatever the box's nearest point, no random point of it is nearer.
        let ranges = [tip.x, tip.y, tip.z];
        let mut best = [0, 1, 2].map(|k| found.point[k].max(ranges[k][0]).min(ranges[k][1]));
        let mut least = distance(&part, &point(best), &solid).distance;
        let mut step = 10.0;
        for _ in 0..400 {
            let near = [0, 1, 2].map(|k| (best[k] + number(-step, step)).clamp(ranges[k][0], ranges[k][1]));
            let here = distance(&part, &point(near), &solid).distance;
            assert!(here >= found.distance - 1e-9, "{part:?} {solid:?} {tip:?}: {here} under {}", found.distance);
            if here < least {
                (best, least) = (near, here);
            } else {
                step *= 0.97;
            }
        }
        assert!(least < found.distance + 0.05, "{part:?} {solid:?} {tip:?}: {least} for {}", found.distance);
        if !found.touches() {
            apart += 1;
            let planes = plane_gap(&part, &tip, &solid, found.toward);
            assert!((planes - found.distance).abs() < 1e-6, "{part:?} {solid:?} {tip:?}: {planes} for {found:?}");
        }
    }
    assert!(apart > 1000);
}

#[test]
fn the_cylinder_around_a_part_is_never_farther_than_the_part() {
    let mut number = numbers(9);
    for round in 0..2000 {
        let (part, solid) = (parts()[round % 6], solids()[round / 6 % 6]);
        let tip = point([number(-45.0, 45.0), number(-45.0, 45.0), number(-45.0, 45.0)]);
        let (rough, exact) = (rough_distance(&part, &tip, &solid), distance(&part, &tip, &solid).distance);
        assert!(rough <= exact + 1e-9, "{part:?} {solid:?} {tip:?}: {rough} over {exact}");
    }
}

#[test]
fn the_nearest_point_is_on_the_body_and_as_far_as_said() {
    let holder = MovingPart::cylinder(12.5, 35.0, 55.0);
    let chuck = Solid::Cylinder { x: [-67.0, -22.0], y: 0.0, z: 0.0, radius: 40.0 };
    let gap = distance(&holder, &point([-5.0, 30.0, 3.0]), &chuck);
    assert_eq!(gap.point[0], -22.0);
    assert!((length(gap.point[1], gap.point[2]) - 40.0).abs() < 1e-9, "{gap:?}");
    let over = length(gap.point[0] + 5.0, gap.point[1] - 30.0) - 12.5;
    assert!((length(over.max(0.0), 38.0 - gap.point[2]) - gap.distance).abs() < 1e-9, "{gap:?}");
}
