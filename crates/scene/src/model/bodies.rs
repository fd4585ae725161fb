//! The blank, what holds it, and what else stands about.

use dryturn_geom::AnySolid;
use dryturn_geom::units::LengthUnit;

use crate::material::Material;

/// The blank as described; [`crate::Scene::stock`] gives its solid.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// Its section.
    pub shape: BlankShape,
    /// Whole length, mm, the part in the jaws included.
    pub length: f64,
    /// What it is made of, if it is said.
    pub material: Option<Material>,
    /// Shift of the centre line at station 0, machine Y and Z in mm while θ on top is 0.
    pub runout: [f64; 2],
    /// The same at the free end.
    pub runout_far: [f64; 2],
    /// Greatest shift by the bend between the ends, mm.
    pub bow: f64,
    /// Angle θ it bends toward, degrees.
    pub bow_angle_deg: f64,
    /// Angle θ of the outward normal of the first flat, degrees.
    pub turned_deg: f64,
}

/// The section of a blank.
#[derive(Clone, Debug, PartialEq)]
pub enum BlankShape {
    /// Whatever a mesh encloses, its end at the least station in the holding.
    Mesh {
        /// The file as written.
        file: String,
        /// Unit of the file, if it is said.
        units: Option<LengthUnit>,
        /// The solid, from its own end on; `None` where the file could not be read.
        solid: Option<AnySolid>,
    },
    /// A piece as an earlier set-up left it.
    Kept(KeptBlank),
    /// A round bar.
    Round {
        /// mm.
        diameter: f64,
    },
    /// A bored round bar.
    Tube {
        /// mm.
        diameter: f64,
        /// Diameter of the bore, mm.
        bore: f64,
    },
    /// A square bar.
    Square {
        /// mm.
        across_flats: f64,
    },
    /// A bar with any number of flats.
    Polygon {
        /// Twice the apothem, mm, whatever the number of sides.
        across_flats: f64,
        /// 3 or more.
        sides: u32,
    },
}

/// A piece as an earlier set-up left it, put back.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptBlank {
    /// The file as written.
    pub file: String,
    /// Whether it is put back end for end.
    pub flip: bool,
    /// Turned about the axis, degrees.
    pub turn_deg: f64,
    /// How much farther out of the holding it sits than the holding says, mm.
    pub shift: f64,
    /// Its old axis off the rotary axis, machine Y and Z in mm while θ on top is 0.
    pub off: [f64; 2],
    /// The pitch it was carved at, mm.
    pub pitch: f64,
    /// The solid, from its own end on; `None` where the file could not be read.
    pub solid: Option<AnySolid>,
}

/// A cylinder of a stack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cylinder {
    /// mm.
    pub diameter: f64,
    /// mm.
    pub length: f64,
}

/// The chuck.
#[derive(Clone, Debug, PartialEq)]
pub struct Chuck {
    /// Length of the blank inside the jaws, mm.
    pub hold: f64,
    /// The body behind the jaws.
    pub body: Option<Cylinder>,
    /// The jaws.
    pub jaws: Option<Jaws>,
    /// Torque about the rotary axis that it carries before the blank slips, N·m, if it is said.
    pub torque: Option<f64>,
}

/// The jaws of a chuck.
#[derive(Clone, Debug, PartialEq)]
pub struct Jaws {
    /// How many.
    pub count: u32,
    /// Across, mm.
    pub width: f64,
    /// Along the axis, mm.
    pub length: f64,
    /// From the gripped radius out (inside grip: in), mm.
    pub height: f64,
    /// Where they grip.
    pub grip: Grip,
    /// Angle θ of the first jaw, degrees.
    pub turned_deg: f64,
}

/// Where jaws grip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grip {
    /// The outside of the blank.
    Outside,
    /// The bore.
    Inside,
}

/// The faceplate.
#[derive(Clone, Debug, PartialEq)]
pub struct Faceplate {
    /// mm.
    pub diameter: f64,
    /// mm.
    pub thickness: f64,
    /// Screws in the wood.
    pub screws: Vec<Screw>,
    /// Torque about the rotary axis that it carries before the blank slips, N·m, if it is said.
    pub torque: Option<f64>,
}

/// A screw of the faceplate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// Distance of its axis from the rotary axis, mm.
    pub radius: f64,
    /// Angle θ, degrees.
    pub angle_deg: f64,
    /// mm.
    pub diameter: f64,
    /// Depth in the wood, mm.
    pub length: f64,
}

/// The drive center.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// The center itself.
    pub center: Cylinder,
    /// How deep it bites into the blank, mm.
    pub bite: f64,
    /// The body behind it.
    pub body: Option<Cylinder>,
    /// Torque about the rotary axis that it carries before the blank slips, N·m, if it is said.
    pub torque: Option<f64>,
}

/// The tailstock with its live center.
#[derive(Clone, Debug, PartialEq)]
pub struct Tailstock {
    /// Included angle of the cone, degrees.
    pub angle_deg: f64,
    /// Greatest diameter of the cone, mm.
    pub diameter: f64,
    /// Diameter of the quill, mm.
    pub quill: f64,
    /// How far the quill stands out of the body, mm.
    pub extension: f64,
    /// The turning head between cone and quill.
    pub head: Option<Cylinder>,
    /// Depth of the cone's tip in the blank, mm.
    pub dimple: f64,
    /// Force along the axis that it holds against, N, if it is said.
    pub force: Option<f64>,
    /// The body.
    pub body: Option<TailstockBody>,
}

/// The body of the tailstock: a box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TailstockBody {
    /// Across, mm.
    pub width: f64,
    /// Its top over the axis, mm.
    pub above: f64,
    /// Along the axis, mm.
    pub length: f64,
}

/// A box that stands in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct FixedBody {
    /// What findings call it.
    pub name: String,
    /// Least and greatest station, mm.
    pub x: [f64; 2],
    /// Least and greatest internal Y, mm.
    pub y: [f64; 2],
    /// Least and greatest height over the axis, mm.
    pub z: [f64; 2],
}

/// A cylinder about the spindle axis that moves with it.
#[derive(Clone, Debug, PartialEq)]
pub struct MovingBody {
    /// What findings call it.
    pub name: String,
    /// mm.
    pub diameter: f64,
    /// Lower end over the holder's lower face, mm; below zero it hangs under it.
    pub from: f64,
    /// Upper end, mm.
    pub to: f64,
}
