//! From what a scene describes to the bodies that can meet.

use dryturn_carve::{self as carve, Dimple, Upper, UpperBody};
use dryturn_geom::{Section, Stock, angle};
use dryturn_scene::{Chuck, Cutter, Cylinder, Drive, Faceplate, Grip, Jaws, Scene, Tailstock};

use crate::contact::{Assembly, FixedBody, FixedShape, MovingBody, MovingPart, flutes_body};

/// Depth of the tailstock's body under the axis where no bed is described, mm.
const NO_BED: f64 = 200.0;

/// Everything that stands: holding, tailstock, bed, and what the scene names besides.
pub(crate) fn fixed_bodies(scene: &Scene) -> Vec<FixedBody> {
    let mut bodies = holding(scene);
    if let Some(bed) = scene.machine.bed {
        bodies.push(one("bed", FixedShape::Below { height: -bed }));
    }
    bodies.extend(scene.fixed.iter().map(|body| one(&body.name, FixedShape::Box { x: body.x, y: body.y, z: body.z })));
    bodies
}

/// What holds the blank, as far as the scene describes it: chuck, jaws, faceplate, screws, drive center, and the
/// tailstock with all that it carries; in the blank frame while θ on top is 0.
pub fn holding(scene: &Scene) -> Vec<FixedBody> {
    let stock = scene.stock();
    let mut bodies = Vec::new();
    if let Some(chuck) = &scene.chuck {
        chuck_bodies(chuck, scene.faceplate.as_ref(), &stock, &mut bodies);
    }
    if let Some(faceplate) = &scene.faceplate {
        faceplate_bodies(faceplate, &mut bodies);
    }
    if let Some(drive) = &scene.drive {
        drive_bodies(drive, &mut bodies);
    }
    if let Some(tailstock) = &scene.tailstock {
        tailstock_bodies(tailstock, stock.end(), scene.machine.bed, &mut bodies);
    }
    bodies
}

fn one(row: &str, shape: FixedShape) -> FixedBody {
    FixedBody { row: row.to_owned(), which: 0, shape }
}

fn about_axis(row: &str, from: f64, length: f64, diameter: f64) -> FixedBody {
    one(row, FixedShape::CylinderX { from, to: from + length, radius: 0.5 * diameter })
}

fn chuck_bodies(chuck: &Chuck, faceplate: Option<&Faceplate>, stock: &Stock, bodies: &mut Vec<FixedBody>) {
    let front = faceplate.map_or(0.0, |plate| -plate.thickness);
    let jaw_length = chuck.jaws.as_ref().map_or(0.0, |jaws| jaws.length);
    if let Some(body) = chuck.body {
        bodies.push(about_axis("chuck", front - jaw_length - body.length, body.length, body.diameter));
    }
    let Some(jaws) = &chuck.jaws else { return };
    for (which, theta) in (1..).zip(jaw_angles(jaws)) {
        let [inner, outer] = jaw_radii(jaws, stock, theta);
        let shape = FixedShape::Jaw { x: [front - jaws.length, front], inner, outer, width: jaws.width, angle: theta };
        bodies.push(FixedBody { row: "jaws".to_owned(), which, shape });
    }
}

/// Angle θ of each jaw, radians.
pub(crate) fn jaw_angles(jaws: &Jaws) -> impl Iterator<Item = f64> {
    let (first, count) = (angle::radians(jaws.turned_deg), jaws.count);
    (0..count).map(move |jaw| first + std::f64::consts::TAU * f64::from(jaw) / f64::from(count))
}

/// From the radius the jaw grips at, runout left aside: the nominal blank's along the jaw's middle, or the greatest within
/// the jaw where the blank is another at every station.
fn jaw_radii(jaws: &Jaws, stock: &Stock, theta: f64) -> [f64; 2] {
    let true_running =
        Stock { near: Default::default(), far: Default::default(), bow: Default::default(), ..stock.clone() };
    let outermost =
        |station: f64, theta: f64| true_running.spans(station, theta).as_slice().last().map_or(0.0, |span| span.1);
    match (jaws.grip, &stock.section) {
        (Grip::Outside, Section::Solid(_)) => {
            let gripped = within(jaws, stock, theta).map(|(station, theta)| outermost(station, theta));
            let gripped = gripped.fold(0.0, f64::max);
            [gripped, gripped + jaws.height]
        }
        (Grip::Outside, _) => {
            let gripped = outermost(stock.start, theta);
            [gripped, gripped + jaws.height]
        }
        (Grip::Inside, _) => [(stock.bore - jaws.height).max(0.0), stock.bore],
    }
}

/// Steps along a jaw and across it in which a blank of any shape is looked at.
const ALONG: u32 = 32;
const ACROSS: u32 = 16;

/// Rays within a jaw, (station, θ).
pub(crate) fn within(jaws: &Jaws, stock: &Stock, theta: f64) -> impl Iterator<Item = (f64, f64)> {
    let from = stock.start.max(-jaws.length);
    let half = angle::asin(0.5 * jaws.width / stock.corner_radius().max(0.5 * jaws.width));
    let steps = move |k: u32| (0..=ACROSS).map(move |j| (k, f64::from(j) / f64::from(ACROSS)));
    (0..ALONG).flat_map(steps).map(move |(k, across)| {
        (from - from * (f64::from(k) + 0.5) / f64::from(ALONG), theta + half * (2.0 * across - 1.0))
    })
}

fn faceplate_bodies(faceplate: &Faceplate, bodies: &mut Vec<FixedBody>) {
    bodies.push(about_axis("faceplate", -faceplate.thickness, faceplate.thickness, faceplate.diameter));
    for (number, screw) in (1..).zip(&faceplate.screws) {
        let shape = FixedShape::Screw {
            from: 0.0,
            to: screw.length,
            radius: 0.5 * screw.diameter,
            offset: screw.radius,
            angle: angle::radians(screw.angle_deg),
        };
        bodies.push(FixedBody { row: "screw".to_owned(), which: number, shape });
    }
}

fn drive_bodies(drive: &Drive, bodies: &mut Vec<FixedBody>) {
    let behind = -drive.center.length;
    bodies.push(about_axis("drive", behind, drive.center.length + drive.bite, drive.center.diameter));
    if let Some(body) = drive.body {
        bodies.push(FixedBody { which: 0, ..about_axis("drive", behind - body.length, body.length, body.diameter) });
    }
}

fn tailstock_bodies(tailstock: &Tailstock, free_end: f64, bed: Option<f64>, bodies: &mut Vec<FixedBody>) {
    let half_angle = angle::radians(0.5 * tailstock.angle_deg);
    let radius = 0.5 * tailstock.diameter;
    let apex = free_end - tailstock.dimple;
    bodies.push(one("center", FixedShape::ConeX { apex, half_angle, radius }));
    let mut station = apex + radius / angle::tan(half_angle);
    if let Some(Cylinder { diameter, length }) = tailstock.head {
        bodies.push(about_axis("head", station, length, diameter));
        station += length;
    }
    if tailstock.extension > 0.0 {
        bodies.push(about_axis("quill", station, tailstock.extension, tailstock.quill));
        station += tailstock.extension;
    }
    if let Some(body) = tailstock.body {
        let shape = FixedShape::Box {
            x: [station, station + body.length],
            y: [-0.5 * body.width, 0.5 * body.width],
            z: [-bed.unwrap_or(NO_BED), body.above],
        };
        bodies.push(one("tailstock", shape));
    }
}

/// The hole the live center's cone has pressed before the run.
pub(crate) fn dimple(scene: &Scene) -> Option<Dimple> {
    let tailstock = scene.tailstock.as_ref().filter(|tailstock| tailstock.dimple > 0.0)?;
    let slope = angle::tan(angle::radians(0.5 * tailstock.angle_deg));
    Some(Dimple { apex: scene.stock().end() - tailstock.dimple, slope })
}

/// For each cutter of the scene what moves with its tip.
pub(crate) fn assemblies(scene: &Scene) -> Vec<Assembly> {
    scene.cutters.iter().map(|cutter| Assembly { bodies: moving_bodies(scene, cutter) }).collect()
}

fn moving_bodies(scene: &Scene, cutter: &Cutter) -> Vec<MovingBody> {
    let mut bodies = vec![MovingBody { name: "cutter".to_owned(), parts: flutes_body(&cutter.flutes) }];
    for (name, cylinders, from) in stacks(scene, cutter) {
        bodies.push(MovingBody { name: name.to_owned(), parts: stacked(&cylinders, from) });
    }
    if let Some(stickout) = cutter.stickout {
        bodies.extend(scene.moving.iter().map(|body| MovingBody {
            name: body.name.clone(),
            parts: vec![MovingPart::cylinder(0.5 * body.diameter, stickout + body.from, stickout + body.to)],
        }));
    }
    bodies
}

/// Shank, holder and spindle as far as they are described: name, cylinders, height of the lowest over the tip.
fn stacks(scene: &Scene, cutter: &Cutter) -> Vec<(&'static str, Vec<Cylinder>, f64)> {
    let mut stacks = vec![("shank", cutter.shank_cylinders(), cutter.flutes.length())];
    if let Some(stickout) = cutter.stickout.filter(|_| !cutter.holder.is_empty()) {
        let height: f64 = cutter.holder.iter().map(|cylinder| cylinder.length).sum();
        stacks.push(("holder", cutter.holder.clone(), stickout));
        stacks.push(("spindle", scene.machine.spindle.clone(), stickout + height));
    }
    stacks.retain(|(_, cylinders, _)| !cylinders.is_empty());
    stacks
}

fn stacked(cylinders: &[Cylinder], from: f64) -> Vec<MovingPart> {
    spans(cylinders, from).map(|(radius, from, to)| MovingPart::cylinder(radius, from, to)).collect()
}

/// (radius, from, to) of stacked cylinders, heights over the tip.
fn spans(cylinders: &[Cylinder], from: f64) -> impl Iterator<Item = (f64, f64, f64)> + '_ {
    cylinders.iter().scan(from, |foot, cylinder| {
        let from = *foot;
        *foot += cylinder.length;
        Some((0.5 * cylinder.diameter, from, *foot))
    })
}

/// The cutters as the carve takes them.
pub(crate) fn carve_cutters(scene: &Scene) -> Vec<carve::Cutter> {
    scene
        .cutters
        .iter()
        .map(|cutter| carve::Cutter { flutes: cutter.flutes.clone(), uppers: upper_bodies(scene, cutter) })
        .collect()
}

/// A shank as thick as the flutes runs in their groove and is left out.
fn upper_bodies(scene: &Scene, cutter: &Cutter) -> Vec<UpperBody> {
    let same = |radius: f64| (radius - cutter.flutes.radius()).abs() < 1e-6;
    stacks(scene, cutter)
        .iter()
        .flat_map(|(name, cylinders, from)| {
            let kind = match *name {
                "shank" => Upper::Shank,
                "holder" => Upper::Holder,
                _ => Upper::Spindle,
            };
            let upper = move |(radius, from, to)| UpperBody { kind, radius, from, to };
            spans(cylinders, *from).map(upper).collect::<Vec<_>>()
        })
        .filter(|body| body.kind != Upper::Shank || !same(body.radius))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_scene::LoadOptions;

    fn scene(text: &str) -> Scene {
        scene_with("flute = 20", text)
    }

    fn scene_with(cutter: &str, text: &str) -> Scene {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("p.nc"), "").unwrap();
        let cutter = format!("cutter = [{{ diameter = 6, {cutter} }}]");
        let whole = format!("format = 1\nprogram = [{{ file = \"p.nc\" }}]\n{cutter}\n{text}");
        Scene::parse(&whole, "scene.toml", folder.path(), LoadOptions::default())
            .unwrap_or_else(|error| panic!("{}", error.render(false)))
    }

    /// Row, number in the row and shape of all that stands.
    fn standing(text: &str) -> Vec<(String, u32, FixedShape)> {
        fixed_bodies(&scene(text)).into_iter().map(|body| (body.row, body.which, body.shape)).collect()
    }

    fn cylinder(row: &str, from: f64, to: f64, radius: f64) -> (String, u32, FixedShape) {
        (row.to_owned(), 0, FixedShape::CylinderX { from, to, radius })
    }

    /// Inner and outer radius of every jaw.
    fn jaws(blank: &str, jaws: &str) -> Vec<[f64; 2]> {
        let chuck = format!("chuck = {{ hold = 10, jaws = {{ width = 14, length = 22, {jaws} }} }}");
        let standing = standing(&format!("blank = {{ {blank}, length = 100 }}\n{chuck}"));
        let radii = standing.iter().map(|(row, _, shape)| match shape {
            FixedShape::Jaw { inner, outer, .. } => [*inner, *outer],
            other => panic!("{row}: {other:?}"),
        });
        radii.collect()
    }

    fn assert_radii(found: &[[f64; 2]], expected: &[[f64; 2]]) {
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().flatten().zip(expected.iter().flatten()) {
            assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
        }
    }

    const ROUND: &str = "blank = { diameter = 40, length = 100 }";

    #[test]
    fn jaws_reach_forward_to_station_nought_and_the_chuck_stands_behind_them() {
        let chuck = "chuck = { hold = 10, body = { diameter = 80, length = 45 }, \
                     jaws = { count = 3, width = 14, length = 22, height = 18, turned = 30 } }";
        let standing = standing(&format!("{ROUND}\n{chuck}"));
        assert_eq!(standing[0], cylinder("chuck", -67.0, -22.0, 40.0));
        assert_eq!(standing.len(), 4);
        for (number, (row, which, shape)) in (1u32..).zip(&standing[1..]) {
            let FixedShape::Jaw { x, inner, outer, width, angle: theta } = *shape else { panic!("{shape:?}") };
            assert_eq!((row.as_str(), *which), ("jaws", number));
            assert_eq!((x, inner, outer, width), ([-22.0, 0.0], 20.0, 38.0, 14.0));
            assert!((angle::degrees(theta) - (30.0 + 120.0 * f64::from(number - 1))).abs() < 1e-9);
        }
    }

    #[test]
    fn without_jaws_the_chuck_reaches_to_station_nought() {
        let chuck = "chuck = { hold = 10, body = { diameter = 80, length = 45 } }";
        assert_eq!(standing(&format!("{ROUND}\n{chuck}")), [cylinder("chuck", -45.0, 0.0, 40.0)]);
    }

    #[test]
    fn behind_a_faceplate_all_of_the_chuck_stands_back_by_its_thickness() {
        let text = format!(
            "{ROUND}\nfaceplate = {{ diameter = 60, thickness = 8 }}\nchuck = {{ body = {{ diameter = 80, length = 45 }}, \
             jaws = {{ count = 1, width = 14, length = 22, height = 18 }} }}"
        );
        let standing = standing(&text);
        assert_eq!(standing[0], cylinder("chuck", -75.0, -30.0, 40.0));
        assert!(matches!(standing[1].2, FixedShape::Jaw { x: [-30.0, -8.0], .. }));
        assert_eq!(standing[2], cylinder("faceplate", -8.0, 0.0, 30.0));
    }

    #[test]
    fn jaws_grip_a_square_on_its_flats_or_on_its_corners() {
        let square = "shape = \"square\", across_flats = 40";
        let corner = 20.0 * 2f64.sqrt();
        assert_radii(&jaws(square, "count = 4, height = 18"), &[[20.0, 38.0]; 4]);
        assert_radii(&jaws(square, "count = 4, height = 18, turned = 45"), &[[corner, corner + 18.0]; 4]);
        // The blank may be put in turned, and three jaws never all find a flat.
        assert_radii(&jaws(&format!("{square}, turned = 45"), "count = 4, height = 18"), &[[corner, corner + 18.0]; 4]);
        let aslant = 20.0 / 30f64.to_radians().cos();
        let three = [[20.0, 38.0], [aslant, aslant + 18.0], [aslant, aslant + 18.0]];
        assert_radii(&jaws(square, "count = 3, height = 18"), &three);
    }

    #[test]
    fn runout_and_bow_do_not_move_the_jaws() {
        let crooked = "diameter = 40, runout = { y = 1, z = 2 }, runout_far = { y = 0, z = -3 }, bow = { amount = 2 }";
        assert_radii(&jaws(crooked, "count = 2, height = 5"), &[[20.0, 25.0]; 2]);
    }

    #[test]
    fn inside_jaws_reach_inward_from_the_bore() {
        let tube = "shape = \"tube\", diameter = 50, bore = 30";
        assert_radii(&jaws(tube, "count = 3, height = 8, grip = \"inside\""), &[[7.0, 15.0]; 3]);
        assert_radii(&jaws(tube, "count = 3, height = 20, grip = \"inside\""), &[[0.0, 15.0]; 3]);
    }

    #[test]
    fn screws_begin_at_station_nought() {
        let plate = "faceplate = { diameter = 60, thickness = 8, screws = [
            { radius = 0, diameter = 5, length = 20 }, { radius = 22, angle = 45, diameter = 4, length = 25 }] }";
        let standing = standing(&format!("{ROUND}\n{plate}"));
        assert_eq!(standing[0], cylinder("faceplate", -8.0, 0.0, 30.0));
        let screw = |which, to, radius, offset, degrees| {
            let angle = angle::radians(degrees);
            ("screw".to_owned(), which, FixedShape::Screw { from: 0.0, to, radius, offset, angle })
        };
        assert_eq!(standing[1..], [screw(1, 20.0, 2.5, 0.0, 0.0), screw(2, 25.0, 2.0, 22.0, 45.0)]);
    }

    #[test]
    fn a_drive_center_bites_and_its_body_stands_behind() {
        let drive =
            "drive = { center = { diameter = 20, length = 15, bite = 3 }, body = { diameter = 50, length = 60 } }";
        let expected = [cylinder("drive", -15.0, 3.0, 10.0), cylinder("drive", -75.0, -15.0, 25.0)];
        assert_eq!(standing(&format!("{ROUND}\n{drive}")), expected);
    }

    const CENTER: &str = "center = { angle = 90, diameter = 12, quill = 16, extension = 3 }, dimple = 2";

    #[test]
    fn the_tailstock_is_built_up_from_the_apex_in_the_dimple() {
        // Ten of the hundred millimetres are held, so the free end lies at 90.
        let text = |more: &str| {
            format!(
                "{ROUND}\nchuck = {{ hold = 10 }}\ntailstock = {{ {CENTER}, body = {{ width = 40, above = 35, length = 70 }}{more} }}"
            )
        };
        let bare = standing(&text(""));
        let FixedShape::ConeX { apex, half_angle, radius } = bare[0].2 else { panic!("{bare:?}") };
        assert_eq!((bare[0].0.as_str(), apex, radius), ("center", 88.0, 6.0));
        assert!((angle::degrees(half_angle) - 45.0).abs() < 1e-9);
        let near = |shape: &FixedShape, expected: [f64; 3]| match shape {
            FixedShape::CylinderX { from, to, radius } => {
                [*from, *to, *radius].iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-9)
            }
            _ => false,
        };
        assert!(bare[1].0 == "quill" && near(&bare[1].2, [94.0, 97.0, 8.0]), "{bare:?}");
        let FixedShape::Box { x, y, z } = bare[2].2 else { panic!("{bare:?}") };
        assert!((x[0] - 97.0).abs() < 1e-9 && (x[1] - 167.0).abs() < 1e-9);
        assert_eq!((bare[2].0.as_str(), y, z), ("tailstock", [-20.0, 20.0], [-200.0, 35.0]));
        let headed = standing(&text(", head = { diameter = 30, length = 20 }"));
        assert!(headed[1].0 == "head" && near(&headed[1].2, [94.0, 114.0, 15.0]), "{headed:?}");
        assert!(headed[2].0 == "quill" && near(&headed[2].2, [114.0, 117.0, 8.0]), "{headed:?}");
    }

    #[test]
    fn with_a_bed_the_tailstock_stands_on_it() {
        let body = "body = { width = 40, above = 35, length = 70 }";
        let text = format!("{ROUND}\ntailstock = {{ {CENTER}, {body} }}\nmachine = {{ bed = 75 }}");
        let standing = standing(&text);
        let Some(FixedShape::Box { z, .. }) = standing.iter().find(|body| body.0 == "tailstock").map(|body| body.2)
        else {
            panic!("{standing:?}")
        };
        assert_eq!(z, [-75.0, 35.0]);
        assert_eq!(standing.last(), Some(&("bed".to_owned(), 0, FixedShape::Below { height: -75.0 })));
    }

    #[test]
    fn a_quill_drawn_in_is_no_body() {
        let text = format!("{ROUND}\ntailstock = {{ {} }}", CENTER.replace("extension = 3", "extension = 0"));
        assert_eq!(standing(&text).iter().map(|body| body.0.as_str()).collect::<Vec<_>>(), ["center"]);
    }

    #[test]
    fn the_dimple_is_the_cone_in_the_free_end() {
        let text = format!("{ROUND}\nchuck = {{ hold = 10 }}\ntailstock = {{ {CENTER} }}");
        let Dimple { apex, slope } = dimple(&scene(&text)).unwrap();
        assert!((apex - 88.0).abs() < 1e-12 && (slope - 1.0).abs() < 1e-9);
        assert_eq!(dimple(&scene(&text.replace("dimple = 2", "dimple = 0"))), None);
    }

    /// Names of what moves, and (radius, from, to) of its upright cylinders.
    fn moving(cutter: &str, more: &str) -> Vec<(String, Vec<MovingPart>)> {
        let scene = scene_with(cutter, &format!("{ROUND}\n{more}"));
        let [assembly] = &assemblies(&scene)[..] else { panic!() };
        assembly.bodies.iter().map(|body| (body.name.clone(), body.parts.clone())).collect()
    }

    #[test]
    fn what_moves_is_stacked_from_the_tip_up() {
        let cutter = "flute = 20, shank = [[8, 5], [10, 3]], stickout = 40, holder = [[20, 8], [25, 20]]";
        let more =
            "moving = [{ name = \"boot\", diameter = 90, from = -10, to = 30 }]\nmachine = { spindle = [[52, 40]] }";
        let expected = [
            ("cutter", vec![MovingPart::cylinder(3.0, 0.0, 20.0)]),
            ("shank", vec![MovingPart::cylinder(4.0, 20.0, 25.0), MovingPart::cylinder(5.0, 25.0, 40.0)]),
            ("holder", vec![MovingPart::cylinder(10.0, 40.0, 48.0), MovingPart::cylinder(12.5, 48.0, 68.0)]),
            ("spindle", vec![MovingPart::cylinder(26.0, 68.0, 108.0)]),
            ("boot", vec![MovingPart::cylinder(45.0, 30.0, 70.0)]),
        ];
        assert_eq!(moving(cutter, more), expected.map(|(name, parts)| (name.to_owned(), parts)));
        // What is not described moves nothing: without a stickout nobody knows where the shank ends.
        let names = |cutter: &str| moving(cutter, more).into_iter().map(|body| body.0).collect::<Vec<_>>();
        assert_eq!(names("flute = 20"), ["cutter"]);
        assert_eq!(names("flute = 20, stickout = 40"), ["cutter", "shank", "boot"]);
        assert_eq!(names("flute = 20, stickout = 20, holder = [[20, 8]]"), ["cutter", "holder", "spindle", "boot"]);
    }

    #[test]
    fn only_a_shank_of_another_thickness_is_looked_for_in_the_wood() {
        let uppers = |shank: f64| {
            let cutter = format!("flute = 20, shank = {shank}, stickout = 40, holder = [[6, 8]]");
            let scene = scene_with(&cutter, ROUND);
            carve_cutters(&scene)[0].uppers.iter().map(|body| body.kind).collect::<Vec<_>>()
        };
        assert_eq!(uppers(6.0), [Upper::Holder]);
        assert_eq!(uppers(8.0), [Upper::Shank, Upper::Holder]);
    }
}
