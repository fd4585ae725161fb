//! Integrals over the section of the wood in whole units, so that sums depend on no order and no tiles.
//!
//! A stretch a … b of the ray θ stands for the sector of its cell, Δ wide. With g₂ = b² − a², g₃ = b³ − a³, g₄ = b⁴ − a⁴ and
//! y = −r sin θ, z = r cos θ, integrals over the sector are
//!
//! ```text
//! ∫ dA = g₂ Δ/2      ∫ y dA = −g₃ sin θ · 2 sin(Δ/2)/3      ∫ z dA = g₃ cos θ · 2 sin(Δ/2)/3
//! ∫ r² dA = g₄ Δ/4   ∫ (z² − y²) dA = g₄ cos 2θ · sin Δ/4   ∫ 2 y z dA = −g₄ sin 2θ · sin Δ/4
//! ```
//!
//! As a piece of a wall it is t = b − a thick, with its middle at m = ½(a + b) and mΔ long, so that ∫ t³ ds is w Δ/2 with
//! w = (b − a)³ (a + b), ∫ ds/t is Δ m/t, and m² Δ/2 is the area inside its middle.
//!
//! What depends on the ray is summed, what is common to all comes last.

use dryturn_geom::angle;

use super::lanes::{LANES, Wood};

/// Sums over rays, in units of their [`Scale`]: g₂, g₃ sin θ, g₃ cos θ, g₄, g₄ cos 2θ, g₄ sin 2θ, w as g₄, m² as g₂, and m/t.
pub(crate) type Sums = [i64; SUMS];

/// The same, by lane: sums over several chunks of rays that are yet to be brought together.
pub(crate) type SumsByLane = [[i64; LANES]; SUMS];

const SUMS: usize = 9;
/// Place of m² among them.
const MIDDLE: usize = 7;

/// Walls thinner than this share of the greatest radius count as that thick in m/t, so that it has a bound.
const THIN: f64 = 1.0 / 1024.0;

/// One and a half times 2⁵²: added to a number of less than 2⁵¹ either side of zero, it is rounded to a whole one by the sum
/// itself, and the bits count as it does.
const WHOLE: f64 = 1.5 * (1u64 << 52) as f64;

/// Units of g₂, g₃, g₄ and m/t; powers of two, so that nothing is rounded by them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scale {
    units: [f64; 4],
    /// The least that counts as t, mm.
    thin: f64,
}

impl Scale {
    /// The finest with which neither a ray nor all `rays` of a row of this greatest radius, mm, come to too much.
    pub(crate) fn new(radius: f64, rays: usize) -> Scale {
        let room = 50.min(62 - whole_exponent(rays.max(1) as f64));
        let radius = 1.001 * radius.clamp(1e-3, 1e5);
        let each = whole_exponent(radius);
        let units = [2 * each, 3 * each, 4 * each, whole_exponent(THIN.recip())];
        Scale { units: units.map(|most| 2f64.powi(room - most)), thin: THIN * radius }
    }

    /// The integrals that sums over such cells come to.
    pub(crate) fn integrals(&self, sums: &Sums, cell: &Cell) -> Integrals {
        let of = |place: usize, power: usize| sums[place] as f64 / self.units[power];
        let polar = 0.25 * of(3, 2) * cell.angle;
        let difference = of(4, 2) * cell.quarter;
        Integrals {
            area: 0.5 * of(0, 0) * cell.angle,
            first: [-of(1, 1) * cell.third, of(2, 1) * cell.third],
            second: [0.5 * (polar - difference), 0.5 * (polar + difference), -0.5 * of(5, 2) * cell.quarter],
            walls: 0.5 * of(6, 2) * cell.angle,
            inside: 0.5 * of(MIDDLE, 0) * cell.angle,
            around: of(8, 3) * cell.angle,
        }
    }
}

/// What is common to all cells of a grid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cell {
    /// How wide they are, radians.
    angle: f64,
    /// 2 sin(Δ/2)/3 and sin Δ/4.
    third: f64,
    quarter: f64,
}

impl Cell {
    pub(crate) fn new(angle: f64) -> Cell {
        let sine = |angle: f64| angle::sin_cos(angle).0;
        Cell { angle, third: 2.0 * sine(0.5 * angle) / 3.0, quarter: 0.25 * sine(angle) }
    }
}

/// A whole number that the binary logarithm of a number does not reach.
fn whole_exponent(number: f64) -> i32 {
    ((number.to_bits() >> 52) & 0x7ff) as i32 - 1022
}

/// Area, first moments y and z, second moments yy, zz and yz, ∫ t³ ds, the area inside the middle of the walls and ∫ ds/t of a
/// section, in mm to the power they have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Integrals {
    pub(crate) area: f64,
    pub(crate) first: [f64; 2],
    pub(crate) second: [f64; 3],
    pub(crate) walls: f64,
    pub(crate) inside: f64,
    pub(crate) around: f64,
}

/// What neighbouring columns weigh: sine, cosine, cosine and sine of twice the angle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weights<'a> {
    pub(crate) scale: Scale,
    pub(crate) of: [&'a [f64; LANES]; 4],
}

/// Adds what the outermost solid of rays comes to, to the sums of their lanes.
#[inline(always)]
pub(super) fn integrate(weights: &Weights<'_>, wood: Wood<'_>, sums: &mut SumsByLane) {
    for lane in 0..LANES {
        let all = units(weights, lane, wood.inner[lane], wood.outer[lane]);
        for (sum, units) in sums.iter_mut().zip(all) {
            // The scale leaves room for all of a row. Sums that are not looked after are done many at a time.
            sum[lane] = sum[lane].wrapping_add(units);
        }
    }
}

/// What sums by lane come to.
pub(crate) fn brought_together(sums: &SumsByLane) -> Sums {
    sums.map(|lanes| lanes.into_iter().fold(0, i64::wrapping_add))
}

impl Weights<'_> {
    /// What a stretch of one ray comes to behind its outermost, of which alone the middle counts.
    pub(crate) fn stretch(&self, lane: usize, inner: f32, outer: f32) -> Sums {
        let mut sums = units(self, lane, inner, outer);
        sums[MIDDLE] = 0;
        sums
    }
}

#[inline(always)]
fn units(weights: &Weights<'_>, lane: usize, inner: f32, outer: f32) -> Sums {
    let (a, b) = (f64::from(inner), f64::from(outer));
    let (a2, b2) = (a * a, b * b);
    let Scale { units: [second, third, fourth, flow], thin } = weights.scale;
    let g2 = (b2 - a2) * second;
    let g3 = (b2 * b - a2 * a) * third;
    let g4 = (b2 * b2 - a2 * a2) * fourth;
    let thick = b - a;
    let wall = thick * thick * thick * (a + b) * fourth;
    let middle = 0.5 * (a + b);
    let around = middle / if thick > thin { thick } else { thin };
    let [sine, cosine, cosine2, sine2] = weights.of;
    [
        whole(g2),
        whole(g3 * sine[lane]),
        whole(g3 * cosine[lane]),
        whole(g4),
        whole(g4 * cosine2[lane]),
        whole(g4 * sine2[lane]),
        whole(wall),
        whole(middle * middle * second),
        whole(around * flow),
    ]
}

#[inline(always)]
fn whole(number: f64) -> i64 {
    ((number + WHOLE).to_bits() as i64).wrapping_sub(WHOLE.to_bits() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_to_whole_ones() {
        let room = (1u64 << 50) as f64;
        for (number, rounded) in [(0.0, 0), (2.4, 2), (-2.6, -3), (room, 1 << 50), (-room, -(1 << 50))] {
            assert_eq!(whole(number), rounded);
        }
    }

    #[test]
    fn neither_rays_nor_rows_come_to_too_much() {
        for (radius, rays) in [(30.0, 768), (0.2, 24), (500.0, 200_000), (64.0, 4096)] {
            let Scale { units, thin } = Scale::new(radius, rays);
            let flow = radius / thin * units[3];
            assert!(flow < 2f64.powi(50) && flow * (rays as f64) < 2f64.powi(62), "{radius} {rays}");
            for (power, scale) in [2, 3, 4].into_iter().zip(units) {
                let ray = f64::powi(radius, power) * scale;
                let row = ray * rays as f64;
                assert!(ray < 2f64.powi(50) && row < 2f64.powi(62), "{radius} {rays}");
                assert!(ray > 2f64.powi(44) || row > 2f64.powi(54), "{radius} {rays}");
            }
        }
    }
}
