//! From what a scene describes to the bodies that can meet.

use dryturn_carve::{self as carve, Dimple, Upper, UpperBody};
use dryturn_geom::{Stock, angle};
use dryturn_scene::{Chuck, Cutter, Cylinder, Drive, Faceplate, Grip, Jaws, Scene, Tailstock};

use crate::contact::{Assembly, FixedBody, FixedShape, MovingBody, MovingPart, flutes_body};

/// Depth of the tailstock's body under the axis where no bed is described, mm.
const NO_BED: f64 = 200.0;

/// Everything that stands: holding, tailstock, bed, and what the scene names besides.
pub(crate) fn fixed_bodies(scene: &Scene) -> Vec<FixedBody> {
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
    if let Some(bed) = scene.machine.bed {
        bodies.push(one("bed", FixedShape::Below { height: -bed }));
    }
    bodies.extend(scene.fixed.iter().map(|body| one(&body.name, FixedShape::Box { x: body.x, y: body.y, z: body.z })));
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
    for jaw in 0..jaws.count {
        let theta = angle::radians(jaws.turned_deg) + std::f64::consts::TAU * f64::from(jaw) / f64::from(jaws.count);
        let [inner, outer] = jaw_radii(jaws, stock, theta);
        let shape = FixedShape::Jaw { x: [front - jaws.length, front], inner, outer, width: jaws.width, angle: theta };
        bodies.push(FixedBody { row: "jaws".to_owned(), which: jaw + 1, shape });
    }
}

/// From the radius the jaw grips at: the nominal blank's along the jaw's middle, runout left aside.
fn jaw_radii(jaws: &Jaws, stock: &Stock, theta: f64) -> [f64; 2] {
    match jaws.grip {
        Grip::Outside => {
            let true_running =
                Stock { near: Default::default(), far: Default::default(), bow: Default::default(), ..*stock };
            let gripped = true_running.spans(stock.start, theta).as_slice().last().map_or(0.0, |span| span.1);
            [gripped, gripped + jaws.height]
        }
        Grip::Inside => [(stock.bore - jaws.height).max(0.0), stock.bore],
    }
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
