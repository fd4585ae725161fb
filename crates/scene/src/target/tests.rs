use std::path::Path;

use super::*;
use crate::mesh::OpenMesh;

fn target(path: &Path) -> Target {
    Target {
        file: "part".to_owned(),
        path: path.to_owned(),
        units: None,
        place_x: 0.0,
        place_a_deg: 0.0,
        place_axis: 0,
        place_flip: false,
        span: None,
        after: None,
        gouge: 0.05,
        leftover: 0.3,
        allowance: 0.0,
    }
}

fn read(name: &str, text: &str, change: impl Fn(&mut Target)) -> Result<(TargetShape, Vec<String>), SceneError> {
    read_on(Side::Minus, name, text, change)
}

fn read_on(
    chuck: Side,
    name: &str,
    text: &str,
    change: impl Fn(&mut Target),
) -> Result<(TargetShape, Vec<String>), SceneError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    let mut target = target(&path);
    change(&mut target);
    target.read(chuck)
}

fn rows(text: &str, change: impl Fn(&mut Target)) -> Vec<[f64; 2]> {
    match read("profile.csv", text, change).unwrap().0 {
        TargetShape::Profile(rows) => rows,
        TargetShape::Mesh(_) => panic!("a mesh"),
    }
}

#[test]
fn a_profile_with_shoulders_units_and_place() {
    let text = "station, radius\n# a shoulder\n0, 10\n\n20,10\n20, 15\n50, 12.5\n";
    assert_eq!(rows(text, |_| ()), [[0.0, 10.0], [20.0, 10.0], [20.0, 15.0], [50.0, 12.5]]);
    let inches = rows(text, |target| target.units = Some(LengthUnit::Inch));
    assert!((inches[3][0] - 1270.0).abs() < 1e-9);
    let flipped = rows(text, |target| (target.place_flip, target.place_x) = (true, 60.0));
    assert_eq!(flipped, [[10.0, 12.5], [40.0, 15.0], [40.0, 10.0], [60.0, 10.0]]);
}

#[track_caller]
fn refused(name: &str, text: &str, change: impl Fn(&mut Target), expected: &str) {
    let error = read(name, text, change).expect_err("it is refused").render(false);
    assert!(error.contains(expected), "{error}");
}

#[test]
fn profiles_that_are_wrong_show_the_line() {
    refused("profile.csv", "0,10\n5,x\n", |_| (), "profile.csv:2:1");
    refused("profile.csv", "0,10\n5,10\n4,10\n", |_| (), "the station is behind that of the row before");
    refused("profile.csv", "a,b\nc,d\n0,10\n", |_| (), "profile.csv:2:1");
    refused("profile.csv", "0,10\n5,nan\n", |_| (), "a number is not within 100 m");
    refused("profile.csv", "0,10\n5,-1\n", |_| (), "the radius is below zero");
    refused("profile.csv", "0,10,3\n", |_| (), "this is not a station and a radius");
    refused("profile.csv", "", |_| (), "encloses nothing");
    refused("profile.csv", "5,10\n5,20\n", |_| (), "encloses nothing");
    refused("profile.csv", "0,10\n5,10\n", |target| target.place_axis = 1, "no other axis");
    refused("profile.csv", "-20,10\n-5,10\n", |_| (), "where nothing is compared");
    refused("profile.csv", "0,10\n50,10\n", |target| target.span = Some([60.0, 80.0]), "where nothing is compared");
}

/// A tetrahedron with one corner out along each axis: 1 on x, 2 on y, 3 on z.
const TETRAHEDRON: &str = "v 0 0 0\nv 1 0 0\nv 0 2 0\nv 0 0 3\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";

fn mesh(chuck: Side, change: impl Fn(&mut Target)) -> Mesh {
    match read_on(chuck, "part.obj", TETRAHEDRON, change).unwrap().0 {
        TargetShape::Mesh(mesh) => mesh,
        TargetShape::Profile(_) => panic!("a profile"),
    }
}

#[track_caller]
fn assert_corners(mesh: &Mesh, expected: [[f64; 3]; 3]) {
    for corner in expected {
        let near = |found: &[f64; 3]| found.iter().zip(corner).all(|(a, b)| (a - b).abs() < 1e-12);
        assert!(mesh.corners.iter().any(near), "{corner:?} is not in {:?}", mesh.corners);
    }
    assert!((mesh.volume() - 1.0).abs() < 1e-12, "{}", mesh.volume());
}

#[test]
fn a_mesh_is_put_in_its_place() {
    assert_corners(&mesh(Side::Minus, |_| ()), [[1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0]]);
    // The file's y, then z along the rotary axis: permuted, never mirrored.
    let along_y = mesh(Side::Minus, |target| target.place_axis = 1);
    assert_corners(&along_y, [[0.0, 0.0, 1.0], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0]]);
    let along_z = mesh(Side::Minus, |target| target.place_axis = 2);
    assert_corners(&along_z, [[0.0, 1.0, 0.0], [0.0, 0.0, 2.0], [3.0, 0.0, 0.0]]);
    let flipped = mesh(Side::Minus, |target| (target.place_flip, target.place_x) = (true, 10.0));
    assert_corners(&flipped, [[9.0, 0.0, 0.0], [10.0, -2.0, 0.0], [10.0, 0.0, 3.0]]);
    // θ grows from +z toward −y.
    let turned = mesh(Side::Minus, |target| target.place_a_deg = 90.0);
    assert_corners(&turned, [[1.0, 0.0, 0.0], [0.0, 0.0, 2.0], [0.0, -3.0, 0.0]]);
    // On the plus side θ grows toward the piece's +y, and the blank frame is the piece's mirrored.
    assert_corners(&mesh(Side::Plus, |_| ()), [[1.0, 0.0, 0.0], [0.0, -2.0, 0.0], [0.0, 0.0, 3.0]]);
}

#[test]
fn a_mesh_must_be_closed_and_enclose_something() {
    let open = TETRAHEDRON.replace("f 2 3 4\n", "");
    refused("part.obj", &open, |_| (), "3 of its edges lack a face on one side");
    refused("part.obj", &open, |_| (), "close the shape in the program it was drawn in");
    refused("part.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 3 2\n", |_| (), "encloses nothing");
    refused("part.obj", TETRAHEDRON, |target| target.place_x = -5.0, "where nothing is compared");
    let inward = "v 0 0 0\nv 1 0 0\nv 0 2 0\nv 0 0 3\nf 1 2 3\nf 1 4 2\nf 1 3 4\nf 2 4 3\n";
    let (shape, notes) = read("part.obj", inward, |_| ()).unwrap();
    assert_eq!(notes.len(), 1);
    assert!(matches!(shape, TargetShape::Mesh(mesh) if (mesh.volume() - 1.0).abs() < 1e-12));
    assert_eq!(MeshError::Open(OpenMesh { count: 1, from: [0.0; 3], to: [0.0; 3] }).to_string().lines().count(), 1);
}
