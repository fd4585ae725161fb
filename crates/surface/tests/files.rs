//! Written meshes read back as what they were.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, BufReader, Write};
use std::path::Path;

use common::{holes, sound};
use dryturn_carve::RunOptions;
use dryturn_scene::Mesh as Read;
use dryturn_surface::{Body, Kind, Mesh, Model, Paint, write_3mf, write_glb, write_ply, write_stl};
use ply_rs_bw::parser::Parser;
use ply_rs_bw::ply::{DefaultElement, Property};

/// What writes a mesh to a sink.
type Writer = fn(&Mesh, &mut dyn Write) -> io::Result<()>;

/// A blind hole, thinned: over the distances that single precision holds apart.
fn mesh() -> Mesh {
    let mesh = holes().swap_remove(1).mesh(0.5).thinned(0.005, &RunOptions::default()).unwrap();
    sound("blind hole", &mesh);
    mesh
}

fn written(mesh: &Mesh, name: &str, writer: Writer, folder: &Path) -> std::path::PathBuf {
    let path = folder.join(name);
    writer(mesh, &mut File::create(&path).unwrap()).unwrap();
    path
}

#[test]
fn both_formats_are_read_back_closed_and_with_their_volume() {
    let (mesh, folder) = (mesh(), tempfile::tempdir().unwrap());
    for (name, writer) in [("piece.stl", write_stl as Writer), ("piece.ply", write_ply)] {
        let read = Read::read(&written(&mesh, name, writer, folder.path()), None).unwrap();
        read.check_closed().unwrap_or_else(|fault| panic!("{name}: {fault}"));
        assert_eq!(read.triangles.len(), mesh.triangles.len(), "{name}");
        assert!((read.volume() / mesh.volume_mm3() - 1.0).abs() < 1e-6, "{name}");
    }
}

#[test]
fn a_ply_file_holds_every_vertex_kind_and_owner_to_the_bit() {
    let (mesh, folder) = (mesh(), tempfile::tempdir().unwrap());
    let path = written(&mesh, "piece.ply", write_ply, folder.path());
    let ply = Parser::<DefaultElement>::new().read_ply(&mut BufReader::new(File::open(path).unwrap())).unwrap();
    let (vertices, faces) = (&ply.payload["vertex"], &ply.payload["face"]);
    assert_eq!((vertices.len(), faces.len()), (mesh.vertices.len(), mesh.triangles.len()));
    for ((read, vertex), kind) in vertices.iter().zip(&mesh.vertices).zip(&mesh.kinds) {
        for (name, number) in ["x", "y", "z"].iter().zip(vertex) {
            assert_eq!(read[*name], Property::Double(*number));
        }
        let number = match kind {
            Kind::Smooth => 1,
            Kind::Edge => 2,
            Kind::Corner => 3,
        };
        assert_eq!(read["kind"], Property::UChar(number));
    }
    for ((read, triangle), owner) in faces.iter().zip(&mesh.triangles).zip(&mesh.owners) {
        assert_eq!(read["vertex_indices"], Property::ListUInt(triangle.to_vec()));
        assert_eq!(read["owner"], Property::UInt(*owner));
    }
}

#[test]
fn an_stl_file_is_as_long_as_it_must_be_and_does_not_look_like_text() {
    let (mesh, mut bytes) = (mesh(), Vec::new());
    write_stl(&mesh, &mut bytes).unwrap();
    assert_eq!(bytes.len(), 84 + 50 * mesh.triangles.len());
    assert!(!bytes.starts_with(b"solid"));
    assert_eq!(bytes[80..84], (mesh.triangles.len() as u32).to_le_bytes());
    // The normal of the first triangle is its own.
    let float = |at: usize| f64::from(f32::from_le_bytes(bytes[84 + 4 * at..88 + 4 * at].try_into().unwrap()));
    let [normal, a, b, c] = [0, 3, 6, 9].map(|at| glam::DVec3::new(float(at), float(at + 1), float(at + 2)));
    assert!((b - a).cross(c - a).normalize().dot(normal) > 1.0 - 1e-6);
}

#[test]
fn another_library_reads_the_stl_file_and_finds_it_closed() {
    let (mesh, mut bytes) = (mesh(), Vec::new());
    write_stl(&mesh, &mut bytes).unwrap();
    let read = stl_io::read_stl(&mut io::Cursor::new(bytes)).unwrap();
    read.validate().unwrap();
    assert_eq!(read.faces.len(), mesh.triangles.len());
}

#[test]
fn vertices_that_single_precision_does_not_tell_apart_stay_apart_in_an_stl_file() {
    // All corners of a speck so small have the same numbers there.
    let speck = Mesh::block([30.0, -2.0, 0.0], [[1e-7, 0.0, 0.0], [0.0, 1e-8, 0.0], [0.0, 0.0, 1e-9]]);
    let mut two = speck.clone();
    two.add(speck);
    let mut bytes = Vec::new();
    write_stl(&two, &mut bytes).unwrap();
    let read = stl_io::read_stl(&mut io::Cursor::new(bytes)).unwrap();
    assert_eq!((read.vertices.len(), read.faces.len()), (16, 24));
    let ways = |face: &stl_io::IndexedTriangle| [0, 1, 2].map(|k| (face.vertices[k], face.vertices[(k + 1) % 3]));
    let edges: BTreeSet<(usize, usize)> = read.faces.iter().flat_map(ways).collect();
    assert_eq!(edges.len(), 72, "an edge is run through twice in one sense");
    assert!(edges.iter().all(|&(from, to)| edges.contains(&(to, from))));
    let far = |it: &stl_io::Vertex| (it[0] - 30.0).abs().max((it[1] + 2.0).abs()).max(it[2].abs());
    assert!(read.vertices.iter().all(|it| far(it) < 2e-5));
}

fn paints() -> Vec<Paint> {
    let paint = |name: &str, color| Paint { name: name.to_owned(), color, roughness: 0.5, metallic: 0.0 };
    vec![paint("maple <hard> & dry", [255, 128, 0]), paint("cutter 1", [0, 10, 255]), paint("steel", [9, 9, 9])]
}

/// A mesh and a block as two bodies; what the blank and the cutter have made of the first is told apart.
fn as_two(mesh: &Mesh, writer: fn(&Model<'_>, &mut dyn Write) -> io::Result<()>, to: &mut dyn Write) -> io::Result<()> {
    let block = Mesh::block([30.0, -2.0, 10.0], [[4.0, 0.0, 0.0], [0.0, 5.0, 0.0], [0.0, 0.0, 6.0]]);
    let bodies = [
        Body { name: "piece \"1\"", mesh, paint_of: &|owner| usize::from(owner == 0) },
        Body { name: "jaw", mesh: &block, paint_of: &|_| 2 },
    ];
    writer(&Model { title: "A <test> & more", paints: &paints(), bodies: &bodies }, to)
}

fn two_as_glb(mesh: &Mesh, to: &mut dyn Write) -> io::Result<()> {
    as_two(mesh, write_glb, to)
}

fn two_as_3mf(mesh: &Mesh, to: &mut dyn Write) -> io::Result<()> {
    as_two(mesh, write_3mf, to)
}

/// Positions and normals of a body in a GLB file, brought back to the piece frame, and its triangles with their paints.
struct FromGlb {
    positions: Vec<[f64; 3]>,
    normals: Vec<[f64; 3]>,
    triangles: Vec<([u32; 3], usize)>,
}

fn from_glb(bytes: &[u8], name: &str) -> FromGlb {
    let glb = gltf::Glb::from_slice(bytes).unwrap();
    let file = gltf::Gltf::from_slice(bytes).unwrap();
    let binary = glb.bin.as_ref().unwrap();
    let node = file.nodes().find(|node| node.name() == Some(name)).unwrap();
    // No transform: the frame is in the numbers.
    assert_eq!(
        node.transform().matrix(),
        gltf::scene::Transform::Matrix { matrix: glam::Mat4::IDENTITY.to_cols_array_2d() }.matrix()
    );
    let back = |[x, y, z]: [f32; 3], scale: f64| [x, -z, y].map(|it| scale * f64::from(it));
    let (mut positions, mut normals, mut triangles) = (Vec::new(), Vec::new(), Vec::new());
    for primitive in node.mesh().unwrap().primitives() {
        let reader = primitive.reader(|_| Some(binary));
        positions = reader.read_positions().unwrap().map(|it| back(it, 1000.0)).collect();
        normals = reader.read_normals().unwrap().map(|it| back(it, 1.0)).collect();
        let corners: Vec<u32> = reader.read_indices().unwrap().into_u32().collect();
        let paint = primitive.material().index().unwrap();
        triangles.extend(corners.chunks_exact(3).map(|it| ([it[0], it[1], it[2]], paint)));
    }
    FromGlb { positions, normals, triangles }
}

#[test]
fn a_glb_file_is_sound_to_the_byte() {
    let (mesh, mut bytes) = (mesh(), Vec::new());
    two_as_glb(&mesh, &mut bytes).unwrap();
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!((&bytes[..4], word(4), word(8)), (&b"glTF"[..], 2, bytes.len()));
    let json = word(12);
    assert_eq!((json % 4, &bytes[16..20], &bytes[20 + json + 4..20 + json + 8]), (0, &b"JSON"[..], &b"BIN\0"[..]));
    let binary = word(20 + json);
    assert_eq!(28 + json + binary, bytes.len());
    // The library checks indices, counts and the presence of bounds; the rest is looked at here.
    let file = gltf::Gltf::from_slice(&bytes).unwrap();
    let mut end = 0;
    for accessor in file.accessors() {
        let view = accessor.view().unwrap();
        assert_eq!((view.offset() % 4, accessor.offset(), view.stride()), (0, 0, None));
        assert_eq!((view.offset(), view.length()), (end, accessor.count() * accessor.size()));
        end += view.length();
    }
    assert_eq!(end, binary);
    assert_eq!(file.buffers().next().unwrap().length(), binary);
}

#[test]
fn a_glb_file_tells_places_and_bounds_in_metres_with_y_up() {
    let (mesh, mut bytes) = (mesh(), Vec::new());
    two_as_glb(&mesh, &mut bytes).unwrap();
    let file = gltf::Gltf::from_slice(&bytes).unwrap();
    assert_eq!(file.scenes().next().unwrap().name(), Some("A <test> & more"));
    let names: Vec<_> = file.nodes().map(|node| node.name().unwrap().to_owned()).collect();
    assert_eq!(names, ["piece \"1\"", "jaw"]);
    let read = from_glb(&bytes, "piece \"1\"");
    assert_eq!(read.triangles.len(), mesh.triangles.len());
    // A tenth of a micrometre: single precision over 25 mm.
    let near = |a: [f64; 3], b: [f64; 3]| (0..3).all(|k| (a[k] - b[k]).abs() < 1e-4);
    let shaded = mesh.shaded();
    assert!(shaded.of.iter().zip(&read.positions).all(|(of, read)| near(mesh.vertices[*of as usize], *read)));
    let cut = mesh.owners.iter().filter(|owner| **owner == 0).count();
    assert!(cut > 0 && cut < mesh.owners.len());
    assert_eq!(read.triangles.iter().filter(|(_, paint)| *paint == 1).count(), cut);
    for accessor in file.accessors().filter(|accessor| accessor.min().is_some()) {
        let of = |value: gltf::json::Value| -> Vec<f64> {
            value.as_array().unwrap().iter().map(|it| it.as_f64().unwrap()).collect()
        };
        let view = accessor.view().unwrap();
        let binary = gltf::Glb::from_slice(&bytes).unwrap().bin.unwrap();
        let numbers: Vec<f64> = binary[view.offset()..view.offset() + view.length()]
            .chunks_exact(4)
            .map(|it| f64::from(f32::from_le_bytes(it.try_into().unwrap())))
            .collect();
        for (k, (low, high)) in of(accessor.min().unwrap()).iter().zip(&of(accessor.max().unwrap())).enumerate() {
            let along = numbers.iter().skip(k).step_by(3);
            let (least, most) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), it| (a.min(*it), b.max(*it)));
            assert_eq!((*low as f32, *high as f32), (least as f32, most as f32));
        }
    }
}

#[test]
fn normals_in_a_glb_file_are_those_of_the_faces_beside_them() {
    let (mesh, mut bytes) = (mesh(), Vec::new());
    two_as_glb(&mesh, &mut bytes).unwrap();
    // Slivers that thinning leaves may lie askew within its bound; all of them together are next to nothing.
    for (name, most) in [("jaw", 0.0), ("piece \"1\"", 1e-3)] {
        let read = from_glb(&bytes, name);
        let (mut askew, mut all) = (0.0, 0.0);
        for (triangle, _) in &read.triangles {
            let [a, b, c] = triangle.map(|it| glam::DVec3::from_array(read.positions[it as usize]));
            let twice = (b - a).cross(c - a);
            let normals = triangle.map(|it| glam::DVec3::from_array(read.normals[it as usize]));
            assert!(normals.iter().all(|normal| (normal.length() - 1.0).abs() < 1e-5));
            let is_beside = normals.iter().all(|normal| normal.dot(twice) > 0.98 * twice.length());
            askew += if is_beside { 0.0 } else { twice.length() };
            all += twice.length();
        }
        assert!(askew <= most * all, "{name}: {askew} of {all}");
    }
}

#[test]
fn a_3mf_file_holds_bodies_names_and_colours_and_is_read_back() {
    let (mesh, folder) = (mesh(), tempfile::tempdir().unwrap());
    let path = written(&mesh, "two.3mf", two_as_3mf, folder.path());
    let read = Read::read(&path, None).unwrap();
    read.check_closed().unwrap();
    assert_eq!(read.triangles.len(), mesh.triangles.len() + 12);
    assert!((read.volume() / (mesh.volume_mm3() + 120.0) - 1.0).abs() < 1e-7);
    let mut archive = zip::ZipArchive::new(File::open(&path).unwrap()).unwrap();
    let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
    assert_eq!(names, ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]);
    let text = io::read_to_string(archive.by_name("3D/3dmodel.model").unwrap()).unwrap();
    for part in [
        "unit=\"millimeter\"",
        "<metadata name=\"Title\">A &lt;test&gt; &amp; more</metadata>",
        "<base name=\"maple &lt;hard&gt; &amp; dry\" displaycolor=\"#FF8000\"/>",
        "name=\"piece &quot;1&quot;\"",
        "<item objectid=\"3\"/>",
    ] {
        assert!(text.contains(part), "{part}");
    }
    let cut = mesh.owners.iter().filter(|owner| **owner == 0).count();
    let others = mesh.owners.len() - cut;
    assert_eq!(text.matches("p1=\"").count(), cut.min(others));
    // Whenever it is written, the bytes are the same.
    let mut again = Vec::new();
    two_as_3mf(&mesh, &mut again).unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), again);
}

/// A disk that is full after some bytes.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 = self.0.checked_sub(bytes.len()).ok_or_else(|| io::Error::from(io::ErrorKind::StorageFull))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_told() {
    let mesh = mesh();
    for writer in [write_stl as Writer, write_ply, two_as_glb, two_as_3mf] {
        let mut bytes = Vec::new();
        writer(&mesh, &mut bytes).unwrap();
        for room in [0, 50, 83, 90, 3000, bytes.len() - 1] {
            assert_eq!(writer(&mesh, &mut Full(room)).unwrap_err().kind(), io::ErrorKind::StorageFull);
        }
        writer(&mesh, &mut Full(bytes.len())).unwrap();
    }
}
