use std::io::Write;
use std::path::PathBuf;

use super::*;

/// A file of its own folder, which goes with the test.
fn file(name: &str, bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).unwrap();
    (folder, path)
}

fn read(name: &str, bytes: &[u8]) -> Result<Mesh, MeshError> {
    let (_folder, path) = file(name, bytes);
    Mesh::read(&path, None)
}

#[track_caller]
fn refused(name: &str, bytes: &[u8], expected: &str) {
    let error = read(name, bytes).expect_err("it is refused");
    let text = error.to_string();
    assert!(text.contains(expected), "{text}");
    assert!(text.len() < 400, "{text}");
    assert!(!error.help().is_empty());
}

const CORNERS: [[f64; 3]; 4] = [[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0], [0.0, 0.0, 4.0]];
/// Outward faces of a tetrahedron of 4 mm³.
const FACES: [[u32; 3]; 4] = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];

#[track_caller]
fn assert_tetrahedron(mesh: &Mesh, scale: f64) {
    assert_eq!((mesh.corners.len(), mesh.triangles.len()), (4, 4));
    assert!((mesh.volume() / scale.powi(3) - 4.0).abs() < 1e-9, "{}", mesh.volume());
    mesh.check_closed().unwrap();
}

fn stl_text() -> String {
    let facet = |face: [u32; 3]| {
        let corner = |number: u32| {
            let [x, y, z] = CORNERS[number as usize];
            format!("      vertex {x} {y:e} {z}\n")
        };
        format!("  facet normal 0 0 0\n    outer loop\n{}    endloop\n  endfacet\n", face.map(corner).concat())
    };
    format!("solid part\n{}endsolid part\n", FACES.map(facet).concat())
}

fn stl_binary(head: &[u8; 80], count: u32, faces: &[[u32; 3]]) -> Vec<u8> {
    let mut bytes = head.to_vec();
    bytes.extend(count.to_le_bytes());
    for face in faces {
        bytes.extend([0; 12]);
        for corner in face {
            bytes.extend(CORNERS[*corner as usize].iter().flat_map(|&number| (number as f32).to_le_bytes()));
        }
        bytes.extend([0xff, 0xff]);
    }
    bytes
}

#[test]
fn stl_as_text_and_binary() {
    assert_tetrahedron(&read("part.stl", stl_text().as_bytes()).unwrap(), 1.0);
    assert_tetrahedron(&read("PART.STL", stl_text().replace('\n', "\r\n").as_bytes()).unwrap(), 1.0);
    assert_tetrahedron(&read("part.stl", &stl_binary(&[b' '; 80], 4, &FACES)).unwrap(), 1.0);
    // A header that begins as a text does not make one.
    let mut head = [b' '; 80];
    head[..5].copy_from_slice(b"solid");
    assert_tetrahedron(&read("part.stl", &stl_binary(&head, 4, &FACES)).unwrap(), 1.0);
    let (_folder, path) = file("part.stl", stl_text().as_bytes());
    assert_tetrahedron(&Mesh::read(&path, Some(LengthUnit::Inch)).unwrap(), 25.4);
}

#[test]
fn stl_counts_that_lie() {
    let head = [b'x'; 80];
    for count in [0, 1, 3, 5, 1 << 31, u32::MAX] {
        refused("part.stl", &stl_binary(&head, count, &FACES), "as long as a binary file");
    }
    for length in [0, 1, 5, 79, 83] {
        refused("part.stl", &vec![b'x'; length], "too short");
    }
    refused("part.stl", &stl_binary(&head, 0, &[]), "no triangle");
    let mut longer = stl_binary(&head, 4, &FACES);
    longer.push(0);
    refused("part.stl", &longer, "as long as a binary file");
}

#[test]
fn stl_texts_that_are_wrong_name_the_line() {
    refused("part.stl", b"solid\nfacet normal 0 0 1\nouter loop\nvertex 1 2\n", "line 4: a vertex needs three numbers");
    refused("part.stl", b"solid\nvertex 1 2 nan\n", "line 2: a corner is not at a place");
    refused("part.stl", b"solid\nvertex 1 2 1e300\n", "line 2");
    refused("part.stl", b"solid\nvertex 1 2 3\nendfacet\n", "line 3: a facet needs three corners");
    refused("part.stl", "solid\nvertex 1 2 3\n".repeat(5).as_bytes(), "more than three corners");
    refused("part.stl", b"solid\nfact\n", "line 2: this is no line of an STL text");
    refused("part.stl", stl_text().replace("endsolid part", "").as_bytes(), "ends before its \"endsolid\"");
    refused("part.stl", format!("solid{}\n", " ".repeat(2 << 20)).as_bytes(), "longer than 1 MiB");
}

#[test]
fn obj() {
    let corners: String = CORNERS.iter().map(|[x, y, z]| format!("v {x} {y} {z}\n")).collect();
    let plain: String = FACES.iter().map(|[a, b, c]| format!("f {} {} {}\n", a + 1, b + 1, c + 1)).collect();
    assert_tetrahedron(&read("part.obj", format!("# a part\no one\n{corners}{plain}").as_bytes()).unwrap(), 1.0);
    let rich = format!("mtllib none.mtl\n{corners}vt 0 0\nvn 0 0 1\nusemtl red\ns off\n");
    let all: String = FACES.iter().map(|[a, b, c]| format!("f {}/1/1 {}/1/1 {}/1/1\n", a + 1, b + 1, c + 1)).collect();
    assert_tetrahedron(&read("part.obj", format!("{rich}{all}").as_bytes()).unwrap(), 1.0);
    // Counted back from the last corner.
    let back: String =
        FACES.iter().map(|face| format!("f {}\n", face.map(|n| (n as i32 - 4).to_string()).join(" "))).collect();
    assert_tetrahedron(&read("part.obj", format!("{corners}{back}").as_bytes()).unwrap(), 1.0);
}

#[test]
fn obj_that_is_wrong_names_the_line() {
    refused("part.obj", b"v 0 0 0\nv 1 0\n", "line 2");
    refused("part.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "out of bounds");
    refused("part.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4000000000\n", "out of bounds");
    refused("part.obj", b"v 0 0 0\nf 1 2 99999999999999999999\n", "line 2");
    refused("part.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf -4 -1 -2\n", "");
    refused("part.obj", b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "a corner is not at a place");
    refused("part.obj", b"v 0 0 0\nv 1 0 0\n", "no triangle");
    refused("part.obj", &[0xff; 100], "");
    refused("part.obj", "v ".repeat(1 << 20).as_bytes(), "line 1");
}

fn ply_head(encoding: &str, corners: &str, faces: &str) -> String {
    format!(
        "ply\nformat {encoding} 1.0\ncomment a part\nelement vertex {corners}\nproperty float x\nproperty float y\n\
         property float z\nelement face {faces}\nproperty list uchar int vertex_indices\nend_header\n"
    )
}

#[test]
fn ply_as_text_and_binary() {
    let corners: String = CORNERS.iter().map(|[x, y, z]| format!("{x} {y} {z}\n")).collect();
    let faces: String = FACES.iter().map(|[a, b, c]| format!("3 {a} {b} {c}\n")).collect();
    let text = format!("{}{corners}{faces}", ply_head("ascii", "4", "4"));
    assert_tetrahedron(&read("part.ply", text.as_bytes()).unwrap(), 1.0);
    let with_colors = text.replace("property float z\n", "property float z\nproperty uchar red\n");
    assert!(read("part.ply", with_colors.as_bytes()).is_err());
    for big in [false, true] {
        let mut bytes = ply_head(if big { "binary_big_endian" } else { "binary_little_endian" }, "4", "4").into_bytes();
        for number in CORNERS.iter().flatten() {
            let number = *number as f32;
            bytes.extend(if big { number.to_be_bytes() } else { number.to_le_bytes() });
        }
        for face in FACES {
            bytes.push(3);
            bytes.extend(face.iter().flat_map(|&n| if big { n.to_be_bytes() } else { n.to_le_bytes() }));
        }
        assert_tetrahedron(&read("part.ply", &bytes).unwrap(), 1.0);
        bytes.pop();
        refused("part.ply", &bytes, "");
    }
}

#[test]
fn ply_counts_that_lie() {
    refused("part.ply", ply_head("ascii", "1000000000", "4").as_bytes(), "more than the file can hold");
    refused("part.ply", ply_head("ascii", "99999999999999999999999", "4").as_bytes(), "");
    refused("part.ply", ply_head("ascii", "-1", "4").as_bytes(), "");
    refused("part.ply", ply_head("ascii", "4", "4").as_bytes(), "line");
    refused("part.ply", b"ply\nformat ascii 1.0\nelement nothing 2000000000\nend_header\n", "no properties");
    refused("part.ply", b"ply\nformat ascii 1.0\nend_header\n", "no triangle");
    refused("part.ply", b"ply\n", "");
    refused("part.ply", b"", "");
    let long_list = "ply\nformat binary_little_endian 1.0\nelement vertex 1\nproperty list uint float x\nend_header\n";
    refused("part.ply", &[long_list.as_bytes(), &[0xff; 8]].concat(), "");
    let face = format!("{}0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n", ply_head("ascii", "3", "1"));
    refused("part.ply", face.as_bytes(), "face 1 names a corner that is not there");
    refused("part.ply", face.replace("0 1 0\n", "0 nan 0\n").as_bytes(), "line 13");
    let long_line = format!("{}{}\n", ply_head("ascii", "1", "1"), "1 ".repeat(1 << 20));
    refused("part.ply", long_line.as_bytes(), "");
}

const RELATIONS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="r0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/part.model"/></Relationships>"#;

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = zip::ZipWriter::new(&mut bytes);
    for (name, content) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.finish().unwrap();
    bytes.into_inner()
}

fn model(unit: &str, rest: &str) -> Vec<u8> {
    let corners: String = CORNERS.iter().map(|[x, y, z]| format!("<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>")).collect();
    let faces: String = FACES.iter().map(|[a, b, c]| format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>")).collect();
    let text = format!(
        "<?xml version=\"1.0\"?><model unit=\"{unit}\"><resources><object id=\"1\" type=\"model\"><mesh><vertices>{corners}\
         </vertices><triangles>{faces}</triangles></mesh></object>{rest}</model>"
    );
    archive(&[("_rels/.rels", RELATIONS.as_bytes()), ("3D/part.model", text.as_bytes())])
}

const BUILD: &str = "</resources><build><item objectid=\"1\"/></build>";

#[test]
fn threemf_with_its_own_unit_and_with_components() {
    assert_tetrahedron(&read("part.3mf", &model("millimeter", BUILD)).unwrap(), 1.0);
    assert_tetrahedron(&read("part.3mf", &model("inch", BUILD)).unwrap(), 25.4);
    let (_folder, path) = file("part.3mf", &model("inch", BUILD));
    assert_tetrahedron(&Mesh::read(&path, Some(LengthUnit::Millimetre)).unwrap(), 1.0);
    let placed = "<object id=\"2\"><components><component objectid=\"1\" transform=\"0 1 0 -1 0 0 0 0 1 10 0 0\"/>\
         <component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 -1 0 0 -5\"/></components></object></resources>\
         <build><item objectid=\"2\" transform=\"2 0 0 0 2 0 0 0 2 0 0 1\"/></build>";
    let mesh = read("part.3mf", &model("millimeter", placed)).unwrap();
    mesh.check_closed().unwrap();
    assert!((mesh.volume() - 64.0).abs() < 1e-9, "a mirrored part faces outward too");
    // (2, 0, 0) turned a quarter, moved by 10, doubled, lifted by 1.
    assert!(mesh.corners.contains(&[20.0, 4.0, 1.0]), "{:?}", mesh.corners);
}

#[test]
fn threemf_that_is_wrong() {
    refused("part.3mf", b"", "not a readable zip archive");
    refused("part.3mf", &[b'P'; 1000], "not a readable zip archive");
    refused("part.3mf", &archive(&[("a.txt", b"")]), "not a readable zip archive: 3D/3dmodel.model");
    refused("part.3mf", &model("cubit", BUILD), "unit");
    refused("part.3mf", &model("millimeter", "</resources>"), "builds nothing");
    refused("part.3mf", &model("millimeter", &BUILD.replace('1', "7")), "no object 7");
    refused("part.3mf", &model("millimeter", &BUILD.replace("/>", " transform=\"1 2\"/>")), "twelve numbers");
    refused("part.3mf", &model("millimeter", "</resources><build><item objectid=\"1\"/>"), "before byte");
    let itself = "<object id=\"2\"><components><component objectid=\"2\"/></components></object></resources>\
         <build><item objectid=\"2\"/></build>";
    refused("part.3mf", &model("millimeter", itself), "nest too deep");
    let many: String = (2..=15)
        .map(|n| {
            let inside = format!("<component objectid=\"{}\"/>", n - 1).repeat(10);
            format!("<object id=\"{n}\"><components>{inside}</components></object>")
        })
        .collect();
    let many = format!("{many}</resources><build><item objectid=\"15\"/></build>");
    refused("part.3mf", &model("millimeter", &many), "too many");
    let deep = format!("{}{}", "<a>".repeat(100_000), "</a>".repeat(100_000));
    refused("part.3mf", &model("millimeter", &deep), "nests more than");
    let laughs = "<!DOCTYPE lolz [<!ENTITY lol \"lol\"><!ENTITY lol2 \"&lol;&lol;&lol;\">]><model>&lol2;</model>";
    refused("part.3mf", &archive(&[("3D/3dmodel.model", laughs.as_bytes())]), "document type");
}

#[test]
fn an_archive_that_unpacks_without_end_is_cut_short() {
    let bomb = vec![b' '; 300 << 20];
    refused("part.3mf", &archive(&[("3D/3dmodel.model", &bomb)]), "far more than");
}

#[test]
fn what_no_mesh_is_called() {
    refused("part.step", b"ISO-10303-21;", "does not end in stl, obj, ply or 3mf");
    let missing = Mesh::read(std::path::Path::new("/nowhere/part.stl"), None).unwrap_err();
    assert!(matches!(missing, MeshError::Read(_)));
}

#[test]
fn an_open_mesh_names_an_edge() {
    let mut mesh = Mesh { corners: CORNERS.to_vec(), triangles: FACES.to_vec() };
    mesh.check_closed().unwrap();
    mesh.turn_inside_out();
    mesh.check_closed().unwrap();
    assert_eq!(mesh.volume(), -4.0);
    mesh.triangles.pop();
    let open = mesh.check_closed().unwrap_err();
    assert_eq!(open, OpenMesh { count: 3, from: CORNERS[1], to: CORNERS[2] });
    let text = open.to_string();
    assert!(text.contains("3 of its edges lack a face on one side, one of them from (2, 0, 0) to (0, 3, 0)"), "{text}");
    // One face turned the wrong way does not close with its neighbours.
    let mut turned = Mesh { corners: CORNERS.to_vec(), triangles: FACES.to_vec() };
    turned.triangles[0].swap(0, 1);
    assert_eq!(turned.check_closed().unwrap_err().count, 3);
}
