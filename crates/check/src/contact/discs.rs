//! A body of revolution as a family of level discs.
//!
//! Every moving part is the union of discs whose radius is a concave function of their height. Against a convex body
//! the distance of such a disc is therefore a convex function of its height, and its lift a concave one: one variable
//! is left, and any form that handles a disc handles the whole part.

use super::shape::{MovingPart, bowl_angle};
use dryturn_geom::angle;
use std::f64::consts::{FRAC_PI_2, PI};

/// Where a bowl begins, radians: at 0 its height does not change with the angle, and a search led by slopes would stay
/// there. It leaves out less than a rounding error.
const LOWEST: f64 = 1e-9;

/// Discs numbered by a parameter s. Heights over the tip, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Discs {
    /// One disc.
    One { radius: f64, height: f64 },
    /// Radius and height run straight, s from 0 to 1.
    Line { radii: [f64; 2], heights: [f64; 2] },
    /// Radius and height run on a circle; s is the angle from straight down, radians.
    Arc { disc: f64, tube: f64, center: f64, angles: [f64; 2] },
}

/// One disc of a family and how it changes with s.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Disc {
    pub(crate) radius: f64,
    pub(crate) height: f64,
    pub(crate) radius_slope: f64,
    pub(crate) height_slope: f64,
}

impl Discs {
    /// Discs that make up the whole part, for those that are not cylinders.
    pub(crate) fn whole(part: &MovingPart) -> Option<Discs> {
        match *part {
            MovingPart::Cylinder { .. } => None,
            MovingPart::Frustum { from, from_radius, to, to_radius } => {
                Some(Discs::Line { radii: [from_radius, to_radius], heights: [from, to] })
            }
            MovingPart::Bowl { disc, tube, center, top } => {
                let end = bowl_angle(tube, center, top);
                Some(Discs::Arc { disc, tube, center, angles: [LOWEST, end] })
            }
        }
    }

    /// Discs enough to find the lowest point of the part at any distance from its axis.
    pub(crate) fn underside(part: &MovingPart) -> Discs {
        Self::side(part, 0)
    }

    /// Discs enough to find the highest point of the part at any distance from its axis.
    pub(crate) fn upper_side(part: &MovingPart) -> Discs {
        Self::side(part, 1)
    }

    fn side(part: &MovingPart, side: usize) -> Discs {
        match *part {
            MovingPart::Cylinder { radius, from, to, rounding } if rounding > 0.0 => Discs::Arc {
                disc: radius - rounding,
                tube: rounding,
                center: [from + rounding, to - rounding][side],
                angles: [[0.0, FRAC_PI_2], [FRAC_PI_2, PI]][side],
            },
            MovingPart::Cylinder { radius, from, to, .. } => Discs::One { radius, height: [from, to][side] },
            MovingPart::Frustum { from, from_radius, to, to_radius } => {
                Discs::Line { radii: [from_radius, to_radius], heights: [from, to] }
            }
            MovingPart::Bowl { disc, tube, center, top } => {
                Discs::Arc { disc, tube, center, angles: [0.0, bowl_angle(tube, center, top)] }
            }
        }
    }

    /// The range of s.
    pub(crate) fn range(&self) -> [f64; 2] {
        match *self {
            Discs::One { .. } => [0.0, 0.0],
            Discs::Line { .. } => [0.0, 1.0],
            Discs::Arc { angles, .. } => angles,
        }
    }

    pub(crate) fn at(&self, s: f64) -> Disc {
        match *self {
            Discs::One { radius, height } => Disc { radius, height, radius_slope: 0.0, height_slope: 0.0 },
            Discs::Line { radii, heights } => {
                let (radius_slope, height_slope) = (radii[1] - radii[0], heights[1] - heights[0]);
                Disc {
                    radius: radii[0] + radius_slope * s,
                    height: heights[0] + height_slope * s,
                    radius_slope,
                    height_slope,
                }
            }
            Discs::Arc { disc, tube, center, .. } => {
                let (sine, cosine) = angle::sin_cos(s);
                Disc {
                    radius: disc + tube * sine,
                    height: center - tube * cosine,
                    radius_slope: tube * cosine,
                    height_slope: tube * sine,
                }
            }
        }
    }
}
