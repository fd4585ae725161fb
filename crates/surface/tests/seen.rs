//! The mesh of a picture: coarser where it is smooth, and the same body.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use common::{Scene, flats, holes, passed};
use dryturn_carve::{Grid, Replay, RunOptions, carve};
use dryturn_geom::Side;
use dryturn_surface::{Kind, Mesh, build, build_seen};

const PITCH: f64 = 0.25;

/// The whole mesh of a scene, and one with facets that are four pitches long.
fn meshes(scene: &Scene, options: &RunOptions<'_>) -> [Mesh; 2] {
    let job = scene.job();
    let carved = carve(&job, &Grid::over(&scene.stock, PITCH), options).unwrap();
    let replay = Replay::new(&job, options).unwrap();
    let (seen, _) = build_seen(&carved, &replay, Side::Minus, |_, _| 4.2 * PITCH, options).unwrap();
    [build(&carved, &replay, Side::Minus, options).unwrap(), seen]
}

/// The sharp vertices that lie farther off the solid than an edge may.
fn edges(scene: &Scene, mesh: &Mesh) -> (usize, f64) {
    let sharp = mesh.kinds.iter().filter(|kind| **kind != Kind::Smooth).count();
    (sharp, scene.worst_edge(mesh))
}

#[test]
fn it_bounds_the_same_body_with_fewer_triangles() {
    for scene in [passed(), flats(), holes()].into_iter().flatten() {
        let [whole, seen] = meshes(&scene, &RunOptions::default());
        let (topology, of_whole) = (seen.topology().unwrap(), whole.topology().unwrap());
        assert_eq!((topology.genus, topology.surfaces), (of_whole.genus, of_whole.surfaces), "{}", scene.name);
        let off = (seen.volume_mm3() / whole.volume_mm3() - 1.0).abs();
        let [(sharp, edge), (_, edge_of_whole)] = [edges(&scene, &seen), edges(&scene, &whole)];
        let share = seen.triangles.len() as f64 / whole.triangles.len() as f64;
        println!("{}: {share:.2} of the triangles, {off:.1e} off, {sharp} sharp, {edge:.1e} mm", scene.name);
        assert!(off < 5e-5 && share < 1.0, "{}: {off} {share}", scene.name);
        // Walls are crossed at fewer levels, so that a curved rim is cut into longer chords; its vertices stay on it.
        assert!(edge <= edge_of_whole.max(1e-3), "{}: {edge} {edge_of_whole}", scene.name);
    }
}

#[test]
fn its_bits_are_the_same_on_any_number_of_threads() {
    let scene = holes().swap_remove(0);
    let seen = |threads| meshes(&scene, &RunOptions { threads, ..RunOptions::default() })[1].clone();
    let first = seen(1);
    assert!(seen(2) == first && seen(3) == first);
}

#[test]
fn without_room_for_longer_facets_it_is_as_fine_as_the_grid() {
    let scene = flats().swap_remove(0);
    let (job, options) = (scene.job(), RunOptions::default());
    let carved = carve(&job, &Grid::over(&scene.stock, 0.5), &options).unwrap();
    let replay = Replay::new(&job, &options).unwrap();
    let extent = std::sync::Mutex::new(None);
    let told = |stations: [f64; 2], radius: f64| {
        *extent.lock().unwrap() = Some((stations, radius));
        0.9
    };
    let (seen, _) = build_seen(&carved, &replay, Side::Minus, told, &options).unwrap();
    let whole = build(&carved, &replay, Side::Minus, &options).unwrap();
    assert!(seen.triangles.len() >= whole.triangles.len() && seen.topology().is_ok());
    let (stations, radius) = extent.lock().unwrap().unwrap();
    let (low, high) = whole.bounds().unwrap();
    assert!((stations[0] - low[0]).abs() < 0.5 && (stations[1] - high[0]).abs() < 0.5 && radius <= common::R);
}
