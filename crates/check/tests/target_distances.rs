//! Distances to a target's surface against closed forms and against a table made with a general-purpose mesh library
//! (trimesh, `data/distances.py`).

use std::f64::consts::{PI, TAU};
use std::path::Path;

use dryturn_check::target::Surface;
use dryturn_geom::angle;
use dryturn_scene::{Mesh, TargetShape};

fn profile(rows: &[[f64; 2]]) -> Surface {
    Surface::new(&TargetShape::Profile(rows.to_vec()))
}

fn mesh(mesh: Mesh) -> Surface {
    mesh.check_closed().expect("the mesh is closed");
    assert!(mesh.volume() > 0.0);
    Surface::new(&TargetShape::Mesh(mesh))
}

#[track_caller]
fn assert_gap(surface: &Surface, station: f64, theta: f64, radius: f64, expected: f64, tolerance: f64) {
    let gap = surface.gap(station, theta, radius);
    assert!((gap - expected).abs() <= tolerance, "{gap} is not {expected} at {station}, {theta}, {radius}");
}

/// Rings of corners around the axis, each (station, radius, turn), closed by fans; where the last ring follows on the first
/// (`is_ring`) it closes upon itself instead.
fn turned(rings: &[(f64, f64, f64)], sides: usize, is_ring: bool) -> Mesh {
    let mut corners = Vec::new();
    for &(station, radius, turn) in rings {
        corners.extend((0..sides).map(|side| {
            let theta = turn + TAU * side as f64 / sides as f64;
            [station, -radius * theta.sin(), radius * theta.cos()]
        }));
    }
    let at = |ring: usize, side: usize| (ring % rings.len() * sides + side % sides) as u32;
    let mut triangles = Vec::new();
    for ring in 0..if is_ring { rings.len() } else { rings.len() - 1 } {
        for side in 0..sides {
            let [a, b, c, d] = [at(ring, side), at(ring, side + 1), at(ring + 1, side + 1), at(ring + 1, side)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    if !is_ring {
        let (first, last) = (corners.len() as u32, corners.len() as u32 + 1);
        corners.extend([[rings[0].0, 0.0, 0.0], [rings[rings.len() - 1].0, 0.0, 0.0]]);
        for side in 0..sides {
            triangles.push([first, at(0, side + 1), at(0, side)]);
            triangles.push([last, at(rings.len() - 1, side), at(rings.len() - 1, side + 1)]);
        }
    }
    Mesh { corners, triangles }
}

#[test]
fn a_cylinder() {
    let cylinder = profile(&[[0.0, 10.0], [100.0, 10.0]]);
    for theta in [0.0, 1.0, 4.0] {
        assert_gap(&cylinder, 50.0, theta, 12.5, 2.5, 1e-12);
        assert_gap(&cylinder, 50.0, theta, 9.0, -1.0, 1e-12);
        assert_gap(&cylinder, 98.0, theta, 3.0, -2.0, 1e-12);
        assert_gap(&cylinder, 103.0, theta, 14.0, 5.0, 1e-12);
        assert_gap(&cylinder, -3.0, theta, 0.0, 3.0, 1e-12);
        assert_gap(&cylinder, 50.0, theta, 0.0, -10.0, 1e-12);
    }
}

#[test]
fn a_cone() {
    // From a radius of 20 down to 5 over 30 mm: normal (1, 2) / √5.
    let cone = profile(&[[0.0, 20.0], [30.0, 5.0]]);
    let normal = [1.0 / 5f64.sqrt(), 2.0 / 5f64.sqrt()];
    for share in [0.2, 0.5, 0.8] {
        let foot = [30.0 * share, 20.0 - 15.0 * share];
        for off in [-1.0, -0.05, 0.001, 2.0] {
            assert_gap(&cone, foot[0] + off * normal[0], 2.0, foot[1] + off * normal[1], off, 1e-9);
        }
    }
}

#[test]
fn a_shoulder() {
    let shoulder = profile(&[[0.0, 10.0], [20.0, 10.0], [20.0, 15.0], [50.0, 15.0]]);
    // Beside the face, in the corner at its foot, over its edge, and past it.
    assert_gap(&shoulder, 19.98, 0.5, 14.0, 0.02, 1e-12);
    assert_gap(&shoulder, 20.02, 0.5, 14.0, -0.02, 1e-12);
    assert_gap(&shoulder, 19.0, 0.5, 10.5, 0.5, 1e-12);
    assert_gap(&shoulder, 17.0, 0.5, 19.0, 5.0, 1e-12);
    assert_gap(&shoulder, 21.0, 0.5, 9.0, -2f64.sqrt(), 1e-12);
    assert_gap(&shoulder, 30.0, 0.5, 14.0, -1.0, 1e-12);
}

#[test]
fn a_sphere() {
    let angles = (0..=2000).map(|k| PI * f64::from(k) / 2000.0);
    let sphere = profile(&angles.map(|a| [30.0 - 12.0 * a.cos(), 12.0 * a.sin().max(0.0)]).collect::<Vec<_>>());
    // The chords lie 12 (1 − cos(π / 4000)) inside it at the most.
    let chord = 12.0 * (1.0 - (PI / 4000.0).cos());
    for (station, radius) in [(30.0, 15.0), (25.0, 3.0), (35.0, 11.0), (45.0, 0.0), (18.5, 1.0), (41.9, 7.0)] {
        let expected = f64::hypot(station - 30.0, radius) - 12.0;
        let gap = sphere.gap(station, 3.0, radius);
        assert!((-1e-9..=chord + 1e-9).contains(&(gap - expected)), "{gap}, {expected}");
    }
    // The same as a mesh: its own estimate of the chord error covers what it is off.
    let rings: Vec<_> =
        (1..60).map(|k| PI * f64::from(k) / 60.0).map(|a| (30.0 - 12.0 * a.cos(), 12.0 * a.sin(), 0.0)).collect();
    let facets = mesh(turned(&rings, 96, false));
    let estimated = facets.greatest_chord();
    let both_ways = 12.0 * (1.0 - (PI / 120.0).cos()) + 12.0 * (1.0 - (PI / 96.0).cos());
    assert!((0.5 * both_ways..=both_ways).contains(&estimated), "{estimated}, {both_ways}");
    for k in 0..500 {
        let (station, theta) = (30.0 + 11.0 * f64::from(k % 21 - 10) / 10.0, f64::from(k) * 0.7);
        let gap = facets.gap(station, theta, (144.0 - (station - 30.0) * (station - 30.0)).sqrt());
        assert!((-1e-9..=2.0 * estimated).contains(&gap), "{gap} at {station}");
    }
}

#[test]
fn facets() {
    let corner = 12.0;
    let hexagon = mesh(turned(&[(0.0, corner, 0.0), (80.0, corner, 0.0)], 6, false));
    let apothem = corner * (PI / 6.0).cos();
    // Over the middle of a flat, beside it, over a corner, and inside.
    assert_gap(&hexagon, 40.0, PI / 6.0, apothem + 0.7, 0.7, 1e-9);
    assert_gap(&hexagon, 40.0, PI / 6.0, apothem - 0.7, -0.7, 1e-9);
    assert_gap(&hexagon, 40.0, PI / 3.0, corner + 0.7, 0.7, 1e-9);
    assert_gap(&hexagon, 40.0, 0.2, 5.0, 5.0 * (PI / 6.0 - 0.2).cos() - apothem, 1e-9);
    assert_gap(&hexagon, 79.6, 0.2, 5.0, -0.4, 1e-9);
    assert_eq!(hexagon.greatest_chord(), 0.0);
}

#[test]
fn rays_through_a_tube_and_through_bodies_that_overlap() {
    let tube = mesh(turned(&[(0.0, 10.0, 0.0), (50.0, 10.0, 0.0), (50.0, 6.0, 0.0), (0.0, 6.0, 0.0)], 360, true));
    let inside = tube.inside(20.0, 1.0);
    assert_eq!(inside.len(), 1);
    assert!((inside[0].0 - 6.0).abs() < 1e-3 && (inside[0].1 - 10.0).abs() < 1e-3, "{inside:?}");
    assert_gap(&tube, 20.0, 0.0, 3.0, 3.0, 1e-3);
    assert_gap(&tube, 20.0, 0.0, 8.0, -2.0, 1e-3);
    let (mut one, other) = (
        turned(&[(0.0, 10.0, 0.0), (30.0, 10.0, 0.0)], 8, false),
        turned(&[(20.0, 8.0, 0.3), (60.0, 8.0, 0.3)], 5, false),
    );
    let offset = one.corners.len() as u32;
    one.corners.extend(other.corners);
    one.triangles.extend(other.triangles.iter().map(|triangle| triangle.map(|corner| corner + offset)));
    let both = mesh(one);
    for (station, theta) in [(10.0, 0.1), (25.0, 0.1), (40.0, 0.3)] {
        let inside = both.inside(station, theta);
        assert_eq!((inside.len(), inside[0].0), (1, 0.0), "at {station}");
    }
}

#[test]
fn a_row_of_rays_is_its_rays_one_by_one_and_misses_nothing() {
    // Stations and angles that run through corners and edges as well as others.
    let solid = mesh(turned(&[(0.0, 9.0, 0.0), (10.0, 9.0, 0.0), (20.0, 5.0, 0.1), (30.0, 11.0, 0.2)], 12, false));
    let columns = 144;
    let directions: Vec<(f64, f64)> =
        (0..columns).map(|j| angle::sin_cos(TAU * f64::from(j) / f64::from(columns))).collect();
    for station in [0.001, 5.0, 10.0, 13.3, 20.0, 29.999, 30.0] {
        let row = solid.row(station, &directions);
        for (column, inside) in (0..columns).zip(&row) {
            assert_eq!(*inside, solid.inside(station, TAU * f64::from(column) / f64::from(columns)));
            assert_eq!((inside.len(), inside[0].0), (1, 0.0), "station {station}, column {column}");
            assert!((4.8..=11.0).contains(&inside[0].1));
        }
    }
    // A corner in the plane of a ray counts as beyond it, so that the first end face is passed over and the last is not.
    assert!([-0.001, 0.0, 30.001].iter().all(|station| solid.row(*station, &directions).iter().all(Vec::is_empty)));
}

#[test]
fn distances_by_a_mesh_library() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    let solid = mesh(Mesh::read(&folder.join("solid.obj"), None).expect("the mesh is read"));
    let mut rows = 0;
    for line in include_str!("data/distances.csv").lines().filter(|line| !line.starts_with('#')) {
        let numbers: Vec<f64> = line.split(',').map(|number| number.trim().parse().expect("a number")).collect();
        let [station, theta, radius, expected] = numbers[..] else { panic!("{line}") };
        assert_gap(&solid, station, theta.to_radians(), radius, expected, 1e-6);
        // A bound on the distance, as tight as may be, changes nothing.
        let point = dryturn_check::target::point_at(station, theta.to_radians(), radius);
        let near = solid.nearest(point, f64::INFINITY);
        assert_eq!(solid.nearest(point, near.distance).distance, near.distance);
        rows += 1;
    }
    assert_eq!(rows, 400);
}
