//! `[[cutter]]`.

use dryturn_geom::{Flutes, FlutesError, Shape, angle};

use super::files::Files;
use super::machine;
use crate::model::{Cutter, CutterLimits, Cylinder, Shank};
use crate::read::{Bound, Table};

#[derive(Clone, Copy, PartialEq)]
enum ShapeWord {
    Flat,
    Ball,
    Bull,
    Vee,
    Taper,
    Drill,
    Form,
}

/// Every shape: its word, and the keys that only some shapes have.
const SHAPES: &[(&str, ShapeWord, &[&str])] = &[
    ("flat", ShapeWord::Flat, &[]),
    ("ball", ShapeWord::Ball, &[]),
    ("bull", ShapeWord::Bull, &["corner"]),
    ("vee", ShapeWord::Vee, &["angle", "tip"]),
    ("taper", ShapeWord::Taper, &["angle", "tip", "tip_shape"]),
    ("drill", ShapeWord::Drill, &["angle"]),
    ("form", ShapeWord::Form, &["profile"]),
];

/// Greatest cutter number: the T word of a block is kept in 16 bits, of which the last value means an empty spindle.
const GREATEST_NUMBER: u64 = 65_534;

/// Most cutters of a scene.
const MOST: usize = 1000;

pub(super) fn cutters(root: &Table<'_>, files: &Files<'_>) -> Vec<Cutter> {
    if !root.has("cutter") {
        root.missing("cutter", "for example cutter = [{ diameter = 6 }]");
    }
    let tables = root.tables("cutter", "cutter[]");
    if tables.len() > MOST {
        root.problem("cutter", format!("there are more than {MOST} cutters"), None);
        return Vec::new();
    }
    let mut cutters: Vec<Cutter> = Vec::new();
    for (index, table) in tables.iter().enumerate() {
        let number = number(table, index);
        if cutters.iter().any(|other| other.number == number) {
            table.problem("number", format!("there are two cutters with the number {number}"), None);
        }
        cutters.extend(cutter(table, number, files));
    }
    if tables.is_empty() && root.has("cutter") {
        root.problem("cutter", "a scene needs at least one cutter".into(), None);
    }
    cutters
}

fn number(table: &Table<'_>, index: usize) -> u32 {
    let position = index as u64 + 1;
    let number = table.count("number", 1, GREATEST_NUMBER);
    table.or("number", number, position, &position.to_string(), "its place in the list") as u32
}

fn cutter(table: &Table<'_>, number: u32, files: &Files<'_>) -> Option<Cutter> {
    let stickout = table.length("stickout", Bound::Positive);
    let flutes = flutes(table, stickout, files)?;
    if let Some(stickout) = stickout.filter(|&stickout| flutes.length() > stickout) {
        let message = format!("the flutes ({} mm) are longer than the stickout ({stickout} mm)", flutes.length());
        table.problem("flute", message, Some("`flute` is the cutting length that is out of the holder".into()));
    }
    Some(Cutter {
        number,
        name: table.text("name").unwrap_or_default().to_owned(),
        shank: shank(table, 2.0 * flutes.radius()),
        flutes,
        stickout,
        teeth: table.or("teeth", table.count("teeth", 1, 100), 2, "2", "the usual router cutter") as u32,
        cuts_center: table.or("cuts_center", table.flag("cuts_center"), true, "true", "the usual router cutter"),
        holder: machine::stack(table, "holder"),
        limits: CutterLimits {
            depth: table.length("depth", Bound::Positive),
            width: table.length("width", Bound::Positive),
            plunge: table.rate("plunge", Bound::Positive),
            chip: table.span_of_lengths("chip", Bound::NotNegative),
        },
        length_error: table.length("length_error", Bound::Any).unwrap_or(0.0),
        profile: table.get("profile").and_then(|item| files.written(&item)),
    })
}

fn shank(table: &Table<'_>, diameter: f64) -> Shank {
    match table.get("shank") {
        None => {
            table.cx().assume(table.path_of("shank"), format!("\"{diameter} mm\""), "as thick as the cutter");
            Shank::Plain(diameter)
        }
        Some(item) if item.value().is_array() => Shank::Stack(item.cylinders().unwrap_or_default()),
        Some(item) => Shank::Plain(item.length(Bound::Positive).unwrap_or(diameter)),
    }
}

fn flutes(table: &Table<'_>, stickout: Option<f64>, files: &Files<'_>) -> Option<Flutes> {
    let words: Vec<(&str, (ShapeWord, &[&str]))> =
        SHAPES.iter().map(|&(name, word, keys)| (name, (word, keys))).collect();
    let chosen = table.choice("shape", &words);
    if chosen.is_none() && table.has("shape") {
        return None;
    }
    let (word, keys) = table.or("shape", chosen, (ShapeWord::Flat, &[]), "\"flat\"", "the usual cutter");
    for key in ["corner", "angle", "tip", "tip_shape", "profile"] {
        if let Some(item) = table.get(key).filter(|_| !keys.contains(&key)) {
            let name = SHAPES.iter().find(|shape| shape.1 == word).map_or("", |shape| shape.0);
            item.problem_with_key(format!("`{key}` does not belong to a {name} cutter"), shapes_with(key));
        }
    }
    if word == ShapeWord::Form {
        return form(table, stickout, files);
    }
    let diameter = table.length("diameter", Bound::Positive).or_else(|| {
        table.missing("diameter", "the greatest cutting diameter, for example diameter = 6");
        None
    })?;
    let shape = shape(table, word)?;
    let default = stickout.map_or(3.0 * diameter, |stickout| stickout.min(3.0 * diameter));
    let length = flute_length(table, default, "three times the diameter")?;
    built(table, shape, diameter / 2.0, length)
}

fn shapes_with(key: &str) -> Option<String> {
    let with: Vec<&str> = SHAPES.iter().filter(|shape| shape.2.contains(&key)).map(|shape| shape.0).collect();
    Some(format!("`{key}` is for shape = \"{}\"", with.join("\" or \"")))
}

fn flute_length(table: &Table<'_>, default: f64, because: &str) -> Option<f64> {
    let length = table.length("flute", Bound::Positive);
    if length.is_none() && table.has("flute") {
        return None;
    }
    Some(table.or("flute", length, default, &format!("\"{default} mm\""), because))
}

fn shape(table: &Table<'_>, word: ShapeWord) -> Option<Shape> {
    let half_of = |degrees: f64| angle::radians(degrees / 2.0);
    let included = || table.number("angle", Bound::Within(1.0, 179.0));
    Some(match word {
        ShapeWord::Flat | ShapeWord::Form => Shape::Flat,
        ShapeWord::Ball => Shape::Ball,
        ShapeWord::Bull => {
            let corner = table.length("corner", Bound::Positive);
            if corner.is_none() {
                table.missing("corner", "the radius of the corner, for example corner = 1");
            }
            Shape::Bull { corner: corner? }
        }
        ShapeWord::Vee => {
            let angle = included();
            if angle.is_none() {
                table.missing("angle", "the included angle, for example angle = 90");
            }
            let tip = table.length("tip", Bound::NotNegative);
            let tip = table.or("tip", tip, 0.0, "0", "a sharp point");
            Shape::Vee { half_angle: half_of(angle?), tip_radius: tip / 2.0 }
        }
        ShapeWord::Drill => {
            let angle = table.or("angle", included(), 118.0, "118", "the usual point angle");
            Shape::Drill { half_angle: half_of(angle) }
        }
        ShapeWord::Taper => taper(table)?,
    })
}

fn taper(table: &Table<'_>) -> Option<Shape> {
    let side = table.number("angle", Bound::Within(0.1, 89.0));
    if side.is_none() {
        table.missing("angle", "the angle of one side, for example angle = 5");
    }
    let tip = table.length("tip", Bound::Positive);
    if tip.is_none() {
        table.missing("tip", "the diameter at the tip, for example tip = 1");
    }
    let ball = table.choice("tip_shape", &[("ball", true), ("flat", false)]);
    let ball = table.or("tip_shape", ball, true, "\"ball\"", "the usual tapered cutter");
    Some(Shape::Taper { half_angle: angle::radians(side?), tip_radius: tip? / 2.0, ball })
}

fn form(table: &Table<'_>, stickout: Option<f64>, files: &Files<'_>) -> Option<Flutes> {
    let Some(item) = table.get("profile") else {
        table.missing("profile", "profile = \"cutter.csv\", rows of height, radius from the tip up");
        return None;
    };
    let profile = files.profile(&item)?;
    let radius = profile.iter().map(|row| row.1).fold(0.0, f64::max);
    let top = profile.last().map_or(0.0, |row| row.0);
    let stated = table.length("diameter", Bound::Positive);
    if let Some(diameter) = stated.filter(|diameter| (diameter - 2.0 * radius).abs() > 1e-6) {
        let message = format!("the profile's greatest diameter is {} mm, not {diameter} mm", 2.0 * radius);
        table.problem("diameter", message, Some("leave `diameter` out".into()));
    }
    let default = stickout.map_or(top, |stickout| stickout.min(top));
    let length = flute_length(table, default, "the height of the profile")?;
    built(table, Shape::Form { profile }, radius, length)
}

fn built(table: &Table<'_>, shape: Shape, radius: f64, length: f64) -> Option<Flutes> {
    match Flutes::new(shape, radius, length) {
        Ok(flutes) => Some(flutes),
        Err(error) => {
            let key = match &error {
                FlutesError::Angle { .. } => "angle",
                FlutesError::Profile { .. } => "profile",
                FlutesError::TooLarge { what, .. } if what.contains("tip") => "tip",
                FlutesError::TooLarge { what, .. } if what.contains("corner") => "corner",
                FlutesError::TooLarge { .. } | FlutesError::NotPositive { .. } => "diameter",
            };
            table.problem(key, format!("this is no cutter: {error}"), None);
            None
        }
    }
}

impl Cutter {
    /// The shank as cylinders from the flutes up to the holder. Empty where the stickout is not known and the scene
    /// gives a diameter only, for then nobody knows how far it reaches.
    pub fn shank_cylinders(&self) -> Vec<Cylinder> {
        let free = self.stickout.map(|stickout| stickout - self.flutes.length());
        match (&self.shank, free) {
            (Shank::Plain(diameter), Some(length)) if length > 0.0 => vec![Cylinder { diameter: *diameter, length }],
            (Shank::Plain(_), _) => Vec::new(),
            (Shank::Stack(stack), None) => stack.clone(),
            (Shank::Stack(stack), Some(free)) => cut_to(stack, free),
        }
    }
}

/// A stack cut off at a length; one that is too short goes on with its last diameter.
fn cut_to(stack: &[Cylinder], free: f64) -> Vec<Cylinder> {
    let mut left = free;
    let mut cut = Vec::new();
    for (index, cylinder) in stack.iter().enumerate() {
        let length = if index + 1 == stack.len() { left } else { cylinder.length.min(left) };
        if length > 0.0 {
            cut.push(Cylinder { diameter: cylinder.diameter, length });
            left -= length;
        }
    }
    cut
}
