//! What the shaders are told, byte for byte as they read it. A test holds every structure here against the shaders' own.

use bytemuck::{Pod, Zeroable};

/// Lights of one pass; the shaders' `LIGHTS`.
pub(crate) const LIGHTS: usize = 16;

/// A far light.
#[derive(Clone, Copy, Debug, Default, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Light {
    /// From the room to its map of shadows: x and y −1 … 1, depth 0 … 1.
    pub(crate) to_map: [[f32; 4]; 4],
    /// Unit vector to it.
    pub(crate) toward: [f32; 3],
    /// By how much of the map's depth a surface must be nearer to throw a shadow.
    pub(crate) bias: f32,
    /// What a surface that faces it receives.
    pub(crate) power: [f32; 3],
    /// How broad its highlight is at the least, as a roughness.
    pub(crate) breadth: f32,
}

/// What all bodies share in a pass.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Frame {
    /// From the room to the picture.
    pub(crate) to_clip: [[f32; 4]; 4],
    pub(crate) eye: [f32; 3],
    /// Width of a pixel at a distance of 1.
    pub(crate) pixel: f32,
    /// The section: what has `dot(xyz, p) > w` is cut away.
    pub(crate) plane: [f32; 4],
    pub(crate) up: [f32; 3],
    /// How high the ground is.
    pub(crate) ground: f32,
    /// The middle of the ground that is drawn, and its radius.
    pub(crate) middle: [f32; 3],
    pub(crate) radius: f32,
    /// Along the ground, away from and across the eye.
    pub(crate) along: [f32; 3],
    pub(crate) unused: f32,
    pub(crate) across: [f32; 3],
    /// What level ground without any shadow receives.
    pub(crate) open: f32,
    pub(crate) lights: [Light; LIGHTS],
}

/// What a body is made of.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Body {
    /// Colours are linear. Its own, or that of earlywood.
    pub(crate) early: [f32; 3],
    pub(crate) roughness: f32,
    pub(crate) late: [f32; 3],
    pub(crate) metallic: f32,
    pub(crate) pore: [f32; 3],
    pub(crate) ring: f32,
    pub(crate) ray: [f32; 3],
    pub(crate) late_share: f32,
    /// Cosine and sine of how far it is turned.
    pub(crate) turn: [f32; 2],
    pub(crate) gradual: f32,
    pub(crate) ring_porous: f32,
    pub(crate) pore_width: f32,
    pub(crate) pore_length: f32,
    pub(crate) pores: f32,
    pub(crate) ray_width: f32,
    pub(crate) ray_height: f32,
    pub(crate) rays: f32,
    pub(crate) streaks: f32,
    pub(crate) clouds: f32,
    /// The pith, mm off the axis at station 0.
    pub(crate) pith: [f32; 2],
    pub(crate) figure: f32,
    /// 1 for wood.
    pub(crate) is_wood: u32,
}

/// How sums become a picture.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Last {
    /// Linear colour of plain ground.
    pub(crate) ground: [f32; 3],
    /// 0 transparent, 1 plain, 2 studio.
    pub(crate) kind: u32,
    /// Pixels across and down.
    pub(crate) size: [f32; 2],
    /// One over the number of passes.
    pub(crate) share: f32,
    pub(crate) unused: f32,
}
