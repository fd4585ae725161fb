//! The lights of the studio: a soft key, a soft fill, a rim from behind, and a dome of sky with the ground's bounce.
//!
//! Each of them is a cluster of far lights with a map of shadows each. A picture adds up passes, and every pass takes
//! other members of the clusters, so that shadows are soft and corners dark without any noise.

use glam::{DMat4, DVec3};

use crate::mirror::{LIGHTS, Light, SETS};
use crate::view::View;

/// Side of a map of shadows, texels.
pub(crate) const MAP: u32 = 512;
/// Maps side by side in the one texture that holds all of a pass, and below each other; the shaders' own.
pub(crate) const ACROSS: u32 = 8;
pub(crate) const DOWN: u32 = 10;
/// By how many texels of a map a surface must lie behind another to be in its shadow: what throws it is thinned.
const SLACK: f64 = 0.25;

/// How far the part of the sky that a light stands for reaches from it, as a share of the side of a square as large: the
/// ways between lights on their lattice are not all the same.
const BETWEEN: f64 = 0.75;

/// A soft light, as an area of the sky.
struct Area {
    /// Lights of a pass.
    count: usize,
    /// Degrees to the right of the eye, and over the horizon.
    at: [f64; 2],
    /// Degrees across and up.
    size: [f64; 2],
    /// What a surface that faces it receives from all of it.
    power: [f64; 3],
    breadth: f32,
}

const AREAS: [Area; 3] = [
    Area { count: 6, at: [-48.0, 46.0], size: [34.0, 26.0], power: [0.92, 0.90, 0.865], breadth: 0.2 },
    Area { count: 2, at: [58.0, 24.0], size: [44.0, 36.0], power: [0.27, 0.28, 0.30], breadth: 0.35 },
    Area { count: 2, at: [158.0, 38.0], size: [50.0, 20.0], power: [0.34, 0.345, 0.36], breadth: 0.3 },
];

/// Lights of a pass that make up the dome.
const DOME: usize = LIGHTS - 10;
/// What level ground receives from the sky, and what comes back up from it.
const SKY: [f64; 3] = [0.36, 0.37, 0.39];
const BOUNCE: [f64; 3] = [0.17, 0.167, 0.16];

/// Light from a direction.
struct From {
    toward: DVec3,
    power: [f64; 3],
    breadth: f32,
    /// The part of the sky that it stands for, steradians.
    share: f64,
}

/// One of several passes, whose lights together are all.
#[derive(Clone, Copy)]
pub(crate) struct Pass {
    pub(crate) number: u32,
    pub(crate) of: u32,
}

/// The lights of one pass of several, set by set, with maps that hold all of the points.
pub(crate) fn lights(view: &View, points: &[DVec3], pass: Pass) -> [Light; LIGHTS * SETS] {
    let all: Vec<From> = (0..SETS).flat_map(|set| set_of(view, pass, set)).collect();
    let mut lights = [Light::default(); LIGHTS * SETS];
    for (light, from) in lights.iter_mut().zip(all) {
        *light = fitted(&from, points);
    }
    lights
}

/// One set of the lights of a pass.
fn set_of(view: &View, pass: Pass, set: usize) -> Vec<From> {
    let mut all = Vec::with_capacity(LIGHTS);
    let all_sets = f64::from(pass.of) * SETS as f64;
    for (number, area) in AREAS.iter().enumerate() {
        for member in 0..area.count {
            let [u, v] = place(member, area.count, pass, (number, set));
            let toward = view.toward(
                area.at[0] + (u - 0.5) * area.size[0] / area.at[1].to_radians().cos(),
                area.at[1] + (v - 0.5) * area.size[1],
            );
            let power = area.power.map(|it| it / area.count as f64);
            let share = area.size[0].to_radians() * area.size[1].to_radians() / (area.count as f64 * all_sets);
            all.push(From { toward, power, breadth: area.breadth, share });
        }
    }
    for member in 0..DOME {
        let [u, v] = place(member, DOME, pass, (AREAS.len(), set));
        all.push(sky(view, u, v, all_sets));
    }
    all
}

/// Members of a cluster over all passes lie on a lattice of Hammersley's; a pass takes every so many of them. The sets lie
/// on the same lattice, each moved by another part of what is between its places.
fn place(member: usize, count: usize, pass: Pass, (cluster, set): (usize, usize)) -> [f64; 2] {
    const MOVED: [[f64; 2]; SETS] = [[0.125, 0.0], [0.375, 0.5], [0.625, 0.25], [0.875, 0.75]];
    let all = f64::from(pass.of) * count as f64;
    let index = member as u32 * pass.of + pass.number;
    let turned = f64::from(index.reverse_bits()) / 4_294_967_296.0;
    // Clusters are moved against each other, so that none repeats another's gaps.
    let shift = cluster as f64 * 0.381_966;
    let [along, up] = MOVED[set];
    [(f64::from(index) + along) / all, (turned + shift + up / all).fract()]
}

/// A light of the dome: three of four from the sky, the others from the ground.
fn sky(view: &View, u: f64, v: f64, all_sets: f64) -> From {
    const ABOVE: f64 = 0.7;
    let count = DOME as f64;
    let (sine, power) = if u < ABOVE {
        // Evenly over the hemisphere; level ground receives the integral of the sine, a half.
        (u / ABOVE, SKY.map(|it| 2.0 * it / (ABOVE * count)))
    } else {
        (-(u - ABOVE) / (1.0 - ABOVE), BOUNCE.map(|it| 2.0 * it / ((1.0 - ABOVE) * count)))
    };
    let toward = view.toward(360.0 * v, sine.clamp(-0.99, 0.99).asin().to_degrees());
    From {
        toward,
        power,
        breadth: 0.75,
        share: std::f64::consts::TAU / (if u < ABOVE { ABOVE } else { 1.0 - ABOVE } * count * all_sets),
    }
}

/// A light with a map that holds all of the points.
fn fitted(from: &From, points: &[DVec3]) -> Light {
    let toward = from.toward;
    let right = DVec3::X.reject_from_normalized(toward).try_normalize().unwrap_or(DVec3::Y);
    let up = toward.cross(right);
    let span = |along: DVec3| {
        let reach = points.iter().map(|point| point.dot(along));
        let (low, high) = reach.fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(it), high.max(it)));
        // Two texels of nothing all around.
        let margin = (high - low).max(1e-3) * 2.0 / f64::from(MAP);
        (low - margin, high + margin)
    };
    let (x, y, z) = (span(right), span(up), span(toward));
    let row = |along: DVec3, scale: f64, shift: f64| (along * scale).extend(shift);
    let across = |along: DVec3, (low, high): (f64, f64)| row(along, 2.0 / (high - low), -(high + low) / (high - low));
    let depth = row(toward, -1.0 / (z.1 - z.0), z.1 / (z.1 - z.0));
    let to_map = DMat4::from_cols(across(right, x), across(up, y), depth, glam::DVec4::W).transpose();
    let texel = |(low, high): (f64, f64)| (high - low) / f64::from(MAP);
    Light {
        to_map: to_map.as_mat4().to_cols_array_2d(),
        toward: toward.as_vec3().to_array(),
        bias: (SLACK * texel(x).max(texel(y)) / (z.1 - z.0)) as f32,
        power: from.power.map(|it| it as f32),
        breadth: from.breadth,
        texel_right: (right * texel(x)).as_vec3().to_array(),
        deep: (1.0 / (z.1 - z.0)) as f32,
        texel_down: (-up * texel(y)).as_vec3().to_array(),
        spread: (BETWEEN * from.share.sqrt()).tan() as f32,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn maps_hold_every_point_and_passes_add_up() {
        let points = [glam::dvec3(0.0, -20.0, -20.0), glam::dvec3(200.0, 20.0, 20.0), DVec3::ZERO];
        let view = View::default();
        let mut sum = 0.0;
        // What level ground without shadows receives of a light, by its green part.
        let open = |light: &Light| {
            f64::from(light.power[1]) * DVec3::from(light.toward.map(f64::from)).dot(view.up()).max(0.0)
        };
        for number in 0..4 {
            let lights = lights(&view, &points, Pass { number, of: 4 });
            for light in &lights {
                let to_map = glam::Mat4::from_cols_array_2d(&light.to_map);
                for point in points {
                    let at = to_map * point.as_vec3().extend(1.0);
                    assert!(at.x.abs() < 1.0 && at.y.abs() < 1.0 && (0.0..1.0).contains(&at.z), "{at}");
                }
            }
            let sets: Vec<f64> = lights.chunks(LIGHTS).map(|set| set.iter().map(open).sum()).collect();
            // They lie between each other's places, so one has its sky a little higher than the next; what neighbours of four
            // pixels see of it is averaged.
            let mean = sets.iter().sum::<f64>() / SETS as f64;
            assert!(sets.iter().all(|set| (set - mean).abs() < 0.05 * mean), "{sets:?}");
            sum += sets.iter().sum::<f64>() / (4 * SETS) as f64;
        }
        let key = AREAS.iter().map(|area| area.power[1] * area.at[1].to_radians().sin()).sum::<f64>();
        assert!((sum - key - SKY[1]).abs() < 0.05, "{sum} {}", key + SKY[1]);
    }
}
