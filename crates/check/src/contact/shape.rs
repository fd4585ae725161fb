//! The bodies that may meet: stacks about the spindle axis, and what stands around the blank.

use dryturn_geom::{Flutes, Primitive, angle};

/// A convex body of revolution about the spindle axis. Heights are over the tip, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MovingPart {
    /// An upright cylinder, its two edges rounded. A ball is one whose rounding, radius and half height are equal.
    Cylinder {
        /// Radius, mm.
        radius: f64,
        /// Lowest height, mm.
        from: f64,
        /// Highest height, mm.
        to: f64,
        /// Radius of the rounding of both edges, mm; at most the radius and half the height. 0: sharp.
        rounding: f64,
    },
    /// A cone cut off at both ends, widening or narrowing upward.
    Frustum {
        /// Lowest height, mm.
        from: f64,
        /// Radius there, mm.
        from_radius: f64,
        /// Highest height, mm.
        to: f64,
        /// Radius there, mm.
        to_radius: f64,
    },
    /// The lower part of a flat disc fattened by a ball, cut off flat: a ball or bull nose shorter than its rounding.
    Bowl {
        /// Radius of the disc, mm.
        disc: f64,
        /// Radius of the ball, mm.
        tube: f64,
        /// Height of the disc, mm.
        center: f64,
        /// Height at which the body is cut off, mm; at most `center`.
        top: f64,
    },
}

/// Something that moves with the spindle.
#[derive(Clone, Debug, PartialEq)]
pub struct MovingBody {
    /// `cutter`, `shank`, `holder`, `spindle`, or a name from the scene.
    pub name: String,
    /// Its parts; the body is their union.
    pub parts: Vec<MovingPart>,
}

/// All that moves while one cutter is in the spindle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Assembly {
    /// From the tip up, by custom.
    pub bodies: Vec<MovingBody>,
}

/// Something that does not move with the spindle, in the blank frame.
#[derive(Clone, Debug, PartialEq)]
pub struct FixedBody {
    /// The row of the report it belongs to: `chuck`, `jaws`, `screw`, or a name from the scene.
    pub row: String,
    /// Which of its row it is, from 1; 0 where the row has but one body.
    pub which: u32,
    /// Its form and place.
    pub shape: FixedShape,
}

/// The form and place of a fixed body. Stations and lengths in mm, angles in radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FixedShape {
    /// A cylinder about the rotary axis.
    CylinderX {
        /// First station.
        from: f64,
        /// Last station.
        to: f64,
        /// Radius.
        radius: f64,
    },
    /// A cylinder along the rotary axis that turns with the blank.
    Screw {
        /// First station.
        from: f64,
        /// Last station.
        to: f64,
        /// Radius.
        radius: f64,
        /// Distance of its axis from the rotary axis.
        offset: f64,
        /// Angle θ of the ray of the blank it lies on.
        angle: f64,
    },
    /// A cone about the rotary axis whose point looks toward the jaws.
    ConeX {
        /// Station of the point.
        apex: f64,
        /// Angle of its side against the axis, between 0 and a right angle.
        half_angle: f64,
        /// Radius at its base.
        radius: f64,
    },
    /// A box along the axes of the frame.
    Box {
        /// Stations.
        x: [f64; 2],
        /// Across the bed.
        y: [f64; 2],
        /// Heights over the axis.
        z: [f64; 2],
    },
    /// A bar that stands out from the rotary axis and turns with the blank.
    Jaw {
        /// Stations.
        x: [f64; 2],
        /// Radius at which it begins (may be below zero: beyond the axis).
        inner: f64,
        /// Radius at which it ends.
        outer: f64,
        /// Width across.
        width: f64,
        /// Angle θ of its middle.
        angle: f64,
    },
    /// All that lies at or below a height.
    Below {
        /// Height over the axis; the bed has one below zero.
        height: f64,
    },
}

impl MovingPart {
    /// A cylinder with sharp edges. Lengths in mm, heights over the tip.
    pub fn cylinder(radius: f64, from: f64, to: f64) -> Self {
        MovingPart::Cylinder { radius, from, to, rounding: 0.0 }
    }

    /// Lowest and highest height over the tip, mm.
    pub(crate) fn heights(&self) -> [f64; 2] {
        match *self {
            MovingPart::Cylinder { from, to, .. } | MovingPart::Frustum { from, to, .. } => [from, to],
            MovingPart::Bowl { tube, center, top, .. } => [center - tube, top],
        }
    }

    /// Radius at the lowest and at the highest height, mm; what a rounding takes away is not part of either.
    pub(crate) fn end_radii(&self) -> [f64; 2] {
        match *self {
            MovingPart::Cylinder { radius, rounding, .. } => [radius - rounding; 2],
            MovingPart::Frustum { from_radius, to_radius, .. } => [from_radius, to_radius],
            MovingPart::Bowl { disc, tube, center, top } => [disc, disc + half_chord(tube, center - top)],
        }
    }

    /// Greatest radius, mm.
    pub(crate) fn widest(&self) -> f64 {
        match *self {
            MovingPart::Cylinder { radius, .. } => radius,
            MovingPart::Frustum { .. } | MovingPart::Bowl { .. } => {
                let [low, high] = self.end_radii();
                low.max(high)
            }
        }
    }

    /// Whether its numbers describe a body at all.
    pub(crate) fn is_body(&self) -> bool {
        let [low, high] = self.heights();
        let finite = low.is_finite() && high.is_finite() && self.widest().is_finite();
        finite && high > low && self.end_radii().iter().all(|&radius| radius >= 0.0) && self.widest() > 0.0
    }
}

pub(crate) fn half_chord(radius: f64, offset: f64) -> f64 {
    (radius * radius - offset * offset).max(0.0).sqrt()
}

/// The flutes as a union of moving parts: exact, each part convex.
pub fn flutes_body(flutes: &Flutes) -> Vec<MovingPart> {
    flutes
        .parts()
        .iter()
        .flat_map(|convex| convex.primitives.iter().map(|primitive| part_of(primitive, convex.top)))
        .filter(MovingPart::is_body)
        .collect()
}

fn part_of(primitive: &Primitive, top: f64) -> MovingPart {
    match *primitive {
        Primitive::Cylinder { radius, from } => MovingPart::cylinder(radius, from, top),
        Primitive::Sphere { radius, center } => nose(0.0, radius, center, top),
        Primitive::RoundedDisc { disc, tube, center } => nose(disc, tube, center, top),
        Primitive::Frustum { from, from_radius, to, to_radius } if from_radius == to_radius => {
            MovingPart::cylinder(from_radius, from, to.min(top))
        }
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            let end = to.min(top);
            let share = (end - from) / (to - from);
            MovingPart::Frustum {
                from,
                from_radius,
                to: end,
                to_radius: from_radius + (to_radius - from_radius) * share,
            }
        }
    }
}

/// A ball or a rounded disc below the wall of the flutes: whole where its upper half stays inside them, which is the
/// faster form; else its lower half.
fn nose(disc: f64, tube: f64, center: f64, top: f64) -> MovingPart {
    if top >= center + tube {
        MovingPart::Cylinder { radius: disc + tube, from: center - tube, to: center + tube, rounding: tube }
    } else {
        MovingPart::Bowl { disc, tube, center, top: top.min(center) }
    }
}

/// The bowl's greatest angle between its lowest direction and its upper edge, radians.
pub(crate) fn bowl_angle(tube: f64, center: f64, top: f64) -> f64 {
    angle::acos(((center - top) / tube).clamp(0.0, 1.0))
}
