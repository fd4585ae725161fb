//! What must hold of the mesh of any job, whatever its shape.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::collections::BTreeSet;
use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use common::carving::{Program, cutter, everything, pose};
use common::{Scene, bounding, holes, passed, sound};
use dryturn_carve::{Carved, Cutter, Dimple, Grid, Job, PREPARED, Replay, RunOptions, UNTOUCHED, carve};
use dryturn_geom::{Motion, Offset, Section, Shape, Side, Stock, piece_from_blank};
use dryturn_scene::{Mesh as Target, MeshSurface};
use dryturn_surface::{Kind, Mesh, SurfaceError, build, build_with_doubts};

fn meshed(job: &Job<'_>, pitch: f64) -> (Carved, Mesh) {
    let options = RunOptions::default();
    let carved = carve(job, &Grid::over(job.stock, pitch), &options).unwrap();
    let mesh = build(&carved, &Replay::new(job, &options).unwrap(), Side::Minus, &options).unwrap();
    (carved, mesh)
}

/// The farthest that vertices of one mesh, changed in some way, lie off the surface of another, mm.
fn farthest(mesh: &Mesh, change: impl Fn([f64; 3]) -> [f64; 3], from: &Mesh) -> f64 {
    let surface = MeshSurface::new(&Target { corners: from.vertices.clone(), triangles: from.triangles.clone() });
    let off = mesh.vertices.iter().map(|vertex| surface.nearest(change(*vertex), 1.0).distance.abs());
    off.fold(0.0, f64::max)
}

/// A slot, a groove and a hole, none of them in the middle of anything.
fn crooked() -> Scene {
    let mut program = Program::new(pose(-20.0, 1.3, 12.2, 20.0));
    program.feed(pose(40.0, 1.3, 11.1, 20.0)).resume(pose(14.0, 0.4, 13.0, 0.0), 1).feed(pose(14.4, 0.4, 13.0, 360.0));
    program.resume(pose(22.0, 3.0, 30.0, 200.0), 0).feed(pose(22.0, 3.0, -20.0, 205.0));
    Scene {
        name: "crooked",
        stock: Stock::round(15.0, 30.0),
        cutters: vec![cutter(Shape::Flat, 2.0, 60.0), cutter(Shape::Ball, 2.5, 60.0)],
        motions: program.motions,
        left: 0.0,
        genus: 1,
        outside: Box::new(|_| 0.0),
        most: (0.0, 0.0),
    }
}

fn changed(scene: &Scene, change: impl Fn(&mut Motion)) -> Vec<Motion> {
    let mut motions = scene.motions.clone();
    motions.iter_mut().for_each(change);
    motions
}

#[test]
fn turning_the_job_turns_the_mesh() {
    let scene = crooked();
    let (_, mesh) = meshed(&scene.job(), 0.5);
    assert_eq!(sound("crooked", &mesh).genus, 1);
    let motions = changed(&scene, |motion| {
        motion.from.turn += FRAC_PI_2;
        motion.to.turn += FRAC_PI_2;
    });
    let (_, turned) = meshed(&Job { motions: &motions, ..scene.job() }, 0.5);
    assert_eq!((mesh.vertices.len(), sound("turned", &turned).genus), (turned.vertices.len(), 1));
    let off = farthest(&mesh, |[x, y, z]| [x, -z, y], &turned);
    println!("turned: {off:.1e} mm off");
    assert!(off < 2e-4, "{off}");
    // A quarter is a whole number of steps of the grid: the same vertices come in another order.
    let nearest = |[x, y, z]: [f64; 3]| {
        let off = |[a, b, c]: &[f64; 3]| (a - x).abs().max((b + z).abs()).max((c - y).abs());
        let all = turned.vertices.iter().map(off).enumerate();
        all.min_by(|one, other| one.1.total_cmp(&other.1)).unwrap()
    };
    let found: Vec<(usize, f64)> = mesh.vertices.iter().map(|vertex| nearest(*vertex)).collect();
    let most = found.iter().map(|(_, off)| *off).fold(0.0, f64::max);
    let numbers: BTreeSet<usize> = found.iter().map(|(number, _)| *number).collect();
    println!("turned: vertices {most:.1e} mm off");
    assert!(numbers.len() == mesh.vertices.len() && most < 1e-3, "{} of {}, {most}", numbers.len(), found.len());
}

#[test]
fn the_mirrored_job_has_the_mirrored_mesh() {
    let scene = crooked();
    let (_, mesh) = meshed(&scene.job(), 0.5);
    let motions = changed(&scene, |motion| {
        for pose in [&mut motion.from, &mut motion.to] {
            (pose.y, pose.turn) = (-pose.y, -pose.turn);
        }
    });
    let (_, mirrored) = meshed(&Job { motions: &motions, ..scene.job() }, 0.5);
    let off = farthest(&mesh, |[x, y, z]| [x, -y, z], &mirrored);
    let volume = mesh.volume_mm3() / mirrored.volume_mm3() - 1.0;
    println!("mirrored: {off:.1e} mm off, volume {volume:.1e}");
    // Which of two rays comes first decides where walls are cut: the chords are others.
    assert!(off < 0.03 && volume.abs() < 1e-6, "{off} {volume}");
}

#[test]
fn threads_and_tiles_change_no_bit() {
    for scene in [crooked(), holes().swap_remove(3)] {
        let one = scene.mesh_with(0.5, &RunOptions { threads: 1, ..RunOptions::default() });
        for (threads, tile) in [(2, None), (5, Some((7, 24))), (16, Some((200, 2000)))] {
            assert!(scene.mesh_with(0.5, &RunOptions { threads, tile, ..RunOptions::default() }) == one, "{threads}");
        }
        let packed = RunOptions { memory: Some(2_000_000), ..RunOptions::default() };
        assert!(scene.mesh_with(0.5, &packed) == one, "packed");
    }
}

#[test]
fn the_piece_lies_in_its_frame_on_both_sides_of_the_machine() {
    let stock = Stock::round(10.0, 20.0);
    let cutters = [cutter(Shape::Flat, 2.0, 40.0)];
    let mut program = Program::new(pose(6.0, 0.0, 20.0, 60.0));
    program.feed(pose(6.0, 0.0, 5.0, 60.0));
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let options = RunOptions::default();
    let carved = carve(&job, &Grid::over(&stock, 0.5), &options).unwrap();
    for side in [Side::Minus, Side::Plus] {
        let mesh = build(&carved, &Replay::new(&job, &options).unwrap(), side, &options).unwrap();
        sound("one hole", &mesh);
        assert!(mesh.volume_mm3() > 0.0);
        // The corners of the floor lie round the middle of the hole.
        let middle = piece_from_blank(side, 6.0, PI / 3.0, 5.0);
        let floor: Vec<_> = (0..mesh.triangles.len())
            .filter(|it| mesh.owners[*it] == 0)
            .flat_map(|it| mesh.triangles[it])
            .map(|vertex| mesh.vertices[vertex as usize])
            .collect();
        let nearest = floor.iter().map(|p| (0..3).map(|k| (p[k] - middle[k]).powi(2)).sum::<f64>().sqrt());
        assert!(nearest.fold(f64::INFINITY, f64::min) < 0.5, "{side:?}");
    }
}

#[test]
fn a_finer_grid_is_nearer_to_the_truth() {
    for scene in [passed().swap_remove(0), holes().swap_remove(1)] {
        let off = |pitch: f64| (scene.mesh(pitch).volume_mm3() / scene.left - 1.0).abs();
        let (coarse, fine) = (off(0.5), off(0.25));
        println!("{}: {coarse:.1e} at 0.5, {fine:.1e} at 0.25", scene.name);
        assert!(fine < coarse / 3.0, "{}", scene.name);
    }
}

/// Holes through and not through, a bore off the axis and a dimple: every opening counts once.
#[test]
fn a_tube_with_windows_has_as_many_handles() {
    let near = Offset { y: 0.4, z: -0.3 };
    let stock = Stock { bore: 8.0, near, far: near, ..Stock::round(16.0, 60.0) };
    let cutters = [cutter(Shape::Flat, 3.0, 60.0)];
    let mut program = Program::new(pose(0.0, 0.0, 30.0, 0.0));
    for k in 0..4 {
        let angle = 90.0 * f64::from(k) + 10.0;
        program.resume(pose(15.0, 0.5, 30.0, angle), 0).feed(pose(15.0, 0.5, 3.0, angle));
        program.resume(pose(40.0, 0.5, 30.0, angle), 0).feed(pose(40.0, 0.5, 13.0, angle));
    }
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let (_, mesh) = meshed(&job, 0.4);
    let topology = sound("tube", &mesh);
    assert_eq!((topology.genus, topology.surfaces), (5, 1));
    let exact = Replay::new(&job, &RunOptions::default()).unwrap();
    let carved = carve(&job, &Grid::over(&stock, 0.4), &RunOptions::default()).unwrap();
    let left = exact.volumes(&carved, 1e-4, &RunOptions::default()).unwrap().left_mm3;
    println!("tube: volume {:.1e}", mesh.volume_mm3() / left - 1.0);
    assert!((mesh.volume_mm3() / left - 1.0).abs() < 1e-5);
    assert!(mesh.owners.contains(&PREPARED) && mesh.owners.contains(&UNTOUCHED));
    assert!(mesh.kinds.contains(&Kind::Edge));
}

/// A relief of small blocks, whose cusps bend the surface from ray to ray.
#[test]
fn a_finished_relief_holds_its_volume() {
    let stock = Stock::round(16.0, 12.0);
    let cutters = [cutter(Shape::Ball, 1.5, 40.0)];
    let place = |turn: f64| {
        let x = 2.0 + 0.4 * turn;
        pose(x, 0.0, 13.0 + (x * 0.5).sin() + (5.0 * turn * PI * 2.0 + x).cos(), 360.0 * turn)
    };
    let mut program = Program::new(place(0.0));
    for k in 1..=60 * 20 {
        program.feed(place(f64::from(k) / 60.0));
    }
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let mut exact = None;
    for (pitch, most) in [(0.25, 2e-4), (0.125, 6e-5)] {
        let (carved, mesh) = meshed(&job, pitch);
        let topology = sound("relief", &mesh);
        assert_eq!((topology.genus, topology.surfaces), (0, 1));
        let left = *exact.get_or_insert_with(|| {
            let (replay, options) = (Replay::new(&job, &RunOptions::default()).unwrap(), RunOptions::default());
            replay.volumes(&carved, 1e-3, &options).unwrap().left_mm3
        });
        let off = mesh.volume_mm3() / left - 1.0;
        println!("relief: {} triangles, volume {off:.1e}", mesh.triangles.len());
        assert!(off.abs() < most, "{off}");
    }
}

#[test]
fn every_cutter_and_every_motion_makes_a_body() {
    let (cutters, motions) = everything();
    let near = Offset { y: 0.3, z: 0.2 };
    let round = Stock::round(14.0, 36.0);
    let stocks = [
        round.clone(),
        Stock { bore: 4.0, near, ..round.clone() },
        Stock { section: Section::Polygon { apothem: 12.0, sides: 5 }, turned: 0.3, near, ..round },
    ];
    for (k, stock) in stocks.iter().enumerate() {
        let dimple = (k == 0).then_some(Dimple { apex: 30.0, slope: 0.6 });
        let job = Job { stock, dimple, cutters: &cutters, motions: &motions };
        let (carved, mesh) = meshed(&job, 0.8);
        let topology = bounding("everything", &mesh);
        let off = mesh.volume_mm3() / carved.left_mm3() - 1.0;
        println!("everything in {k}: {} triangles, {topology:?}, {off:.1e} beside the rays", mesh.triangles.len());
        // The rays of so coarse a grid miss much between the walls of narrow cuts: a finer one comes to the mesh.
        assert!(off.abs() < 0.02, "{off}");
    }
}

#[test]
fn the_coarsest_grids_make_bodies_too() {
    let (cutters, motions) = everything();
    let stock = Stock::round(14.0, 36.0);
    for pitch in [2.0, 7.0, 40.0] {
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
        let (_, mesh) = meshed(&job, pitch);
        bounding("coarse", &mesh);
        assert!(mesh.volume_mm3() > 0.0);
        bounding("coarse and thin", &mesh.thinned(0.1, &RunOptions::default()).unwrap());
    }
}

#[test]
fn what_is_cut_in_two_has_two_surfaces_and_what_is_gone_has_none() {
    let stock = Stock::round(10.0, 20.0);
    let cutters: [Cutter; 1] = [cutter(Shape::Flat, 2.0, 40.0)];
    let ring = |x: f64| Program::new(pose(0.0, 0.0, 0.0, 0.0)).ring(x, 0.0, -1.0).motions.clone();
    let motions = ring(9.0);
    let (_, mesh) = meshed(&Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions }, 0.5);
    let topology = sound("two", &mesh);
    assert_eq!((topology.surfaces, topology.genus), (2, 0));
    assert!((mesh.volume_mm3() / (PI * 100.0 * 16.0) - 1.0).abs() < 1e-4);
    let all: Vec<Motion> = (0..6).flat_map(|k| ring(4.0 * f64::from(k))).collect();
    let all = common::carving::numbered(all);
    let (_, mesh) = meshed(&Job { stock: &stock, dimple: None, cutters: &cutters, motions: &all }, 0.5);
    assert_eq!((mesh.vertices.len(), sound("gone", &mesh).surfaces, mesh.volume_mm3()), (0, 0, 0.0));
    assert_eq!(mesh.bounds(), None);
}

/// Flats from both sides that pass the axis: it is empty over part of the length.
#[test]
fn blocks_past_the_axis_leave_a_body() {
    let stock = Stock::round(10.0, 40.0);
    let cutters = [cutter(Shape::Flat, 30.0, 60.0)];
    let mut program = Program::new(pose(-40.0, 0.0, -1.5, 0.0));
    program
        .feed(pose(-15.1, 0.0, -1.5, 0.0))
        .resume(pose(80.0, 0.0, -1.5, 120.0), 0)
        .feed(pose(55.2, 0.0, -1.5, 120.0));
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let (carved, mesh) = meshed(&job, 0.25);
    let topology = sound("half rounds", &mesh);
    assert_eq!((topology.surfaces, topology.genus), (1, 0));
    let exact = Replay::new(&job, &RunOptions::default()).unwrap();
    let left = exact.volumes(&carved, 1e-4, &RunOptions::default()).unwrap().left_mm3;
    println!("half rounds: volume {:.1e}", mesh.volume_mm3() / left - 1.0);
    assert!((mesh.volume_mm3() / left - 1.0).abs() < 1e-5);
}

#[test]
fn a_run_tells_how_far_it_is_and_can_be_stopped() {
    let scene = crooked();
    let (job, options) = (scene.job(), RunOptions::default());
    let carved = carve(&job, &Grid::over(&scene.stock, 0.5), &options).unwrap();
    let replay = Replay::new(&job, &options).unwrap();
    let (cancel, told) = (AtomicBool::new(false), Mutex::new(Vec::new()));
    let progress = |share: f64| told.lock().unwrap().push(share);
    let options = RunOptions { cancel: Some(&cancel), progress: Some(&progress), threads: 1, ..options };
    let mesh = build(&carved, &replay, Side::Minus, &options).unwrap();
    let shares = told.lock().unwrap().clone();
    assert!(shares.windows(2).all(|pair| pair[0] <= pair[1]) && *shares.last().unwrap() > 0.99, "{shares:?}");
    cancel.store(true, Ordering::Relaxed);
    assert!(matches!(build(&carved, &replay, Side::Minus, &options), Err(SurfaceError::Cancelled)));
    assert!(matches!(mesh.thinned(0.01, &options), Err(SurfaceError::Cancelled)));
}

/// Five pockets leave a core with five bars around it, whose edges are sharp.
#[test]
fn bars_between_pockets_come_out_whole() {
    let stock = Stock::round(25.0, 40.0);
    let mut program = Program::new(pose(20.0, 0.0, 30.0, 0.0));
    for angle in (0..5).map(|k| 72.0 * f64::from(k)) {
        program.resume(pose(12.0, -4.0, 30.0, angle), 0);
        for (x, y) in [(12.0, -4.0), (28.0, -4.0), (28.0, 4.0), (12.0, 4.0), (12.0, 0.0), (28.0, 0.0)] {
            program.feed(pose(x, y, 7.0, angle));
        }
    }
    let cutters = [cutter(Shape::Flat, 4.0, 60.0)];
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let (_, mesh) = meshed(&job, 0.5);
    let topology = sound("bars", &mesh);
    assert_eq!((topology.genus, topology.surfaces), (5, 1));
}

/// Two slots leave a wall between them that leans away from the rays and is thinner than they are apart.
#[test]
fn what_is_thinner_than_the_rays_are_apart_is_told() {
    let stock = Stock::round(15.0, 20.0);
    let cutters = [cutter(Shape::Flat, 2.0, 60.0)];
    let thin_at = |wall: f64, pitch: f64, side: Side| {
        let mut program = Program::new(pose(-10.0, 4.0, 6.0, 0.0));
        let aside = 4.0 + 4.0 + wall;
        program
            .feed(pose(30.0, 4.0, 6.0, 0.0))
            .resume(pose(-10.0, aside, 6.0, 0.0), 0)
            .feed(pose(30.0, aside, 6.0, 0.0));
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
        let options = RunOptions::default();
        let carved = carve(&job, &Grid::over(&stock, pitch), &options).unwrap();
        build_with_doubts(&carved, &Replay::new(&job, &options).unwrap(), side, &options).unwrap().1.thin
    };
    let found = thin_at(0.1, 0.4, Side::Minus);
    println!("thin wall: {} places", found.len());
    assert!(!found.is_empty());
    assert!(found.iter().all(|[x, y, _]| (0.0..=20.0).contains(x) && (y - 6.05).abs() < 0.06), "{found:?}");
    let mirrored: Vec<[f64; 3]> = thin_at(0.1, 0.4, Side::Plus).into_iter().map(|[x, y, z]| [x, -y, z]).collect();
    assert_eq!(found, mirrored);
    assert_eq!(thin_at(1.5, 0.4, Side::Minus), [[0.0; 3]; 0]);
}
