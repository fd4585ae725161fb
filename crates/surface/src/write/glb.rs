//! GLB, the binary form of glTF 2.0 (Khronos Group, *glTF 2.0 Specification*, 2021; ISO/IEC 12113:2022): metres, +Y up.
//!
//! A body is a node with a mesh, and of its triangles those of one paint are a primitive. All primitives of a body share
//! its positions and normals; vertices on edges stand once for each side.

use std::io::{self, Write};

use serde_json::{Value, json};

use super::model::{Body, Model, Paint};
use crate::normals::Shaded;

/// The marks of the file and its two chunks.
const MAGIC: u32 = 0x4654_6C67;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BIN_CHUNK: u32 = 0x004E_4942;
/// Component types and targets of buffers, by the specification's numbers.
const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const VERTICES: u32 = 34_962;
const INDICES: u32 = 34_963;

/// Writes bodies as GLB.
///
/// # Errors
/// Those of `to`, and [`io::ErrorKind::InvalidInput`] if the file would be larger than the format can tell, 4 GiB.
pub fn write_glb(model: &Model<'_>, to: &mut dyn Write) -> io::Result<()> {
    let parts: Vec<Part<'_>> = model.bodies.iter().map(|body| Part::new(body, model.paints.len())).collect();
    let mut layout = Layout::default();
    let meshes: Vec<Value> = parts.iter().map(|part| layout.mesh(part)).collect();
    let mut json = document(model, meshes, &layout).to_string().into_bytes();
    json.resize(json.len().next_multiple_of(4), b' ');
    let bytes = 12 + 8 + json.len() as u64 + 8 + layout.bytes;
    let too_large = || io::Error::new(io::ErrorKind::InvalidInput, "more than a GLB file can hold, 4 GiB");
    let head = [MAGIC, 2, u32::try_from(bytes).map_err(|_| too_large())?, json.len() as u32, JSON_CHUNK];
    put(&head, to)?;
    to.write_all(&json)?;
    put(&[layout.bytes as u32, BIN_CHUNK], to)?;
    parts.iter().try_for_each(|part| part.write(to))
}

fn put(numbers: &[u32], to: &mut dyn Write) -> io::Result<()> {
    numbers.iter().try_for_each(|number| to.write_all(&number.to_le_bytes()))
}

/// A point of the piece frame, mm, in metres with Y up: turned by a quarter about x.
fn placed([x, y, z]: [f64; 3]) -> [f32; 3] {
    [x, z, -y].map(|coordinate| (coordinate / 1000.0) as f32)
}

fn turned([x, y, z]: [f32; 3]) -> [f32; 3] {
    [x, z, -y]
}

/// A body as it is written.
struct Part<'a> {
    body: &'a Body<'a>,
    shaded: Shaded,
    /// Triangles of each paint.
    painted: Vec<usize>,
}

impl<'a> Part<'a> {
    fn new(body: &'a Body<'a>, paints: usize) -> Part<'a> {
        Part { body, shaded: body.mesh.shaded(), painted: body.painted(paints) }
    }

    fn positions(&self) -> impl Iterator<Item = [f32; 3]> + '_ {
        self.shaded.of.iter().map(|vertex| placed(self.body.mesh.vertices[*vertex as usize]))
    }

    /// Paints that are used.
    fn paints(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.painted.len()).filter(|paint| self.painted[*paint] > 0)
    }

    /// Positions, normals, and the triangles of each paint.
    fn write(&self, to: &mut dyn Write) -> io::Result<()> {
        let triple =
            |numbers: [f32; 3], bytes: &mut Vec<u8>| numbers.iter().for_each(|it| bytes.extend(it.to_le_bytes()));
        super::each(self.positions(), triple, to)?;
        super::each(self.shaded.normals.iter().map(|normal| turned(*normal)), triple, to)?;
        for paint in self.paints() {
            let triangles = self.shaded.triangles.iter().zip(&self.body.mesh.owners);
            let own = triangles.filter(|(_, owner)| (self.body.paint_of)(**owner) == paint);
            let corners = |(corners, _): (&[u32; 3], _), bytes: &mut Vec<u8>| {
                corners.iter().for_each(|it| bytes.extend(it.to_le_bytes()));
            };
            super::each(own, corners, to)?;
        }
        Ok(())
    }
}

/// Where everything lies in the binary chunk.
#[derive(Default)]
struct Layout {
    views: Vec<Value>,
    accessors: Vec<Value>,
    bytes: u64,
}

impl Layout {
    /// The mesh of a part, whose places come next.
    fn mesh(&mut self, part: &Part<'_>) -> Value {
        let count = part.shaded.of.len();
        let none = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
        let (low, high) = part.positions().fold(none, |(low, high), point| {
            (std::array::from_fn(|k| low[k].min(point[k])), std::array::from_fn(|k| high[k].max(point[k])))
        });
        let exact = |numbers: [f32; 3]| numbers.map(f64::from);
        let position = self.accessor(VERTICES, FLOAT, "VEC3", count);
        self.accessors[position]["min"] = json!(exact(low));
        self.accessors[position]["max"] = json!(exact(high));
        let normal = self.accessor(VERTICES, FLOAT, "VEC3", count);
        let attributes = json!({ "POSITION": position, "NORMAL": normal });
        let primitive = |paint: usize| {
            let indices = self.accessor(INDICES, UNSIGNED_INT, "SCALAR", 3 * part.painted[paint]);
            json!({ "attributes": attributes, "indices": indices, "material": paint })
        };
        let primitives: Vec<Value> = part.paints().map(primitive).collect();
        json!({ "name": part.body.name, "primitives": primitives })
    }

    /// The number of a new accessor, with a view of its own.
    fn accessor(&mut self, target: u32, component: u32, kind: &str, count: usize) -> usize {
        let bytes = count as u64 * if kind == "VEC3" { 12 } else { 4 };
        let view = self.views.len();
        self.views.push(json!({ "buffer": 0, "byteOffset": self.bytes, "byteLength": bytes, "target": target }));
        self.accessors.push(json!({ "bufferView": view, "componentType": component, "count": count, "type": kind }));
        self.bytes += bytes;
        view
    }
}

fn document(model: &Model<'_>, meshes: Vec<Value>, layout: &Layout) -> Value {
    let node = |(mesh, body): (usize, &Body<'_>)| json!({ "name": body.name, "mesh": mesh });
    let nodes: Vec<Value> = model.bodies.iter().enumerate().map(node).collect();
    json!({
        "asset": { "version": "2.0", "generator": "dryturn" },
        "scene": 0,
        "scenes": [{ "name": model.title, "nodes": (0..nodes.len()).collect::<Vec<_>>() }],
        "nodes": nodes,
        "meshes": meshes,
        "materials": model.paints.iter().map(material).collect::<Vec<_>>(),
        "accessors": layout.accessors,
        "bufferViews": layout.views,
        "buffers": [{ "byteLength": layout.bytes }],
    })
}

fn material(paint: &Paint) -> Value {
    let [red, green, blue] = paint.color.map(linear);
    json!({
        "name": paint.name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [red, green, blue, 1.0],
            "roughnessFactor": paint.roughness,
            "metallicFactor": paint.metallic,
        },
    })
}

/// A part of an sRGB colour as light, to four decimals (IEC 61966-2-1).
fn linear(part: u8) -> f64 {
    let part = f64::from(part) / 255.0;
    let light = if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) };
    (light * 1e4).round() / 1e4
}
