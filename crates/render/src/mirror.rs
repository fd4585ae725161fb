//! What the shaders are told, byte for byte as they read it. A test holds every structure here against the shaders' own.

use bytemuck::{Pod, Zeroable};

/// Lights that light a pixel in one pass; the shaders' `LIGHTS`.
pub(crate) const LIGHTS: usize = 20;
/// Sets of so many lights, between which the pixels of a pass alternate; the shaders' `SETS`.
pub(crate) const SETS: usize = 4;

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
    /// In the room, from the middle of a texel of its map to that on the right.
    pub(crate) texel_right: [f32; 3],
    /// How much of the map's depth a millimetre is.
    pub(crate) deep: f32,
    /// As `texel_right`, to the next below.
    pub(crate) texel_down: [f32; 3],
    /// How far from it the part of the sky reaches that it stands for, as a tangent.
    pub(crate) spread: f32,
}

/// What all bodies share in a pass.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Frame {
    /// From the room to the picture, or the part of it that is drawn.
    pub(crate) to_clip: [[f32; 4]; 4],
    /// The way back.
    pub(crate) from_clip: [[f32; 4]; 4],
    pub(crate) eye: [f32; 3],
    /// Width of a pixel at a distance of 1.
    pub(crate) pixel: f32,
    /// The section: what has `dot(xyz, p) > w` is cut away.
    pub(crate) plane: [f32; 4],
    pub(crate) up: [f32; 3],
    /// How high the ground is.
    pub(crate) ground: f32,
    /// The middle of the ground that is drawn.
    pub(crate) middle: [f32; 3],
    pub(crate) unused: f32,
    /// From the middle to the sides of the ground that is drawn.
    pub(crate) across: [f32; 3],
    /// 1 if the ground is left transparent.
    pub(crate) is_clear: u32,
    pub(crate) along: [f32; 3],
    /// One over the passes in which the ground was baked.
    pub(crate) baked_share: f32,
    /// The share of the ground's half, across and along, in which shadows end.
    pub(crate) rim: [f32; 2],
    /// The passes of the picture.
    pub(crate) passes: f32,
    /// The number of this one.
    pub(crate) number: u32,
    /// The sets, one after the other.
    pub(crate) lights: [Light; LIGHTS * SETS],
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
    pub(crate) fleck: [f32; 3],
    pub(crate) gradual: f32,
    /// Cosine and sine of how far it is turned.
    pub(crate) turn: [f32; 2],
    pub(crate) ring_porous: f32,
    pub(crate) pore_width: f32,
    pub(crate) pore_length: f32,
    pub(crate) pores: f32,
    pub(crate) ray_width: f32,
    pub(crate) ray_height: f32,
    pub(crate) rays: f32,
    pub(crate) streaks: f32,
    pub(crate) clouds: f32,
    pub(crate) figure: f32,
    /// The pith, mm off the axis at station 0.
    pub(crate) pith: [f32; 2],
    pub(crate) unused: [f32; 2],
}

/// How sums become a picture.
#[derive(Clone, Copy, Debug, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Last {
    /// Linear colour of plain ground.
    pub(crate) ground: [f32; 3],
    /// 0 transparent, 1 plain, 2 studio.
    pub(crate) kind: u32,
    /// Pixels across and down, of the whole picture.
    pub(crate) size: [f32; 2],
    /// Where in it the part that is drawn begins.
    pub(crate) start: [f32; 2],
    /// One over the number of passes.
    pub(crate) share: f32,
    pub(crate) unused: f32,
    pub(crate) more: [f32; 2],
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lights::{ACROSS, DOWN, MAP};
    use crate::live::Told as Live;
    use std::collections::BTreeMap;
    use std::mem::offset_of;

    /// Size and offsets by the names of fields.
    type Layout = (usize, BTreeMap<String, usize>);

    macro_rules! layout {
        ($name:ident: $($field:ident),+) => {{
            // Names every field, or does not compile.
            let $name { $($field: _),+ } = bytemuck::Zeroable::zeroed();
            let fields = [$((stringify!($field).to_owned(), offset_of!($name, $field))),+];
            (stringify!($name), (size_of::<$name>(), BTreeMap::from(fields)))
        }};
    }

    fn mirrors() -> BTreeMap<&'static str, Layout> {
        BTreeMap::from([
            layout!(Light: to_map, toward, bias, power, breadth, texel_right, deep, texel_down, spread),
            layout!(
                Frame: to_clip, from_clip, eye, pixel, plane, up, ground, middle, unused, across, is_clear, along, baked_share, rim,
                passes, number, lights
            ),
            layout!(
                Body: early, roughness, late, metallic, pore, ring, ray, late_share, fleck, gradual, turn, ring_porous,
                pore_width, pore_length, pores, ray_width, ray_height, rays, streaks, clouds, figure, pith, unused
            ),
            layout!(
                Live: to_clip, right, tint, upward, grain, back, faded, plane, early, ring, late, gloss, ground, opacity, turn,
                pith
            ),
            layout!(Last: ground, kind, size, start, share, unused, more),
        ])
    }

    /// The structures of all shaders that a uniform buffer holds.
    fn told() -> BTreeMap<String, Layout> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shaders");
        let common = std::fs::read_to_string(format!("{folder}/common.wgsl")).unwrap();
        let mut told = BTreeMap::new();
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let own = std::fs::read_to_string(&path).unwrap();
            let source = if path.ends_with("common.wgsl") { own } else { format!("{common}{own}") };
            let module = naga::front::wgsl::parse_str(&source).unwrap();
            let uniforms = module.global_variables.iter().filter(|it| it.1.space == naga::AddressSpace::Uniform);
            for (_, variable) in uniforms {
                gather(&module, variable.ty, &mut told);
            }
        }
        told
    }

    fn gather(module: &naga::Module, ty: naga::Handle<naga::Type>, told: &mut BTreeMap<String, Layout>) {
        match &module.types[ty].inner {
            naga::TypeInner::Struct { members, span } => {
                let offset = |it: &naga::StructMember| (it.name.clone().unwrap(), it.offset as usize);
                let layout = (*span as usize, members.iter().map(offset).collect());
                told.insert(module.types[ty].name.clone().unwrap(), layout);
                members.iter().for_each(|it| gather(module, it.ty, told));
            }
            naga::TypeInner::Array { base, .. } => gather(module, *base, told),
            _ => {}
        }
    }

    #[test]
    fn every_structure_lies_as_the_shaders_read_it() {
        let (told, mirrors) = (told(), mirrors());
        assert_eq!(told.keys().map(String::as_str).collect::<Vec<_>>(), mirrors.keys().copied().collect::<Vec<_>>());
        for (name, layout) in &told {
            assert_eq!(layout, &mirrors[name.as_str()], "{name}");
        }
    }

    #[test]
    fn there_are_as_many_lights_as_the_shaders_count() {
        let common = include_str!("../../../shaders/common.wgsl");
        assert!(common.contains(&format!("const LIGHTS: u32 = {LIGHTS}u;\nconst SETS: u32 = {SETS}u;")));
        assert!(common.contains(&format!("const MAP: f32 = {MAP}.0;")));
        assert!(common.contains(&format!("const ACROSS: u32 = {ACROSS}u;\nconst DOWN: u32 = {DOWN}u;")));
        assert!(LIGHTS * SETS <= (ACROSS * DOWN) as usize);
    }
}
