//! The steepest slope of the stress function, which lies on an edge.

use super::mesh::{Edge, Mesh};

/// Length over which a slope is taken, in widths of the mesh; less where the wood is thinner.
const LENGTH: f64 = 8.0 / 128.0;
/// Steps by which the wood's thickness is felt.
const STEPS: usize = 16;

/// The greatest slope of the stress function on any edge.
pub(super) fn greatest<F: Fn([f64; 2]) -> bool>(mesh: &Mesh<F>, function: &[f64], width: f64) -> f64 {
    mesh.edges.iter().map(|edge| slope(mesh, function, edge, LENGTH * width)).fold(0.0, f64::max)
}

/// On an edge the stress function is constant, so that its slope is the length of what it rises by into the wood along two
/// directions at right angles.
fn slope<F: Fn([f64; 2]) -> bool>(mesh: &Mesh<F>, function: &[f64], edge: &Edge, length: f64) -> f64 {
    let rise = |direction: [f64; 2]| rise(mesh, function, edge, direction, length).abs();
    let along = rise([1.0, 0.0]).max(rise([-1.0, 0.0]));
    let across = rise([0.0, 1.0]).max(rise([0.0, -1.0]));
    (along * along + across * across).sqrt()
}

/// The slope at an edge into a direction, from φ there, in the middle and at the end of a length within the wood, as that
/// of the parabola through them; 0 where the direction leads out of the wood.
fn rise<F: Fn([f64; 2]) -> bool>(
    mesh: &Mesh<F>,
    function: &[f64],
    edge: &Edge,
    direction: [f64; 2],
    length: f64,
) -> f64 {
    let point = |far: f64| -> [f64; 2] { std::array::from_fn(|k| edge.point[k] + far * direction[k]) };
    let far = |step: usize| length * step as f64 / STEPS as f64;
    let within = (1..=STEPS).take_while(|step| (mesh.holds)(point(far(*step)))).count();
    let length = far(within);
    if length < mesh.spacing {
        return 0.0;
    }
    let base = mesh.value(edge.beyond, function);
    let [middle, end] = [0.5 * length, length].map(|far| mesh.at(point(far), function) - base);
    (4.0 * middle - end) / length
}
