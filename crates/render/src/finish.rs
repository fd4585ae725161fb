//! What bodies look like: woods by species, plastics and metals plain.
//!
//! Colours and structures are from memory of planed, oiled wood by daylight; no measured source. Pieces of one tree
//! differ by as much as neighbouring rows here.

mod species;

use crate::mirror;

/// What a body looks like.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Finish {
    /// Wood with its grain along the axis, under a thin satin finish.
    Wood(Wood),
    /// One colour.
    Plain {
        /// sRGB; of a metal the colour that it mirrors.
        color: [u8; 3],
        /// How broad its highlights are, 0 … 1.
        roughness: f32,
        /// 1 for metal, 0 for all else.
        metallic: f32,
    },
}

/// How a wood is built. Lengths are in mm; colours sRGB; strengths 0 … 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wood {
    /// What grows in spring.
    pub early: [u8; 3],
    /// What grows in summer, at the end of a ring.
    pub late: [u8; 3],
    /// From ring to ring.
    pub ring: f32,
    /// Share of a ring that is latewood.
    pub late_share: f32,
    /// How gradually the one becomes the other, as a share of the ring.
    pub gradual: f32,
    /// The vessels that are cut open.
    pub pore: [u8; 3],
    /// Their width.
    pub pore_width: f32,
    /// How long the trace of one is along the grain.
    pub pore_length: f32,
    /// Share of the places in which there is one.
    pub pores: f32,
    /// How far they keep to the earlywood: 0 diffuse-porous, 1 ring-porous.
    pub ring_porous: f32,
    /// The rays, sheets that run from the pith outward, where they are seen on edge, from the bark.
    pub ray: [u8; 3],
    /// The same from their side, and where they are cut across.
    pub fleck: [u8; 3],
    /// Their thickness.
    pub ray_width: f32,
    /// Their height along the grain.
    pub ray_height: f32,
    /// Share of the places in which there is one.
    pub rays: f32,
    /// How much fibres differ from their neighbours.
    pub streaks: f32,
    /// How much whole regions differ.
    pub clouds: f32,
    /// How far the fibres wave, seen as a shimmer.
    pub figure: f32,
    /// How broad the highlights of the finish are.
    pub roughness: f32,
}

impl Wood {
    /// Where the pith is, mm off the axis at station 0, y and z: the blank comes from beside the heart.
    pub const PITH: [f32; 2] = [-38.0, 57.0];

    fn mirror(&self) -> mirror::Body {
        mirror::Body {
            early: linear(self.early),
            roughness: self.roughness,
            late: linear(self.late),
            metallic: 0.0,
            pore: linear(self.pore),
            ring: self.ring,
            ray: linear(self.ray),
            late_share: self.late_share,
            fleck: linear(self.fleck),
            gradual: self.gradual,
            turn: [1.0, 0.0],
            ring_porous: self.ring_porous,
            pore_width: self.pore_width,
            pore_length: self.pore_length,
            pores: self.pores,
            ray_width: self.ray_width,
            ray_height: self.ray_height,
            rays: self.rays,
            streaks: self.streaks,
            clouds: self.clouds,
            figure: self.figure,
            pith: Wood::PITH,
            unused: [0.0; 2],
        }
    }
}

impl Finish {
    /// Machined steel.
    pub const STEEL: Finish = metal([186, 188, 190], 0.36);
    /// Cast iron, painted grey.
    pub const CAST_IRON: Finish = plain([96, 104, 108], 0.55);

    /// The look of a material by its name; case and order of words are free. A wood that is not known looks like beech,
    /// everything else that is not known is light grey.
    pub fn of(name: &str, is_wood: bool) -> Finish {
        let words = words(name);
        let has = |key: &str| key.split(' ').all(|part| words.iter().any(|word| word == part));
        if is_wood {
            let known = species::SPECIES.iter().find(|(keys, _)| keys.iter().any(|key| has(key)));
            return Finish::Wood(known.map_or(species::BEECH, |(_, wood)| *wood));
        }
        let known = PLAIN.iter().find(|(keys, _)| keys.iter().any(|key| has(key)));
        known.map_or(plain([204, 204, 200], 0.5), |(_, finish)| *finish)
    }

    /// What the shaders are told of a body of this finish, turned by so many radians.
    pub(crate) fn mirror(&self, turn: f64) -> mirror::Body {
        let turn = [turn.cos() as f32, turn.sin() as f32];
        match self {
            Finish::Plain { color, roughness, metallic } => mirror::Body {
                early: linear(*color),
                roughness: *roughness,
                metallic: *metallic,
                turn,
                ..bytemuck::Zeroable::zeroed()
            },
            Finish::Wood(wood) => mirror::Body { turn, ..wood.mirror() },
        }
    }
}

/// The linear colour of an sRGB one.
pub(crate) fn linear(color: [u8; 3]) -> [f32; 3] {
    color.map(|it| {
        let share = f64::from(it) / 255.0;
        let linear = if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) };
        linear as f32
    })
}

const fn plain(color: [u8; 3], roughness: f32) -> Finish {
    Finish::Plain { color, roughness, metallic: 0.0 }
}

const fn metal(color: [u8; 3], roughness: f32) -> Finish {
    Finish::Plain { color, roughness, metallic: 1.0 }
}

/// What is not wood, by a word of its name.
const PLAIN: [(&[&str], Finish); 9] = [
    (&["uhmw", "uhmwpe", "hdpe", "polyethylene"], plain([232, 233, 230], 0.5)),
    (&["acetal", "pom"], plain([238, 237, 231], 0.34)),
    (&["acrylic", "pmma"], plain([214, 224, 228], 0.2)),
    (&["pvc"], plain([164, 168, 172], 0.4)),
    (&["polyurethane", "tooling", "foam"], plain([198, 164, 112], 0.75)),
    (&["aluminium", "aluminum", "6061"], metal([226, 227, 229], 0.36)),
    (&["brass", "c360", "c36000"], metal([226, 192, 116], 0.3)),
    (&["iron"], Finish::CAST_IRON),
    (&["steel"], Finish::STEEL),
];

fn words(name: &str) -> Vec<String> {
    name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_whatever_their_order() {
        assert_eq!(Finish::of("Maple, hard", true), Finish::of("hard maple", true));
        assert_ne!(Finish::of("northern red oak", true), Finish::of("white oak", true));
        assert_ne!(Finish::of("western redcedar", true), Finish::of("eastern redcedar", true));
        assert_eq!(Finish::of("snakewood", true), Finish::Wood(species::BEECH));
        assert!(matches!(Finish::of("Brass C360", false), Finish::Plain { metallic: 1.0, .. }));
    }

    #[test]
    fn every_wood_is_a_wood() {
        for (keys, wood) in &species::SPECIES {
            let shares = [wood.late_share, wood.gradual, wood.pores, wood.ring_porous, wood.rays, wood.streaks];
            let more = [wood.clouds, wood.figure, wood.roughness];
            assert!(shares.iter().chain(&more).all(|it| (0.0..=1.0).contains(it)), "{keys:?}");
            let lengths = [wood.ring, wood.pore_width, wood.pore_length, wood.ray_width, wood.ray_height];
            assert!(lengths.iter().all(|it| *it > 0.0), "{keys:?}");
            let light = |color: [u8; 3]| color.iter().map(|it| u32::from(*it)).sum::<u32>();
            assert!(light(wood.late) < light(wood.early), "{keys:?}: latewood is the darker");
            // Rays stand out by a little: those of another wood would lie on this one as dashes.
            let off = |color: [u8; 3]| color.iter().zip(wood.early).map(|(a, b)| a.abs_diff(b)).max().unwrap_or(0);
            assert!(off(wood.fleck) <= 50 && off(wood.ray) <= 80, "{keys:?}: {:?} {:?}", wood.fleck, wood.ray);
        }
    }
}
