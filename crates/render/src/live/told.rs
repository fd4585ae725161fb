//! What the shader of live pictures is told, byte for byte.

use bytemuck::{Pod, Zeroable};
use glam::{DMat4, DVec3, DVec4};

use super::{Look, Sight};
use crate::finish::{Finish, Wood, linear};

/// A body, and from where it is seen.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Live {
    pub(crate) to_clip: [[f32; 4]; 4],
    pub(crate) right: [f32; 3],
    pub(crate) tint: f32,
    pub(crate) upward: [f32; 3],
    pub(crate) grain: f32,
    pub(crate) back: [f32; 3],
    pub(crate) faded: f32,
    pub(crate) plane: [f32; 4],
    pub(crate) early: [f32; 3],
    pub(crate) ring: f32,
    pub(crate) late: [f32; 3],
    pub(crate) gloss: f32,
    pub(crate) ground: [f32; 3],
    pub(crate) opacity: f32,
    pub(crate) turn: [f32; 2],
    pub(crate) pith: [f32; 2],
}

impl Live {
    pub(super) fn of(sight: &Sight, look: &Look) -> Live {
        let [right, upward, back] = sight.axes.map(|axis| axis.map(|part| part as f32));
        let (early, late, ring, grain, gloss) = match look.finish {
            Finish::Wood(wood) => {
                // Rings that are finer than a few pixels would only flicker.
                (linear(wood.early), linear(wood.late), wood.ring.max(2.0), 1.0, 0.12)
            }
            Finish::Plain { color, roughness, metallic } => {
                let color = linear(color);
                (color, color, 1.0, 0.0, 0.1 + 0.5 * metallic * (1.0 - roughness))
            }
        };
        let grain = if look.is_plain { 0.0 } else { grain };
        let mean = std::array::from_fn(|part| 0.62 * early[part] + 0.38 * late[part]);
        Live {
            to_clip: to_clip(sight).as_mat4().to_cols_array_2d(),
            right,
            tint: look.tint,
            upward,
            grain,
            back,
            faded: look.faded,
            plane: plane(sight),
            early: if grain > 0.0 { early } else { mean },
            ring,
            late,
            gloss,
            ground: linear(sight.ground),
            opacity: look.opacity,
            turn: [look.turn.cos() as f32, look.turn.sin() as f32],
            pith: Wood::PITH,
        }
    }
}

fn plane(sight: &Sight) -> [f32; 4] {
    let (normal, reach) = sight.plane.unwrap_or(([0.0; 3], 1.0));
    DVec3::from_array(normal).extend(reach).as_vec4().to_array()
}

/// From the room to the picture: x to the right and y up, −1 … 1, depth 0 (toward the eye) … 1.
fn to_clip(sight: &Sight) -> DMat4 {
    let [right, up, back] = sight.axes.map(DVec3::from_array);
    let half_height = sight.half_width * f64::from(sight.height) / f64::from(sight.width);
    let rows = [right / sight.half_width, up / half_height, -back / (2.0 * sight.reach)];
    let middle = DVec3::from_array(sight.middle);
    let row = |row: DVec3, add: f64| DVec4::new(row.x, row.y, row.z, add - row.dot(middle));
    DMat4::from_cols(row(rows[0], 0.0), row(rows[1], 0.0), row(rows[2], 0.5), DVec4::W).transpose()
}
