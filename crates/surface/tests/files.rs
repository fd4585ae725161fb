//! Written meshes read back as what they were.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::fs::File;
use std::io::{self, BufReader, Write};
use std::path::Path;

use common::{holes, sound};
use dryturn_carve::RunOptions;
use dryturn_scene::Mesh as Read;
use dryturn_surface::{Kind, Mesh, write_ply, write_stl};
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
    for writer in [write_stl as Writer, write_ply] {
        let mut bytes = Vec::new();
        writer(&mesh, &mut bytes).unwrap();
        for room in [0, 50, 83, 90, 3000, bytes.len() - 1] {
            assert_eq!(writer(&mesh, &mut Full(room)).unwrap_err().kind(), io::ErrorKind::StorageFull);
        }
        writer(&mesh, &mut Full(bytes.len())).unwrap();
    }
}
