//! Several bodies with their colours, for the formats that can tell them apart.

use crate::mesh::Mesh;

/// How a surface looks.
#[derive(Clone, Debug, PartialEq)]
pub struct Paint {
    /// What it is called: a wood, a metal, a cutter.
    pub name: String,
    /// Its colour, sRGB.
    pub color: [u8; 3],
    /// 0 as a mirror, 1 quite dull.
    pub roughness: f64,
    /// 0 for what is no metal, 1 for a metal.
    pub metallic: f64,
}

/// A body in a file.
pub struct Body<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Its surface, in the piece frame.
    pub mesh: &'a Mesh,
    /// The paint of a triangle by its owner, as an index into the model's.
    pub paint_of: &'a dyn Fn(u32) -> usize,
}

/// All that goes into a file.
pub struct Model<'a> {
    /// What it is called.
    pub title: &'a str,
    /// The paints.
    pub paints: &'a [Paint],
    /// The bodies.
    pub bodies: &'a [Body<'a>],
}

impl Body<'_> {
    /// How many triangles have each paint.
    pub(super) fn painted(&self, paints: usize) -> Vec<usize> {
        let mut counts = vec![0; paints];
        self.mesh.owners.iter().for_each(|owner| counts[(self.paint_of)(*owner)] += 1);
        counts
    }
}
