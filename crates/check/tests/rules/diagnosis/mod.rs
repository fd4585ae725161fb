//! The mistakes behind what is wrong.

mod flat_program;
mod mirrored;
mod rezero;
mod rotary_word;
mod units;
mod wrong_length;
mod zero_height;

use dryturn_check::Finding;

use crate::common::{job_with, run};

/// What a rule finds in a job of whole text, with a target in p.csv.
pub(super) fn beside(rule: &str, scene: &str, programs: &[&str], profile: &str) -> Vec<Finding> {
    let job = job_with(scene, programs, &[("p.csv", profile)]);
    run(&job).findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// A mesh whose radius is given by station and angle (radians), stations going up in steps to a length.
pub(super) fn skin([step, length]: [f64; 2], columns: usize, radius: impl Fn(f64, f64) -> f64) -> String {
    let rows = (length / step).round() as usize;
    let corner = |row: usize, column: usize| {
        let (station, theta) = (row as f64 * step, (column % columns) as f64 * std::f64::consts::TAU / columns as f64);
        let (radius, (sine, cosine)) = (radius(station, theta), theta.sin_cos());
        [station, -radius * sine, radius * cosine]
    };
    let mut facets = String::new();
    let mut facet = |corners: [[f64; 3]; 3]| {
        facets.push_str("facet normal 0 0 0\nouter loop\n");
        corners.iter().for_each(|[x, y, z]| facets.push_str(&format!("vertex {x} {y} {z}\n")));
        facets.push_str("endloop\nendfacet\n");
    };
    for column in 0..columns {
        for row in 0..rows {
            let [a, b] = [corner(row, column), corner(row + 1, column)];
            let [c, d] = [corner(row + 1, column + 1), corner(row, column + 1)];
            facet([a, b, c]);
            facet([a, c, d]);
        }
        facet([[0.0; 3], corner(0, column), corner(0, column + 1)]);
        facet([[length, 0.0, 0.0], corner(rows, column + 1), corner(rows, column)]);
    }
    format!("solid skin\n{facets}endsolid skin\n")
}
