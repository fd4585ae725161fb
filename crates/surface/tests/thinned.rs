//! Meshes with fewer triangles stay near the solid and keep its shape.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::collections::BTreeMap;

use common::carving::{Program, cutter, pose};
use common::{flats, grooves, holes, passed, sound, turned};
use dryturn_carve::{Grid, Job, Replay, RunOptions, carve};
use dryturn_geom::{Shape, Side, Stock};
use dryturn_surface::{Mesh, build};
use glam::DVec3;

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

/// Chords lie under what is round: corners over it make up for that.
#[test]
fn thinned_meshes_keep_their_volume() {
    for scene in [grooves(), holes(), passed(), flats(), vec![turned()]].into_iter().flatten() {
        let full = scene.mesh(0.25);
        let mesh = full.thinned(5e-3, &RunOptions::default()).unwrap();
        let [before, after] = [&full, &mesh].map(|mesh| mesh.volume_mm3() / scene.left - 1.0);
        println!("{:<28}{:>8} triangles, volume {after:.1e} (full {before:.1e})", scene.name, mesh.triangles.len());
        assert!(after.abs() < 1e-5, "{}: {after:e}", scene.name);
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

/// Three rings side by side make one smooth floor.
#[test]
fn lines_between_owners_stay_where_they_are_asked_to() {
    let stock = Stock::round(10.0, 12.0);
    let cutters = [cutter(Shape::Flat, 2.0, 40.0)];
    let mut program = Program::new(pose(3.0, 0.0, 8.0, 0.0));
    program.ring(3.0, 0.0, 8.0).resume(pose(6.0, 0.0, 8.0, 0.0), 0).ring(6.0, 0.0, 8.0);
    program.resume(pose(9.0, 0.0, 8.0, 0.0), 0).ring(9.0, 0.0, 8.0);
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let options = RunOptions::default();
    let carved = carve(&job, &Grid::over(&stock, 0.25), &options).unwrap();
    let full = build(&carved, &Replay::new(&job, &options).unwrap(), Side::Minus, &options).unwrap();
    let [apart, plain] = [full.thinned_apart(5e-3, &|owner| owner, &options), full.thinned(5e-3, &options)];
    let (apart, plain) = (apart.unwrap(), plain.unwrap());
    sound("rings", &apart);
    println!(
        "rings: {} triangles, {} with the lines, {} without",
        full.triangles.len(),
        apart.triangles.len(),
        plain.triangles.len()
    );
    let off = |mesh: &Mesh| {
        let areas = areas(mesh).into_iter().map(|(owner, area)| (area / areas(&full)[&owner] - 1.0).abs());
        areas.fold(0.0, f64::max)
    };
    assert_eq!(areas(&apart).len(), areas(&full).len());
    assert!(off(&apart) < 2e-3 && off(&plain) > 0.01, "{} {}", off(&apart), off(&plain));
}

/// The area of every owner, mm².
fn areas(mesh: &Mesh) -> BTreeMap<u32, f64> {
    let mut areas = BTreeMap::new();
    for (triangle, owner) in mesh.triangles.iter().zip(&mesh.owners) {
        let [a, b, c] = triangle.map(|vertex| DVec3::from_array(mesh.vertices[vertex as usize]));
        *areas.entry(*owner).or_default() += 0.5 * (b - a).cross(c - a).length();
    }
    areas
}

#[test]
fn threads_change_no_bit_of_a_thinned_mesh() {
    let full = passed().swap_remove(0).mesh(PITCH);
    let [one, three] =
        [1, 3].map(|threads| full.thinned(5e-3, &RunOptions { threads, ..RunOptions::default() }).unwrap());
    assert!(one == three && one.triangles.len() < full.triangles.len() / 50);
}
