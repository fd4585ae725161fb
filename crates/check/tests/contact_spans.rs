//! The least distance over a span of a run, against what each of its motions comes to by itself.

use dryturn_check::contact::{
    Assembly, Examiner, FixedBody, FixedShape, MovingBody, MovingPart, Span, examine, flutes_body,
};
use dryturn_geom::{Flutes, Motion, Pose, Shape, angle::radians};

fn fixed() -> Vec<FixedBody> {
    let body = |row: &str, which, shape| FixedBody { row: row.into(), which, shape };
    let jaw = |which: u32| {
        let angle = radians(90.0) * f64::from(which);
        body("jaws", which, FixedShape::Jaw { x: [-22.0, 0.0], inner: 30.0, outer: 48.0, width: 14.0, angle })
    };
    let chuck = body("chuck", 0, FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 });
    [chuck].into_iter().chain((1..=4).map(jaw)).collect()
}

fn assembly() -> Assembly {
    let body = |name: &str, parts| MovingBody { name: name.into(), parts };
    let flutes = Flutes::new(Shape::Ball, 3.0, 20.0).expect("these are the numbers of a cutter");
    let holder = vec![MovingPart::cylinder(10.0, 35.0, 43.0), MovingPart::cylinder(12.5, 43.0, 63.0)];
    Assembly { bodies: vec![body("cutter", flutes_body(&flutes)), body("holder", holder)] }
}

/// Blocks of two cutters in turn, some of them many turns long, toward the jaws and away again.
fn motions() -> Vec<Motion> {
    let pose = |k: u32| {
        let k = f64::from(k);
        Pose {
            x: 12.0 + 20.0 * (0.07 * k).cos(),
            y: 3.0 * (0.3 * k).sin(),
            z: 30.0 + 22.0 * (0.11 * k).sin(),
            turn: 0.9 * k,
        }
    };
    let motion = |block: u32| Motion {
        from: pose(block),
        to: pose(block + 1),
        arc: None,
        block,
        cutter: u16::from(block / 70 % 2 == 1),
        rapid: false,
    };
    (0..300).map(motion).collect()
}

#[test]
fn a_span_comes_as_near_as_the_nearest_of_its_motions() {
    let (motions, assemblies, fixed) = (motions(), [assembly(), assembly()], fixed());
    let examiner = Examiner::new(&motions, &assemblies, &fixed, &|_| 0, None);
    let (mut met, mut far) = (0, 0);
    for (from, to) in [((0, 0.0), (299, 1.0)), ((5, 0.25), (5, 0.5)), ((299, 0.5), (299, 1.0))]
        .into_iter()
        .chain((0..60).map(|k| ((4 * k, 0.3), (4 * k + 5, 0.6))))
    {
        let span = Span { from, to };
        let inside: Vec<Motion> = (from.0..=to.0)
            .map(|block| {
                let share = (if block == from.0 { from.1 } else { 0.0 }, if block == to.0 { to.1 } else { 1.0 });
                motions[block as usize].between(share.0, share.1)
            })
            .collect();
        let alone = examine(&inside, &assemblies, &fixed, &|_| 0.0, &|_| 0);
        let least = alone.clearances.iter().map(|pair| pair.least_mm.max(0.0)).fold(f64::INFINITY, f64::min);
        let found = examiner.least_over(&span, 25.0).expect("something moves");
        assert!((found - least.min(25.0)).abs() <= 0.1 + 1e-6, "{span:?}: {found}, and {least} by themselves");
        met += u32::from(least == 0.0);
        far += u32::from(least > 25.0);
    }
    assert!(met > 3 && far > 3, "{met} {far}");
    assert_eq!(examiner.least_over(&Span { from: (300, 0.0), to: (310, 0.0) }, 25.0), None);
}
