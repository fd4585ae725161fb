//! Where edges and corners lie, who made which face, and that no mesh passes through itself.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::{combed, dimpled, flats, grooves, holes, passed, sharpest_fold, sound, twisted};
use dryturn_carve::{RunOptions, UNTOUCHED};
use dryturn_surface::{Kind, Mesh};
use glam::DVec3;

/// Vertices of a kind.
fn of_kind(mesh: &Mesh, kind: Kind) -> impl Iterator<Item = [f64; 3]> + '_ {
    mesh.kinds.iter().zip(&mesh.vertices).filter(move |(it, _)| **it == kind).map(|(_, vertex)| *vertex)
}

/// Planes of the hexagonal bar: six sides and two ends.
fn heights([x, y, z]: [f64; 3]) -> Vec<f64> {
    let side = |k: u32| {
        let (sine, cosine) = (f64::from(k) * 60.0).to_radians().sin_cos();
        z * cosine - y * sine - 20.0
    };
    (0..6).map(side).chain([-x, x - 100.0]).collect()
}

#[test]
fn the_edges_of_a_hexagonal_bar_are_where_its_planes_meet() {
    let mesh = flats().into_iter().find(|it| it.name == "V17 hexagon").unwrap().mesh(0.5);
    for (kind, planes) in [(Kind::Edge, 2), (Kind::Corner, 3)] {
        for vertex in of_kind(&mesh, kind) {
            let on = heights(vertex).iter().filter(|height| height.abs() < 1e-6).count();
            assert_eq!(on, planes, "{kind:?} {vertex:?}");
        }
    }
    let corners: BTreeSet<[i64; 3]> = of_kind(&mesh, Kind::Corner).map(|it| it.map(|x| (x * 1e3) as i64)).collect();
    assert_eq!(corners.len(), 12);
    // Each edge along the bar has a vertex between any two rows.
    let along = of_kind(&mesh, Kind::Edge).filter(|it| it[0] > 1e-3 && it[0] < 100.0 - 1e-3).count();
    assert_eq!(along, 6 * 199);
    // Every side was made by its own pass, the ends by nobody.
    let owners: BTreeMap<u32, usize> = mesh.owners.iter().fold(BTreeMap::new(), |mut count, owner| {
        *count.entry(*owner).or_default() += 1;
        count
    });
    assert_eq!(owners.keys().copied().collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5, UNTOUCHED]);
}

#[test]
fn the_walls_of_a_groove_stand_where_they_are_cut() {
    let mesh = grooves().swap_remove(1).mesh(0.5);
    let (mut walls, mut rims) = (0, 0);
    for vertex in of_kind(&mesh, Kind::Edge) {
        let radius = vertex[1].hypot(vertex[2]);
        let aside = (vertex[0] - 10.0).abs();
        let is_end = vertex[0].abs() < 1e-6 || (vertex[0] - 20.0).abs() < 1e-6;
        assert!(is_end || (aside - 3.0).abs() < 1e-5, "{vertex:?}");
        assert!((radius - 20.0).abs() < 1e-3 || (radius - 25.0).abs() < 1e-3, "{vertex:?}");
        rims += 1;
    }
    for (triangle, owner) in mesh.triangles.iter().zip(&mesh.owners) {
        let [a, b, c] = triangle.map(|vertex| DVec3::from_array(mesh.vertices[vertex as usize]));
        let normal = (b - a).cross(c - a).normalize();
        if *owner == 0 && normal.x.abs() > 0.99 {
            walls += 1;
            assert!([a, b, c].iter().all(|it| ((it.x - 10.0).abs() - 3.0).abs() < 1e-3), "{a} {b} {c}");
        }
    }
    assert!(walls > 1000 && rims > 1000);
}

#[test]
fn no_mesh_of_a_plain_solid_passes_through_itself_thinned_or_not() {
    // Where a rim touches a row of rays, as that of the ring does, hundreds of pairs would if they were not mended.
    let plain = ["V11", "V12", "V13", "V08", "V14", "V21"];
    let scenes = [holes(), grooves(), passed()].into_iter().flatten();
    let scenes = scenes.filter(|it| plain.contains(&&it.name[..3]));
    for scene in scenes {
        let full = scene.mesh(0.25);
        sound(scene.name, &full);
        sound(scene.name, &full.thinned(5e-3, &RunOptions::default()).unwrap());
    }
}

#[test]
fn no_two_neighbours_fold_over() {
    for scene in [grooves(), passed(), flats(), vec![twisted()]].into_iter().flatten() {
        let fold = sharpest_fold(&scene.mesh(0.5));
        println!("{}: {fold:.1}°", scene.name);
        // The walls of the vee meet at the most.
        assert!(fold < 120.1, "{}: {fold}", scene.name);
    }
}

/// Columns are a micrometre wide there, and the cone runs along some of them.
#[test]
fn a_dimple_beside_the_axis_does_not_pass_through_itself() {
    for tip in [(2.2, 0.2), (1.9, 0.2), (2.0, 0.2), (1.85, 0.05), (2.1, 0.3), (2.0, 0.5), (1.4, 0.15)] {
        println!("{tip:?}");
        sound("dimple", &dimpled(tip).mesh(0.25));
    }
}

#[test]
fn where_a_pass_meets_no_ray_its_neighbours_do_not_meet() {
    let scene = combed();
    let mesh = scene.mesh(0.6);
    let off = mesh.vertices.iter().map(|vertex| (scene.outside)(*vertex)).fold(0.0, f64::max);
    println!("comb: {off:.4} mm over the wood");
    // A cusp is 0.032 mm high, the edge that two neighbours of a ring would have 0.134 mm.
    assert!(off < 0.033, "{off}");
    sound(scene.name, &mesh);
}

#[test]
fn crossings_are_found_by_any_number_of_threads() {
    let mut mesh = flats().into_iter().find(|it| it.name == "V17 hexagon").unwrap().mesh(1.0);
    let crossings = |mesh: &Mesh, threads| mesh.crossings(&RunOptions { threads, ..RunOptions::default() }).unwrap();
    assert_eq!(crossings(&mesh, 0), []);
    let inside = mesh.vertices.iter().position(|it| it[2] > 19.99 && (it[0] - 50.0).abs() < 1.0).unwrap();
    mesh.vertices[inside][2] = -30.0;
    let found = crossings(&mesh, 1);
    assert!(found.len() > 10 && found.is_sorted() && found.iter().all(|(one, other)| one < other));
    assert_eq!(crossings(&mesh, 3), found);
}
