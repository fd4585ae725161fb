//! `[blank]` and what holds it: `[chuck]`, `[faceplate]`, `[drive]`, `[tailstock]`, and what else stands about.

use std::sync::Arc;

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{AnySolid, Side};

use super::files::Files;
use crate::material::{self, Material};
use crate::mesh::Mesh;
use crate::model::{
    Blank, BlankShape, Chuck, Cylinder, Drive, Faceplate, FixedBody, Grip, Jaws, MovingBody, Screw, Tailstock,
    TailstockBody,
};
use crate::read::{Bound, Table};

#[derive(Clone, Copy, PartialEq)]
enum ShapeWord {
    Round,
    Tube,
    Square,
    Polygon,
    Mesh,
    Kept,
}

pub(super) fn blank(root: &Table<'_>, files: &Files<'_>, chuck_on: Side) -> Blank {
    if !root.has("blank") {
        root.missing("blank", "for example blank = { diameter = 64, length = 200 }");
    }
    let table = root.table("blank", "blank");
    let (shape, own_length) = shape(&table, files, chuck_on);
    let offset = |key: &str, schema: &'static str, default: [f64; 2]| {
        let offset = table.table(key, schema);
        let [y, z] = default;
        [offset.length("y", Bound::Any).unwrap_or(y), offset.length("z", Bound::Any).unwrap_or(z)]
    };
    let runout = offset("runout", "blank.runout", [0.0, 0.0]);
    if !table.has("runout") && !matches!(shape, BlankShape::Kept(_)) {
        table.cx().assume("blank.runout".into(), "{ y = 0, z = 0 }".into(), "the blank is taken to run true");
    }
    let bow = table.table("bow", "blank.bow");
    let length = if let Some(length) = own_length {
        length
    } else if table.is_given() {
        table.needed_length("length", Bound::Positive, "the whole length, for example length = 200")
    } else {
        f64::NAN
    };
    Blank {
        shape,
        length,
        material: material(&table),
        runout,
        runout_far: offset("runout_far", "blank.runout_far", runout),
        bow: bow.length("amount", Bound::Any).unwrap_or(0.0),
        bow_angle_deg: bow.number("angle", Bound::Any).unwrap_or(0.0),
        turned_deg: table.number("turned", Bound::Any).unwrap_or(0.0),
    }
}

/// The shape, and the length where it follows from the shape.
fn shape(table: &Table<'_>, files: &Files<'_>, chuck_on: Side) -> (BlankShape, Option<f64>) {
    let fallback = (BlankShape::Round { diameter: f64::NAN }, None);
    if !table.is_given() {
        return fallback;
    }
    let words = [
        ("round", ShapeWord::Round),
        ("tube", ShapeWord::Tube),
        ("square", ShapeWord::Square),
        ("polygon", ShapeWord::Polygon),
        ("mesh", ShapeWord::Mesh),
        ("kept", ShapeWord::Kept),
    ];
    let word = match table.choice("shape", &words) {
        Some(word) => word,
        None if table.has("shape") => return fallback,
        None if table.has("file") => {
            if is_kept(table) {
                ShapeWord::Kept
            } else {
                ShapeWord::Mesh
            }
        }
        None if table.has("bore") => ShapeWord::Tube,
        None if table.has("across_flats") && table.has("sides") => ShapeWord::Polygon,
        None if table.has("across_flats") => ShapeWord::Square,
        None => ShapeWord::Round,
    };
    let (name, allowed): (&str, &[&str]) = match word {
        ShapeWord::Round => ("round", &["diameter"]),
        ShapeWord::Tube => ("tube", &["diameter", "bore"]),
        ShapeWord::Square => ("square", &["across_flats", "sides", "turned"]),
        ShapeWord::Polygon => ("polygon", &["across_flats", "sides", "turned"]),
        ShapeWord::Mesh => ("mesh", &["file", "units"]),
        ShapeWord::Kept => ("kept", &["file", "flip", "shift", "turn", "off"]),
    };
    for key in ["diameter", "bore", "across_flats", "sides", "file", "units", "flip", "shift", "turn", "off"] {
        if let Some(item) = table.get(key).filter(|_| !allowed.contains(&key)) {
            item.problem_with_key(format!("`blank.{key}` does not belong to a {name} blank"), None);
        }
    }
    let diameter = || table.needed_length("diameter", Bound::Positive, "for example diameter = 64");
    let flats = || table.needed_length("across_flats", Bound::Positive, "for example across_flats = 76");
    let shape = match word {
        ShapeWord::Mesh => return mesh(table, files, chuck_on),
        ShapeWord::Kept => return super::kept::kept(table, files, chuck_on),
        ShapeWord::Tube => tube(table, diameter()),
        ShapeWord::Square => {
            if table.count("sides", 3, 360).is_some_and(|sides| sides != 4) {
                table.problem("sides", "a square blank has 4 sides".into(), Some("set shape = \"polygon\"".into()));
            }
            BlankShape::Square { across_flats: flats() }
        }
        ShapeWord::Polygon => {
            let sides = table.count("sides", 3, 360);
            if sides.is_none() {
                table.missing("sides", "for example sides = 6");
            }
            BlankShape::Polygon { across_flats: flats(), sides: sides.map_or(4, |sides| sides as u32) }
        }
        _ => BlankShape::Round { diameter: diameter() },
    };
    (shape, None)
}

/// Whether the file of a blank is a piece that was kept.
fn is_kept(table: &Table<'_>) -> bool {
    let file = table.text("file").unwrap_or_default();
    std::path::Path::new(file).extension().is_some_and(|ending| ending.eq_ignore_ascii_case("npz"))
}

/// A blank from a mesh: its end at the least station goes into the holding.
fn mesh(table: &Table<'_>, files: &Files<'_>, chuck_on: Side) -> (BlankShape, Option<f64>) {
    let units = table.choice("units", &[("mm", LengthUnit::Millimetre), ("inch", LengthUnit::Inch)]);
    for key in ["length", "turned"].into_iter().filter(|key| table.has(key)) {
        table.problem(
            key,
            format!("`{key}` does not belong to a blank from a mesh: it is as the file has it"),
            Some("leave it out".into()),
        );
    }
    let Some(item) = table.get("file") else {
        table.missing("file", "file = \"blank.stl\"");
        return (BlankShape::Mesh { file: String::new(), units, solid: None }, Some(f64::NAN));
    };
    let file = files.written(&item).unwrap_or_default();
    let read = files.path(&item).map(|path| Mesh::solid(&path, units, chuck_on));
    match read {
        Some(Ok((solid, length))) => {
            let solid = Some(AnySolid(Arc::new(solid)));
            (BlankShape::Mesh { file, units, solid }, Some(length))
        }
        Some(Err(error)) => {
            item.problem(format!("`{file}` is no blank: {error}"), Some(error.help().into()));
            (BlankShape::Mesh { file, units, solid: None }, Some(f64::NAN))
        }
        None => (BlankShape::Mesh { file, units, solid: None }, Some(f64::NAN)),
    }
}

fn tube(table: &Table<'_>, diameter: f64) -> BlankShape {
    let bore = table.needed_length("bore", Bound::Positive, "the diameter of the bore, for example bore = 30");
    if bore >= diameter {
        table.problem(
            "bore",
            format!("the bore ({bore} mm) leaves nothing of a blank of {diameter} mm"),
            Some("both are diameters; the bore must be the smaller".into()),
        );
    }
    BlankShape::Tube { diameter, bore }
}

fn material(table: &Table<'_>) -> Option<Material> {
    let item = table.get("material")?;
    if item.value().is_table() {
        return own_material(&item.table("blank.material")?);
    }
    let name = item.text()?;
    let found = material::find(name);
    if found.is_none() {
        let help = match material::nearest(name) {
            Some(near) => format!("did you mean \"{near}\"? Values of your own go in a table: {OWN_MATERIAL}"),
            None => format!("values of your own go in a table: {OWN_MATERIAL}"),
        };
        item.problem(format!("no material is called \"{name}\""), Some(help));
    }
    found
}

const OWN_MATERIAL: &str =
    "material = { density = 700, modulus = 12000, bending = 100, shear = 15, cutting = [25, 40] }";

fn own_material(table: &Table<'_>) -> Option<Material> {
    let number = |key: &str| table.number(key, Bound::Positive);
    let density = number("density");
    if density.is_none() {
        table.missing("density", "the density in kg/m³, for example density = 700");
    }
    Some(Material {
        name: table.text("name").unwrap_or("own values").to_owned(),
        is_wood: table.flag("wood").unwrap_or(true),
        density: density?,
        modulus: number("modulus"),
        rigidity: number("rigidity"),
        bending: number("bending"),
        shear: number("shear"),
        cutting: table.span_of_numbers("cutting", Bound::Positive),
        source: material::OWN.to_owned(),
    })
}

pub(super) fn chuck(root: &Table<'_>, blank: &Blank) -> Option<Chuck> {
    let table = root.table("chuck", "chuck");
    if !table.is_given() {
        return None;
    }
    let hold = table.length("hold", Bound::NotNegative);
    let begins_at_zero = root.has("faceplate") || root.has("drive");
    let hold = match hold {
        None if begins_at_zero => 0.0,
        hold => table.or("hold", hold, 0.0, "0", "the blank is taken to begin at the jaw face"),
    };
    if hold >= blank.length {
        table.problem("hold", format!("the jaws hold {hold} mm of a blank only {} mm long", blank.length), None);
    }
    Some(Chuck {
        hold,
        body: cylinder(&table, "body", "chuck.body"),
        jaws: jaws(&table, blank),
        torque: table.number("torque", Bound::Positive),
    })
}

fn jaws(chuck: &Table<'_>, blank: &Blank) -> Option<Jaws> {
    let table = chuck.table("jaws", "chuck.jaws");
    if !table.is_given() {
        return None;
    }
    let count = table.count("count", 1, 12);
    if count.is_none() {
        table.missing("count", "how many jaws there are, for example count = 4");
    }
    let size = |key: &str| table.needed_length(key, Bound::Positive, &format!("for example {key} = 15"));
    let grip = table.choice("grip", &[("outside", Grip::Outside), ("inside", Grip::Inside)]);
    let grip = table.or("grip", grip, Grip::Outside, "\"outside\"", "the usual way to hold a blank");
    if grip == Grip::Inside && !matches!(blank.shape, BlankShape::Tube { .. }) {
        table.problem("grip", "jaws can grip the inside only of a blank with a bore".into(), None);
    }
    Some(Jaws {
        count: count.unwrap_or(1) as u32,
        width: size("width"),
        length: size("length"),
        height: size("height"),
        grip,
        turned_deg: table.number("turned", Bound::Any).unwrap_or(0.0),
    })
}

fn cylinder(parent: &Table<'_>, key: &str, schema: &'static str) -> Option<Cylinder> {
    let table = parent.table(key, schema);
    table.is_given().then(|| needed_cylinder(&table))
}

fn needed_cylinder(table: &Table<'_>) -> Cylinder {
    Cylinder {
        diameter: table.needed_length("diameter", Bound::Positive, "for example diameter = 30"),
        length: table.needed_length("length", Bound::Positive, "for example length = 20"),
    }
}

pub(super) fn faceplate(root: &Table<'_>, blank: &Blank) -> Option<Faceplate> {
    let table = root.table("faceplate", "faceplate");
    if !table.is_given() {
        return None;
    }
    Some(Faceplate {
        diameter: table.needed_length("diameter", Bound::Positive, "for example diameter = 60"),
        thickness: table.needed_length("thickness", Bound::Positive, "for example thickness = 8"),
        screws: table.tables("screws", "faceplate.screws[]").iter().map(|screw| self::screw(screw, blank)).collect(),
        torque: table.number("torque", Bound::Positive),
    })
}

fn screw(table: &Table<'_>, blank: &Blank) -> Screw {
    let length = table.needed_length("length", Bound::Positive, "its depth in the wood, for example length = 25");
    if length > blank.length {
        table.problem("length", format!("the screw is longer than the blank ({} mm)", blank.length), None);
    }
    Screw {
        radius: table.needed_length(
            "radius",
            Bound::NotNegative,
            "its distance from the axis, for example radius = 20",
        ),
        angle_deg: table.number("angle", Bound::Any).unwrap_or(0.0),
        diameter: table.needed_length("diameter", Bound::Positive, "for example diameter = 4"),
        length,
    }
}

pub(super) fn drive(root: &Table<'_>, blank: &Blank) -> Option<Drive> {
    let table = root.table("drive", "drive");
    if !table.is_given() {
        return None;
    }
    let center = table.table("center", "drive.center");
    if !center.is_given() {
        table.missing("center", "center = { diameter = 20, length = 15, bite = 3 }");
        return None;
    }
    let bite = center.length("bite", Bound::NotNegative);
    let bite = center.or("bite", bite, 0.0, "0", "no bite is given");
    if bite >= blank.length {
        center.problem("bite", format!("the center bites through a blank of {} mm", blank.length), None);
    }
    Some(Drive {
        center: needed_cylinder(&center),
        bite,
        body: cylinder(&table, "body", "drive.body"),
        torque: table.number("torque", Bound::Positive),
    })
}

pub(super) fn tailstock(root: &Table<'_>, blank: &Blank) -> Option<Tailstock> {
    let table = root.table("tailstock", "tailstock");
    if !table.is_given() {
        return None;
    }
    let center = table.table("center", "tailstock.center");
    if !center.is_given() {
        table.missing("center", "center = { angle = 60, diameter = 12, quill = 16, extension = 3 }");
        return None;
    }
    let angle = center.number("angle", Bound::Within(5.0, 175.0));
    let dimple = table.length("dimple", Bound::NotNegative);
    let dimple = table.or("dimple", dimple, 0.0, "0", "the cone is taken to touch the end of the blank only");
    if dimple >= blank.length {
        table.problem("dimple", format!("the dimple is deeper than the blank is long ({} mm)", blank.length), None);
    }
    let body = table.table("body", "tailstock.body");
    Some(Tailstock {
        angle_deg: center.or("angle", angle, 60.0, "60", "the usual live center (common practice)"),
        diameter: center.needed_length(
            "diameter",
            Bound::Positive,
            "the cone's greatest diameter, for example diameter = 12",
        ),
        quill: center.needed_length("quill", Bound::Positive, "the quill's diameter, for example quill = 16"),
        extension: center.needed_length(
            "extension",
            Bound::NotNegative,
            "how far the quill stands out, for example extension = 3",
        ),
        head: cylinder(&table, "head", "tailstock.head"),
        dimple,
        force: table.number("force", Bound::Positive),
        body: body.is_given().then(|| TailstockBody {
            width: body.needed_length("width", Bound::Positive, "for example width = 40"),
            above: body.needed_length("above", Bound::Any, "its top over the axis, for example above = 40"),
            length: body.needed_length("length", Bound::Positive, "for example length = 70"),
        }),
    })
}

pub(super) fn fixed(root: &Table<'_>) -> Vec<FixedBody> {
    root.tables("fixed", "fixed[]").iter().filter_map(fixed_body).collect()
}

fn fixed_body(table: &Table<'_>) -> Option<FixedBody> {
    let name = name(table);
    let Some(item) = table.get("box") else {
        table.missing("box", "box = [x0, x1, y0, y1, z0, z1]");
        return None;
    };
    let sides = item.list(|entry| entry.length(Bound::Any))?;
    let [x0, x1, y0, y1, z0, z1] = sides[..] else {
        item.problem(format!("`{}` must hold six lengths: x0, x1, y0, y1, z0, z1", item.path()), None);
        return None;
    };
    if x0 >= x1 || y0 >= y1 || z0 >= z1 {
        item.problem(format!("`{}` encloses nothing: each second number must be the greater", item.path()), None);
    }
    Some(FixedBody { name, x: [x0, x1], y: [y0, y1], z: [z0, z1] })
}

pub(super) fn moving(root: &Table<'_>) -> Vec<MovingBody> {
    root.tables("moving", "moving[]")
        .iter()
        .map(|table| {
            let from = table.needed_length(
                "from",
                Bound::Any,
                "its lower end over the holder's lower face, for example from = 10",
            );
            let to = table.needed_length("to", Bound::Any, "its upper end, for example to = 50");
            if from >= to {
                table.problem("to", "`to` must be above `from`".into(), None);
            }
            let diameter = table.needed_length("diameter", Bound::Positive, "for example diameter = 90");
            MovingBody { name: name(table), diameter, from, to }
        })
        .collect()
}

/// Names the report gives to bodies of its own.
pub(crate) const BODY_NAMES: &[&str] = &[
    "chuck",
    "jaws",
    "faceplate",
    "screw",
    "drive",
    "center",
    "head",
    "quill",
    "tailstock",
    "bed",
    "cutter",
    "shank",
    "holder",
    "spindle",
];

fn name(table: &Table<'_>) -> String {
    let Some(name) = table.text("name") else {
        table.missing("name", "name = \"clamp\"");
        return String::new();
    };
    if name.trim().is_empty() || BODY_NAMES.contains(&name) {
        let message =
            if name.trim().is_empty() { "a body needs a name" } else { "this name is taken by a body every job has" };
        table.problem("name", message.into(), Some("choose another, for example \"clamp\"".into()));
    }
    name.to_owned()
}
