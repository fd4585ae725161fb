//! Meshes of carved solids that have a closed form.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use common::{Scene, flats, grooves, holes, passed, sound, turned};

/// The mesh bounds a body of the right shape, and its volume and its surface are those of the solid.
fn check(scene: &Scene, pitch: f64) {
    let started = std::time::Instant::now();
    let mesh = scene.mesh(pitch);
    let seconds = started.elapsed().as_secs_f64();
    let topology = sound(scene.name, &mesh);
    let volume = mesh.volume_mm3() / scene.left - 1.0;
    let (worst, edge) = (1e3 * scene.worst(&mesh), 1e3 * scene.worst_edge(&mesh));
    println!(
        "{:<28}{:>9} triangles, volume {volume:>10.1e}, {worst:>9.4} µm, edges {edge:>8.5} µm, genus {}, {seconds:.2} s",
        scene.name,
        mesh.triangles.len(),
        topology.genus
    );
    assert_eq!((topology.genus, topology.surfaces), (scene.genus, 1), "{}", scene.name);
    assert!(volume.abs() <= scene.most.0, "{}: {volume:e}", scene.name);
    // The square's sides touch the round bar, and so do the passes of the helix each other: there are no edges.
    assert!(edge <= if scene.name.starts_with("V20") { 0.2 } else { 0.05 }, "{}: {edge} µm", scene.name);
    assert!(worst <= scene.most.1, "{}: {worst} µm", scene.name);
}

#[test]
fn grooves_all_round() {
    grooves().iter().for_each(|scene| check(scene, 0.25));
}

#[test]
fn holes_across() {
    holes().iter().for_each(|scene| check(scene, 0.25));
}

#[test]
fn slots_along() {
    passed().iter().for_each(|scene| check(scene, 0.25));
}

#[test]
fn flats_and_their_edges() {
    flats().iter().for_each(|scene| check(scene, 0.25));
}

#[test]
fn a_square_bar_turned_round() {
    check(&turned(), 0.25);
}
