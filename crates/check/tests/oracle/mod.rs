//! The same bodies for a general-purpose collision library (parry3d-f64, its GJK search), and random ones.
//!
//! Nothing here is shared with the crate but its plain input types: the moving parts are given by their
//! outlines, the fixed bodies are the library's own cylinders, cones and boxes, turned into place.

#![allow(dead_code, unreachable_pub)]

pub mod jobs;

use dryturn_check::contact::{FixedShape, MovingPart};
use dryturn_geom::Pose;
use parry3d_f64::math::{Pose3, Vec3};
use parry3d_f64::query::details::distance_support_map_support_map;
use parry3d_f64::shape::{Cone, Cuboid, Cylinder, SupportMap};
use std::f64::consts::{FRAC_PI_2, PI};

/// A body of revolution about the spindle axis by its outline, and a ball around every point of it.
struct Turned {
    outline: Outline,
    ball: f64,
}

enum Outline {
    /// Level rings (radius, height).
    Rings([(f64, f64); 2]),
    /// Rings on a circle of the radius `tube` about (disc, center), from straight down to the angle `end`.
    Bowl { disc: f64, tube: f64, center: f64, end: f64 },
}

impl SupportMap for Turned {
    fn local_support_point(&self, dir: Vec3) -> Vec3 {
        let level = dir.x.hypot(dir.y);
        let out = if level > 0.0 { Vec3::new(dir.x / level, dir.y / level, 0.0) } else { Vec3::X };
        let (radius, height) = match self.outline {
            Outline::Rings([a, b]) => {
                let along = |(radius, height): (f64, f64)| radius * level + height * dir.z;
                if along(a) >= along(b) { a } else { b }
            }
            Outline::Bowl { disc, tube, center, end } => {
                let angle = level.atan2(-dir.z).min(end);
                (disc + tube * angle.sin(), center - tube * angle.cos())
            }
        };
        out * radius + Vec3::Z * height
    }
}

fn turned(part: &MovingPart) -> Turned {
    match *part {
        MovingPart::Cylinder { radius, from, to, rounding } => {
            let core = radius - rounding;
            Turned { outline: Outline::Rings([(core, from + rounding), (core, to - rounding)]), ball: rounding }
        }
        MovingPart::Frustum { from, from_radius, to, to_radius } => {
            Turned { outline: Outline::Rings([(from_radius, from), (to_radius, to)]), ball: 0.0 }
        }
        MovingPart::Bowl { disc, tube, center, top } => {
            let end = ((center - top) / tube).acos();
            Turned { outline: Outline::Bowl { disc, tube, center, end }, ball: 0.0 }
        }
    }
}

/// Least distance of a part from a body, the tip and the blank standing at `pose`, mm; 0 where they meet.
pub fn distance(part: &MovingPart, shape: &FixedShape, pose: &Pose) -> f64 {
    let part = turned(part);
    let tip = Vec3::new(pose.x, pose.y, pose.z);
    let place = |center: Vec3, axis_angle: Vec3| Pose3::new(center - tip, axis_angle);
    let far = match *shape {
        FixedShape::CylinderX { from, to, radius } => along_x(&part, &place, [from, to], [0.0, 0.0], radius),
        FixedShape::Screw { from, to, radius, offset, angle } => {
            let phi = angle - pose.turn;
            along_x(&part, &place, [from, to], [-offset * phi.sin(), offset * phi.cos()], radius)
        }
        FixedShape::ConeX { apex, half_angle, radius } => {
            let half = 0.5 * radius / half_angle.tan();
            // The library's cone stands on its base with the point up +y: turn that to −x.
            let center = Vec3::new(apex + half, 0.0, 0.0);
            distance_support_map_support_map(&place(center, Vec3::Z * FRAC_PI_2), &part, &Cone::new(half, radius))
        }
        FixedShape::Box { x, y, z } => {
            let center = Vec3::new(x[0] + x[1], y[0] + y[1], z[0] + z[1]) * 0.5;
            let half = Vec3::new(x[1] - x[0], y[1] - y[0], z[1] - z[0]) * 0.5;
            distance_support_map_support_map(&place(center, Vec3::ZERO), &part, &Cuboid::new(half))
        }
        FixedShape::Jaw { x, inner, outer, width, angle } => {
            let phi = angle - pose.turn;
            let middle = 0.5 * (inner + outer);
            let center = Vec3::new(0.5 * (x[0] + x[1]), -middle * phi.sin(), middle * phi.cos());
            let half = Vec3::new(x[1] - x[0], width, outer - inner) * 0.5;
            distance_support_map_support_map(&place(center, Vec3::X * phi), &part, &Cuboid::new(half))
        }
        FixedShape::Below { height } => {
            let half = Vec3::new(1e3, 1e3, 1e2);
            let center = Vec3::new(tip.x, tip.y, height - half.z);
            distance_support_map_support_map(&place(center, Vec3::ZERO), &part, &Cuboid::new(half))
        }
    };
    (far - part.ball).max(0.0)
}

fn along_x(part: &Turned, place: &dyn Fn(Vec3, Vec3) -> Pose3, x: [f64; 2], axis: [f64; 2], radius: f64) -> f64 {
    let center = Vec3::new(0.5 * (x[0] + x[1]), axis[0], axis[1]);
    // The library's cylinder stands along y.
    let turned = place(center, Vec3::Z * -FRAC_PI_2);
    distance_support_map_support_map(&turned, part, &Cylinder::new(0.5 * (x[1] - x[0]), radius))
}

/// Numbers that look random and are the same on every run (SplitMix64, Steele, Lea and Flood 2014).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between the two, evenly.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    /// Often one of a few round values, so that faces and axes come to lie on each other.
    pub fn round(&mut self, low: f64, high: f64) -> f64 {
        let value = self.between(low, high);
        if self.below(2) == 0 { value.round() } else { value }
    }

    pub fn part(&mut self) -> MovingPart {
        let radius = self.round(1.0, 20.0);
        let from = self.round(0.0, 20.0);
        match self.below(6) {
            0 | 1 => MovingPart::cylinder(radius, from, from + self.round(1.0, 40.0)),
            2 => MovingPart::Cylinder { radius, from, to: from + 2.0 * radius, rounding: radius },
            3 => {
                let rounding = radius * self.between(0.1, 0.9);
                MovingPart::Cylinder { radius, from, to: from + 2.0 * radius + self.between(0.0, 9.0), rounding }
            }
            4 => {
                let to = from + self.round(1.0, 15.0);
                let narrow = if self.below(2) == 0 { 0.0 } else { radius * self.between(0.0, 0.9) };
                if self.below(3) == 0 {
                    MovingPart::Frustum { from, from_radius: radius, to, to_radius: narrow }
                } else {
                    MovingPart::Frustum { from, from_radius: narrow, to, to_radius: radius }
                }
            }
            _ => {
                let disc = if self.below(2) == 0 { 0.0 } else { self.between(0.5, 9.0) };
                let center = from + radius;
                MovingPart::Bowl { disc, tube: radius, center, top: center - radius * self.between(0.0, 0.9) }
            }
        }
    }

    pub fn shape(&mut self, kind: usize) -> FixedShape {
        let from = self.round(-40.0, 20.0);
        let to = from + self.round(1.0, 40.0);
        let angle = if self.below(2) == 0 { FRAC_PI_2 * self.below(4) as f64 } else { self.between(-PI, PI) };
        match kind {
            0 => FixedShape::CylinderX { from, to, radius: self.round(2.0, 50.0) },
            1 => {
                let (radius, offset) = (self.between(1.0, 5.0), self.round(0.0, 30.0));
                FixedShape::Screw { from, to, radius, offset, angle }
            }
            2 => FixedShape::ConeX { apex: from, half_angle: self.between(0.2, 0.9), radius: self.round(3.0, 15.0) },
            3 => {
                let (y, z) = (self.round(-30.0, 20.0), self.round(-70.0, 10.0));
                let sizes = [self.round(1.0, 40.0), self.round(1.0, 60.0)];
                FixedShape::Box { x: [from, to], y: [y, y + sizes[0]], z: [z, z + sizes[1]] }
            }
            4 => {
                let inner = self.round(5.0, 30.0);
                let (outer, width) = (inner + self.round(2.0, 20.0), self.round(2.0, 20.0));
                FixedShape::Jaw { x: [from, to], inner, outer, width, angle }
            }
            _ => FixedShape::Below { height: self.round(-80.0, -20.0) },
        }
    }

    pub fn pose(&mut self, spread: f64) -> Pose {
        let turn = if self.below(2) == 0 { 0.0 } else { self.between(-7.0, 7.0) };
        Pose { x: self.round(-spread, spread), y: self.round(-spread, spread), z: self.round(-spread, spread), turn }
    }
}
