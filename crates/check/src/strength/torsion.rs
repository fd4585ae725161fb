//! Torsion of a section of any shape.
//!
//! Saint-Venant's torsion by Prandtl's stress function (Timoshenko and Goodier, Theory of Elasticity, chapter on torsion, from
//! memory): ∇²φ = −2 in the wood, φ = 0 on the outer edge, and on the edge of a hole a constant such that the slope of φ into
//! it, summed around it, is twice its area. Then the torsion constant is J = 2∫φ dA, holes included at their constant, and the
//! shear stress under a torque T is T/J times the slope of φ, greatest on an edge.
//!
//! φ is sought at the nodes of a square mesh. An edge that cuts the arm between two nodes is met where it lies, which keeps
//! the equations symmetric and the error of the second order (Gibou, Fedkiw, Cheng and Kang, Journal of Computational Physics
//! 176, 2002, 205–227). All nodes of one hole are one unknown. The equations are solved by conjugate gradients. A sharp inner
//! corner has no bound on its stress; the slope is taken over a fixed share of the section's width, which stands for a small rounding.

mod mesh;
mod slope;

use mesh::Mesh;

/// Nodes across the greater width of a section.
const NODES: usize = 128;
/// Squared residual, beside that of the start, at which the iteration ends.
const RESIDUAL: f64 = 1e-11;

/// What a section is worth in torsion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Torsion {
    /// Torsion constant, mm⁴.
    pub(crate) constant: f64,
    /// Greatest shear stress per torque, MPa/(N·mm).
    pub(crate) stress: f64,
}

/// The torsion of the section that holds the points (y, z, mm) for which `holds` says so, all of them within the bounds.
/// `None` where there are none.
pub(crate) fn torsion(bounds: [[f64; 2]; 2], holds: impl Fn([f64; 2]) -> bool) -> Option<Torsion> {
    at_resolution(NODES, bounds, holds)
}

fn at_resolution(nodes: usize, bounds: [[f64; 2]; 2], holds: impl Fn([f64; 2]) -> bool) -> Option<Torsion> {
    let mesh = Mesh::new(nodes, bounds, holds)?;
    let function = solve(&mesh);
    let constant = 2.0 * mesh.integral(&function);
    let stress = slope::greatest(&mesh, &function, mesh.spacing * nodes as f64) / constant;
    (constant > 0.0).then_some(Torsion { constant, stress })
}

/// The stress function at the unknowns, by conjugate gradients with the diagonal as preconditioner.
fn solve<F: Fn([f64; 2]) -> bool>(mesh: &Mesh<F>) -> Vec<f64> {
    let mut function = vec![0.0; mesh.sources.len()];
    let mut residual = mesh.sources.clone();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let condition = |residual: &[f64]| residual.iter().zip(&mesh.diagonal).map(|(r, d)| r / d).collect::<Vec<f64>>();
    let mut conditioned = condition(&residual);
    let mut direction = conditioned.clone();
    let mut along = dot(&residual, &conditioned);
    let enough = RESIDUAL * along;
    for _ in 0..10 * NODES {
        if along <= enough {
            break;
        }
        let image = mesh.apply(&direction);
        let step = along / dot(&direction, &image);
        for (k, value) in function.iter_mut().enumerate() {
            *value += step * direction[k];
            residual[k] -= step * image[k];
        }
        conditioned = condition(&residual);
        let next = dot(&residual, &conditioned);
        let turn = next / along;
        along = next;
        for (direction, conditioned) in direction.iter_mut().zip(&conditioned) {
            *direction = conditioned + turn * *direction;
        }
    }
    function
}

#[cfg(test)]
mod tests;
