//! Meshes with fewer triangles stay near the solid and keep its shape.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use common::{flats, grooves, holes, passed, sound};
use dryturn_carve::RunOptions;

const PITCH: f64 = 0.5;

#[test]
fn thinned_meshes_stay_within_their_bound() {
    let options = RunOptions::default();
    let scenes = [grooves(), holes(), passed()].into_iter().flatten();
    for scene in scenes {
        let full = scene.mesh(PITCH);
        let (shape, off) = (sound(scene.name, &full), scene.worst(&full));
        let mut last = full.triangles.len();
        for within in [1e-3, 5e-3, 20e-3] {
            let started = std::time::Instant::now();
            let mesh = full.thinned(within, &options).unwrap();
            let (seconds, worst) = (started.elapsed().as_secs_f64(), scene.worst(&mesh));
            println!(
                "{:<28}{within:>6} {:>8} {worst:.5} (full {off:.5}), {seconds:.2} s",
                scene.name,
                mesh.triangles.len()
            );
            let found = sound(scene.name, &mesh);
            assert_eq!((found.genus, found.surfaces), (shape.genus, shape.surfaces), "{}", scene.name);
            assert!(worst <= within + off, "{} within {within}: {worst}", scene.name);
            assert!(mesh.triangles.len() < last, "{} within {within}", scene.name);
            last = mesh.triangles.len();
        }
        assert_eq!(full.thinned(0.0, &options).unwrap(), full);
    }
}

/// Six sides of two triangles and two ends of four.
#[test]
fn a_hexagonal_bar_is_twenty_triangles() {
    let scene = flats().into_iter().find(|it| it.name == "V17 hexagon").unwrap();
    let mesh = scene.mesh(PITCH).thinned(1e-3, &RunOptions::default()).unwrap();
    sound(scene.name, &mesh);
    assert_eq!(mesh.triangles.len(), 20);
    assert!((mesh.volume_mm3() / scene.left - 1.0).abs() < 1e-9);
    assert!(scene.worst(&mesh) < 1e-6);
}
