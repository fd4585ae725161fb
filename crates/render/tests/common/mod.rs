//! Meshes with a closed form.

#![allow(dead_code, clippy::print_stderr, reason = "each test crate uses its own part, and says why it skips")]

use dryturn_render::{Body, Finish, Gpu, Wish};
use dryturn_surface::{Kind, Mesh};

/// An adapter, or `None` where there is none and that is said. Where the environment requires one, there must be.
pub(crate) fn gpu() -> Option<Gpu> {
    match Gpu::open(&Wish::default()) {
        Ok(gpu) => Some(gpu),
        Err(error) => {
            let is_required = std::env::var_os("DRYTURN_REQUIRE_ADAPTER").is_some_and(|it| it == "1");
            assert!(!is_required, "{error}");
            eprintln!("skipped: {error}");
            None
        }
    }
}

/// A solid of `sides` around the axis: at each station of the outline the radius at an angle is `radius(station, angle)`.
/// Stations given twice are edges; both ends are closed.
pub(crate) fn solid(stations: &[f64], sides: usize, radius: impl Fn(f64, f64) -> f64) -> Mesh {
    let mut mesh = Mesh::default();
    let last = stations.len() - 1;
    for (row, station) in stations.iter().enumerate() {
        for side in 0..sides {
            let angle = side as f64 * std::f64::consts::TAU / sides as f64;
            let r = radius(*station, angle);
            mesh.vertices.push([*station, -r * angle.sin(), r * angle.cos()]);
            mesh.kinds.push(if row == 0 || row == last { Kind::Edge } else { Kind::Smooth });
        }
    }
    let at = |row: usize, side: usize| (row * sides + side % sides) as u32;
    for row in 0..last {
        for side in 0..sides {
            let [a, b, c, d] = [at(row, side), at(row, side + 1), at(row + 1, side), at(row + 1, side + 1)];
            mesh.triangles.extend([[a, b, c], [b, d, c]]);
        }
    }
    for (row, is_first) in [(0, true), (last, false)] {
        let center = mesh.vertices.len() as u32;
        mesh.vertices.push([stations[row], 0.0, 0.0]);
        mesh.kinds.push(Kind::Smooth);
        for side in 0..sides {
            let [a, b] = [at(row, side), at(row, side + 1)];
            mesh.triangles.push(if is_first { [center, b, a] } else { [center, a, b] });
        }
    }
    mesh.owners = vec![0; mesh.triangles.len()];
    assert!(mesh.volume_mm3() > 0.0, "inside out");
    mesh
}

/// A cylinder.
pub(crate) fn cylinder(radius: f64, length: f64) -> Mesh {
    solid(&[0.0, length], 720, |_, _| radius)
}

/// A body that turns and is cut.
pub(crate) fn body(mesh: &Mesh, finish: Finish) -> Body<'_> {
    Body { mesh, finish, colors: None, clipped: true, turns: true }
}
