//! What holds the blank, as meshes.

use dryturn_check::contact::{FixedBody, FixedShape};
use dryturn_geom::angle;
use dryturn_scene::Scene;
use dryturn_surface::Mesh;

use crate::piece::in_piece_frame;

/// A body of the holding.
pub(crate) struct Held {
    /// What it is: `chuck`, `jaw 2`.
    pub(crate) name: String,
    /// What it is made of, as such parts mostly are.
    pub(crate) material: &'static str,
    /// Whether it turns with the blank.
    #[cfg_attr(not(feature = "render"), expect(dead_code, reason = "only pictures ask for it"))]
    pub(crate) turns: bool,
    /// Closed, in the piece frame while θ on top is 0.
    pub(crate) mesh: Mesh,
}

/// What holds the blank of a scene, as far as it is described; the chords of what is round lie within `within` mm.
pub(crate) fn holding(scene: &Scene, within: f64) -> Vec<Held> {
    let bodies = dryturn_check::holding(scene);
    let held = |body: &FixedBody| {
        let (word, material, turns) = kind(&body.row);
        Some(Held {
            name: if body.which == 0 { word.to_owned() } else { format!("{word} {}", body.which) },
            material,
            turns,
            mesh: in_piece_frame(mesh(&body.shape, within)?, scene.machine.chuck_on),
        })
    };
    bodies.iter().filter_map(held).collect()
}

/// What a body of a row is called by itself, what it is mostly made of, and whether it turns.
fn kind(row: &str) -> (&str, &'static str, bool) {
    match row {
        "jaws" => ("jaw", "steel", true),
        "faceplate" => (row, "cast iron", true),
        "tailstock" => (row, "cast iron", false),
        "quill" => (row, "steel", false),
        _ => (row, "steel", true),
    }
}

/// A body as it stands in the blank frame; `None` for one without an end.
fn mesh(shape: &FixedShape, within: f64) -> Option<Mesh> {
    Some(match *shape {
        FixedShape::CylinderX { from, to, radius } => cylinder(from, to, radius, within),
        FixedShape::Screw { from, to, radius, offset, angle } => {
            let [y, z] = ray(angle);
            cylinder(from, to, radius, within).moved([0.0, offset * y, offset * z])
        }
        FixedShape::ConeX { apex, half_angle, radius } => {
            Mesh::turned(&[[apex, 0.0], [apex + radius / angle::tan(half_angle), radius]], within)
        }
        FixedShape::Box { x, y, z } => {
            let [along, across, up] = [x, y, z].map(|[from, to]| to - from);
            Mesh::block([x[0], y[0], z[0]], [[along, 0.0, 0.0], [0.0, across, 0.0], [0.0, 0.0, up]])
        }
        FixedShape::Jaw { x, inner, outer, width, angle } => {
            let [y, z] = ray(angle);
            // With the way along the axis and the ray a right-handed frame: where y grows at θ = 0.
            let across = [z, -y];
            let corner = [inner * y - 0.5 * width * across[0], inner * z - 0.5 * width * across[1]];
            let (wide, high) = (across.map(|part| width * part), [y, z].map(|part| (outer - inner) * part));
            Mesh::block(
                [x[0], corner[0], corner[1]],
                [[x[1] - x[0], 0.0, 0.0], [0.0, wide[0], wide[1]], [0.0, high[0], high[1]]],
            )
        }
        FixedShape::Below { .. } => return None,
    })
}

fn cylinder(from: f64, to: f64, radius: f64, within: f64) -> Mesh {
    Mesh::turned(&[[from, radius], [to, radius]], within)
}

/// The direction (y, z) of a ray.
fn ray(theta: f64) -> [f64; 2] {
    let (sine, cosine) = angle::sin_cos(theta);
    [-sine, cosine]
}
