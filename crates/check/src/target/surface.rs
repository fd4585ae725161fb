//! The surface of the target: how far a point is from it, and what of a ray lies inside.

use dryturn_geom::angle;
use dryturn_scene::{Inside, MeshSurface, Near, Point, TargetShape, holds};

use super::outline::Outline;

/// The point of a ray: station (mm), angle θ (radians), radius (mm).
pub fn point_at(station: f64, theta: f64, radius: f64) -> Point {
    let (sine, cosine) = angle::sin_cos(theta);
    [station, -radius * sine, radius * cosine]
}

/// The surface of a target.
pub enum Surface {
    /// Of a turned shape.
    Outline(Outline),
    /// Of a mesh.
    Mesh(Box<MeshSurface>),
}

impl Surface {
    /// The surface of a shape. Of a mesh it takes memory and time in proportion to its triangles.
    pub fn new(shape: &TargetShape) -> Surface {
        match shape {
            TargetShape::Profile(rows) => Surface::Outline(Outline::new(rows)),
            TargetShape::Mesh(mesh) => Surface::Mesh(Box::new(MeshSurface::new(mesh))),
        }
    }

    /// The greatest distance that the surface meant may be off the facets, mm; 0 where there are none.
    pub fn greatest_chord(&self) -> f64 {
        match self {
            Surface::Outline(_) => 0.0,
            Surface::Mesh(mesh) => mesh.greatest_chord(),
        }
    }

    /// The nearest point of the surface. `bound` is a distance within which there is one, if it is known: the search is
    /// the shorter for it. Infinity is always right.
    pub fn nearest(&self, point: Point, bound: f64) -> Near {
        match self {
            Surface::Outline(outline) => outline.nearest(point),
            Surface::Mesh(mesh) => mesh.nearest(point, bound),
        }
    }

    /// What of the ray at a station (mm) and an angle θ (radians) lies inside.
    pub fn inside(&self, station: f64, theta: f64) -> Inside {
        match self {
            Surface::Outline(outline) => outline.inside(station),
            Surface::Mesh(mesh) => mesh.inside(station, angle::sin_cos(theta)),
        }
    }

    /// The same for every ray of a row, given the sines and cosines of the columns' angles, which go evenly round.
    pub fn row(&self, station: f64, directions: &[(f64, f64)]) -> Vec<Inside> {
        match self {
            Surface::Outline(outline) => vec![outline.inside(station); directions.len()],
            Surface::Mesh(mesh) => mesh.row(station, directions),
        }
    }

    /// The signed distance of a point of a ray: above 0 outside the target, below 0 inside.
    pub fn gap(&self, station: f64, theta: f64, radius: f64) -> f64 {
        let distance = self.nearest(point_at(station, theta, radius), f64::INFINITY).distance;
        if holds(&self.inside(station, theta), radius) { -distance } else { distance }
    }
}
