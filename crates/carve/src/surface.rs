//! How the surface of the piece lies at a point, by who made it.

use dryturn_geom::{AnySolid, Section, Stock, angle};

use crate::job::Dimple;
use crate::kernel::Nearest;

/// A surface near a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// How high the point stands over the surface, along the normal, mm; negative in the wood. Exact near the surface,
    /// never more than the true distance off an edge.
    pub height: f64,
    /// Unit normal out of the wood, (x, y, z) in the blank frame with the ray θ = 0 upright: the ray at θ runs along
    /// (0, −sin θ, cos θ).
    pub normal: [f64; 3],
}

/// A surface from its parts along the rotary axis, outward along the ray θ, and across it the way θ grows.
fn turned(height: f64, [axial, outward, around]: [f64; 3], theta: f64) -> Surface {
    let (s, c) = angle::sin_cos(theta);
    Surface { height, normal: [axial, -outward * s - around * c, outward * c - around * s] }
}

/// The surface that a cutter has left near a point of the ray θ.
pub(crate) fn left_by(nearest: &Nearest, theta: f64) -> Surface {
    turned(-nearest.distance, nearest.normal.map(|part| -part), theta)
}

/// The outside of the blank.
pub(crate) fn of_outline(stock: &Stock, station: f64, theta: f64, radius: f64) -> Surface {
    match &stock.section {
        Section::Round { radius: outline } => round(stock, station, theta, radius, *outline),
        Section::Solid(AnySolid(solid)) => {
            let [y, z] = from_center(stock, station, theta, radius);
            let (height, normal) = solid.surface([station - stock.start, y, z]);
            Surface { height, normal }
        }
        Section::Polygon { apothem, sides } => {
            let [y, z] = from_center(stock, station, theta, radius);
            let facets = (0..*sides).map(|side| {
                let (s, c) = angle::sin_cos(stock.turned + std::f64::consts::TAU * f64::from(side) / f64::from(*sides));
                (-s * y + c * z - apothem, [-s, c])
            });
            let most = |a: (f64, [f64; 2]), b: (f64, [f64; 2])| if b.0 > a.0 { b } else { a };
            let (height, normal) = facets.fold((f64::NEG_INFINITY, [0.0, 1.0]), most);
            shifting(stock, station, height, normal)
        }
    }
}

/// What a maker of an earlier set-up left; `None` where it left nothing.
pub(crate) fn of_earlier(stock: &Stock, maker: u32, station: f64, theta: f64, radius: f64) -> Option<Surface> {
    let [y, z] = from_center(stock, station, theta, radius);
    let (height, normal) = stock.solid()?.surface_by(maker, [station - stock.start, y, z])?;
    Some(Surface { height, normal })
}

/// The bore or the dimple, whichever is nearer; `None` where there is neither.
pub(crate) fn of_hole(stock: &Stock, dimple: Option<Dimple>, station: f64, theta: f64, radius: f64) -> Option<Surface> {
    let bore = (stock.bore > 0.0).then(|| {
        let wall = round(stock, station, theta, radius, stock.bore);
        Surface { height: -wall.height, normal: wall.normal.map(|part| -part) }
    });
    let cone = dimple.map(|dimple| of_cone(dimple, station, theta, radius));
    [bore, cone].into_iter().flatten().min_by(|a, b| a.height.abs().total_cmp(&b.height.abs()))
}

/// The hole of a live center.
pub(crate) fn of_cone(Dimple { apex, slope }: Dimple, station: f64, theta: f64, radius: f64) -> Surface {
    let level = 1.0 / (1.0 + slope * slope).sqrt();
    turned(((station - apex) * slope - radius) * level, [slope * level, -level, 0.0], theta)
}

fn round(stock: &Stock, station: f64, theta: f64, radius: f64, outline: f64) -> Surface {
    let [y, z] = from_center(stock, station, theta, radius);
    let distance = (y * y + z * z).sqrt();
    let normal = if distance > 0.0 { [y / distance, z / distance] } else { [0.0, 1.0] };
    shifting(stock, station, distance - outline, normal)
}

/// The point in the plane of its section, from the centre line of the blank.
fn from_center(stock: &Stock, station: f64, theta: f64, radius: f64) -> [f64; 2] {
    let center = stock.center_shift(station);
    let (s, c) = angle::sin_cos(theta);
    [-radius * s - center.y, radius * c - center.z]
}

/// A surface whose section, with the given height and normal, is shifted along with the centre line. The centre line is a
/// parabola, so that a difference is its slope.
fn shifting(stock: &Stock, station: f64, height: f64, [y, z]: [f64; 2]) -> Surface {
    let (before, after) = (stock.center_shift(station - 0.5), stock.center_shift(station + 0.5));
    let x = -(after.y - before.y) * y - (after.z - before.z) * z;
    let length = (1.0 + x * x).sqrt();
    Surface { height: height / length, normal: [x / length, y / length, z / length] }
}
