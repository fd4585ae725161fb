//! Plain bodies: closed, oriented, and as large as they must be.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

use std::f64::consts::PI;

use dryturn_surface::{Mesh, Topology};

/// A whole number of millimetres a hundred times over a chord's distance.
const WITHIN: f64 = 0.001;

fn sound(mesh: &Mesh) -> Topology {
    mesh.topology().unwrap()
}

#[test]
fn a_turned_outline_holds_its_volume_but_for_its_chords() {
    let cylinder = Mesh::turned(&[[-5.0, 20.0], [15.0, 20.0]], WITHIN);
    assert_eq!(sound(&cylinder), Topology { euler: 2, surfaces: 1, genus: 0 });
    let lost = 1.0 - cylinder.volume_mm3() / (PI * 400.0 * 20.0);
    // A sagitta s takes 4 s / 3 r of a circle's area.
    assert!(lost > 0.0 && lost < 4.0 / 3.0 * WITHIN / 20.0, "{lost}");
    assert_eq!(cylinder.bounds(), Some(([-5.0, -20.0, -20.0], [15.0, 20.0, 20.0])));
    let cone = Mesh::turned(&[[0.0, 0.0], [9.0, 6.0]], WITHIN);
    assert_eq!(sound(&cone).surfaces, 1);
    assert!((cone.volume_mm3() / (PI * 36.0 * 3.0) - 1.0).abs() < 4.0 / 3.0 * WITHIN / 6.0);
}

#[test]
fn an_outline_with_shoulders_and_a_waist_of_nothing_falls_into_parts() {
    let shoulder = Mesh::turned(&[[0.0, 10.0], [5.0, 10.0], [5.0, 20.0], [5.0, 20.0], [10.0, 20.0]], WITHIN);
    assert_eq!(sound(&shoulder), Topology { euler: 2, surfaces: 1, genus: 0 });
    let waist = Mesh::turned(&[[0.0, 10.0], [5.0, 0.0], [8.0, 0.0], [12.0, 10.0]], WITHIN);
    assert_eq!(sound(&waist), Topology { euler: 4, surfaces: 2, genus: 0 });
    let volume = PI * 100.0 / 3.0 * (5.0 + 4.0);
    assert!((waist.volume_mm3() / volume - 1.0).abs() < 4.0 / 3.0 * WITHIN / 10.0);
    for nothing in [&[][..], &[[3.0, 5.0]], &[[3.0, 0.0], [9.0, 0.0]], &[[3.0, 5.0], [3.0, 2.0]]] {
        assert!(Mesh::turned(nothing, WITHIN).triangles.is_empty(), "{nothing:?}");
    }
}

#[test]
fn chords_are_within_what_is_asked_whatever_that_is() {
    for within in [0.0, 1e-4, 0.01, 0.3, 100.0, f64::INFINITY] {
        let mesh = Mesh::turned(&[[0.0, 30.0], [1.0, 30.0]], within);
        sound(&mesh);
        let middle = |edge: [[f64; 3]; 2]| {
            let [y, z] = [1, 2].map(|k| 0.5 * (edge[0][k] + edge[1][k]));
            30.0 - y.hypot(z)
        };
        let edges = mesh.triangles.iter().map(|it| [it[0], it[1]].map(|vertex| mesh.vertices[vertex as usize]));
        let rim = edges.filter(|edge| edge.iter().all(|[_, y, z]| y.hypot(*z) > 29.0));
        let worst = rim.map(middle).fold(0.0, f64::max);
        assert!(worst <= within.max(1e-4) * 1.000_001, "{within}: {worst}");
    }
}

#[test]
fn a_block_is_what_its_edges_say_and_a_mirror_turns_nothing_inside_out() {
    let (sine, cosine) = 0.3f64.sin_cos();
    let block = Mesh::block(
        [1.0, 2.0, 3.0],
        [[4.0, 0.0, 0.0], [0.0, 5.0 * cosine, 5.0 * sine], [0.0, -2.0 * sine, 2.0 * cosine]],
    );
    assert_eq!(sound(&block), Topology { euler: 2, surfaces: 1, genus: 0 });
    assert!((block.volume_mm3() - 40.0).abs() < 1e-9);
    let mirrored = block.clone().mirrored();
    sound(&mirrored);
    assert!((mirrored.volume_mm3() - 40.0).abs() < 1e-9);
    assert_eq!(mirrored.mirrored().vertices, block.vertices);
    let mut both = block.clone();
    both.add(block.moved([10.0, 0.0, 0.0]));
    assert_eq!(sound(&both).surfaces, 2);
    assert!((both.volume_mm3() - 80.0).abs() < 1e-9);
}
