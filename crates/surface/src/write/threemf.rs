//! 3MF (3MF Consortium, *Core Specification* 1.3; ISO/IEC 25422:2025): a zip archive with a model in XML, millimetres.
//!
//! Every body is an object of its own. The bytes do not depend on when they are written.

use std::io::{self, Write};

use quick_xml::escape::escape;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::model::{Body, Model};

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
 <Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
 <Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"#;

const RELATIONSHIPS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
 <Relationship Target="/3D/3dmodel.model" Id="model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"#;

/// The number of the list of paints; objects are numbered on from it.
const PAINTS: usize = 1;
/// About the most that a vertex and a triangle take in the model, bytes; over 4 GB the archive needs wider numbers.
const VERTEX_BYTES: u64 = 64;
const TRIANGLE_BYTES: u64 = 72;

/// Writes bodies as 3MF.
///
/// # Errors
/// Those of `to`.
pub fn write_3mf(model: &Model<'_>, to: &mut dyn Write) -> io::Result<()> {
    archive(model, &mut Latch { to, has_refused: false })
}

/// A sink that after its first refusal takes everything and keeps nothing: an archive that is given up would otherwise
/// try to end, and complain on standard error.
struct Latch<'a> {
    to: &'a mut dyn Write,
    has_refused: bool,
}

impl Write for Latch<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.has_refused {
            return Ok(bytes.len());
        }
        let written = self.to.write(bytes);
        self.has_refused = written.is_err();
        written
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn archive(model: &Model<'_>, to: &mut Latch<'_>) -> io::Result<()> {
    let mut zip = ZipWriter::new_stream(to);
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default());
    for (name, text) in [("[Content_Types].xml", TYPES), ("_rels/.rels", RELATIONSHIPS)] {
        zip.start_file(name, options)?;
        zip.write_all(text.as_bytes())?;
    }
    let bytes: u64 = model.bodies.iter().map(about).sum();
    zip.start_file("3D/3dmodel.model", options.large_file(bytes > u64::from(u32::MAX)))?;
    write_model(model, &mut zip)?;
    zip.finish().map(drop).map_err(io::Error::from)
}

fn about(body: &Body<'_>) -> u64 {
    body.mesh.vertices.len() as u64 * VERTEX_BYTES + body.mesh.triangles.len() as u64 * TRIANGLE_BYTES
}

fn write_model(model: &Model<'_>, to: &mut dyn Write) -> io::Result<()> {
    write!(
        to,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n \
         <metadata name=\"Title\">{}</metadata>\n <metadata name=\"Application\">dryturn</metadata>\n \
         <resources>\n  <basematerials id=\"{PAINTS}\">\n",
        escape(model.title)
    )?;
    for paint in model.paints {
        let [red, green, blue] = paint.color;
        let name = escape(&paint.name);
        writeln!(to, "   <base name=\"{name}\" displaycolor=\"#{red:02X}{green:02X}{blue:02X}\"/>")?;
    }
    writeln!(to, "  </basematerials>")?;
    for (number, body) in (PAINTS + 1..).zip(model.bodies) {
        write_object(number, body, model.paints.len(), to)?;
    }
    writeln!(to, " </resources>\n <build>")?;
    for number in (PAINTS + 1..).take(model.bodies.len()) {
        writeln!(to, "  <item objectid=\"{number}\"/>")?;
    }
    writeln!(to, " </build>\n</model>")
}

/// An object; its own paint is the one that most of it has.
fn write_object(number: usize, body: &Body<'_>, paints: usize, to: &mut dyn Write) -> io::Result<()> {
    let painted = body.painted(paints);
    let own = (0..paints).rev().max_by_key(|paint| painted[*paint]).unwrap_or(0);
    writeln!(
        to,
        "  <object id=\"{number}\" type=\"model\" name=\"{}\" pid=\"{PAINTS}\" pindex=\"{own}\">\n   <mesh>\n    <vertices>",
        escape(body.name)
    )?;
    super::each(&body.mesh.vertices, put_vertex, to)?;
    writeln!(to, "    </vertices>\n    <triangles>")?;
    let triangles = body.mesh.triangles.iter().zip(&body.mesh.owners);
    super::each(triangles, |(corners, owner), text| put_triangle(*corners, (body.paint_of)(*owner), own, text), to)?;
    writeln!(to, "    </triangles>\n   </mesh>\n  </object>")
}

fn put_vertex(vertex: &[f64; 3], text: &mut Vec<u8>) {
    text.extend(b"<vertex");
    for (name, coordinate) in [b" x=\"", b" y=\"", b" z=\""].into_iter().zip(vertex) {
        text.extend(name);
        put_millimetres(*coordinate, text);
        text.push(b'"');
    }
    text.extend(b"/>\n");
}

/// A length in millimetres to the nanometre, without noughts that say nothing.
fn put_millimetres(length: f64, text: &mut Vec<u8>) {
    let written = format!("{length:.6}");
    let written = written.trim_end_matches('0').trim_end_matches('.');
    text.extend(if written == "-0" { b"0" } else { written.as_bytes() });
}

fn put_triangle([a, b, c]: [u32; 3], paint: usize, own: usize, text: &mut Vec<u8>) {
    let paint = if paint == own { String::new() } else { format!(" pid=\"{PAINTS}\" p1=\"{paint}\"") };
    text.extend(format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"{paint}/>\n").into_bytes());
}
