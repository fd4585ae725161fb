//! What a run did on its way: how much each block took and how, and which sections of wood were left meanwhile.

/// What is left of the blank at one station at one moment, as integrals over its section in the blank frame: a point at
/// the radius r of the ray θ lies at y = −r sin θ, z = r cos θ, and the rotary axis at 0, 0.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Section {
    /// Area, mm².
    pub area: f64,
    /// First moments ∫ y dA and ∫ z dA, mm³.
    pub first: [f64; 2],
    /// Second moments ∫ y² dA, ∫ z² dA and ∫ y z dA about the rotary axis, mm⁴.
    pub second: [f64; 3],
    /// Distance of its outermost wood from the rotary axis, mm.
    pub reach: f64,
}

/// What the cutter took on one stretch of a block's way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// The block.
    pub block: u32,
    /// The stretch, as shares of the block's way.
    pub share: (f64, f64),
    /// Wood taken, mm³.
    pub volume_mm3: f64,
    /// Greatest length by which the outer end of any ray came down, mm.
    pub depth_mm: f64,
    /// Of the wood taken, what lay to the left of the cutter's way over the wood, seen from above and looking along it, mm³.
    pub left_mm3: f64,
}
