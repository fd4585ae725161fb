//! The model of a 3MF file: objects with meshes or components, and the items that are built.

use std::collections::BTreeMap;

use quick_xml::events::BytesStart;

use super::super::{Gatherer, MOST_TRIANGLES, MeshError, format};
use super::{Start, attribute};

/// Deepest nesting of components.
const DEEPEST: usize = 16;
/// Most objects put in place.
const MOST_PLACED: usize = 1_000_000;

/// Rows of an affine transform: a point (x, y, z, 1) times it.
type Transform = [[f64; 3]; 4];
const IDENTITY: Transform = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 0.0]];

#[derive(Default)]
struct Object {
    corners: Vec<[f64; 3]>,
    triangles: Vec<[u32; 3]>,
    components: Vec<(u32, Transform)>,
    /// Supports and the like are no part of the shape.
    is_aside: bool,
}

/// What has been read of a model.
#[derive(Default)]
pub(super) struct Model {
    unit: Option<f64>,
    objects: BTreeMap<u32, Object>,
    items: Vec<(u32, Transform)>,
    open: Option<(u32, Object)>,
}

impl Model {
    /// The unit the file names, in mm.
    pub(super) fn millimetres(&self) -> f64 {
        self.unit.unwrap_or(1.0)
    }

    pub(super) fn take(&mut self, event: Start<'_>) -> Result<(), MeshError> {
        match event {
            Start::Element(element) => self.begin(element),
            Start::Empty(element) => {
                self.begin(element)?;
                self.end(element.local_name().as_ref())
            }
            Start::End(name) => self.end(name),
        }
    }

    fn begin(&mut self, element: &BytesStart<'_>) -> Result<(), MeshError> {
        match element.local_name().as_ref() {
            b"model" => self.unit = Some(unit(attribute(element, b"unit")?.as_deref())?),
            b"object" => {
                let kind = attribute(element, b"type")?;
                let is_aside = kind.is_some_and(|kind| kind != "model" && kind != "solidsupport");
                self.open = Some((number(element, b"id")?, Object { is_aside, ..Object::default() }));
            }
            b"vertex" => {
                let place = [number(element, b"x")?, number(element, b"y")?, number(element, b"z")?];
                self.object()?.corners.push(place);
            }
            b"triangle" => {
                let corners = [number(element, b"v1")?, number(element, b"v2")?, number(element, b"v3")?];
                let object = self.object()?;
                object.triangles.push(corners);
                if object.triangles.len() > MOST_TRIANGLES {
                    return Err(MeshError::TooLarge(format!("an object has more than {MOST_TRIANGLES} triangles")));
                }
            }
            b"component" => {
                let placed = placed(element)?;
                self.object()?.components.push(placed);
            }
            b"item" => self.items.push(placed(element)?),
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &[u8]) -> Result<(), MeshError> {
        if name == b"object"
            && let Some((id, object)) = self.open.take()
            && self.objects.insert(id, object).is_some()
        {
            return format(format!("there are two objects {id}"));
        }
        Ok(())
    }

    fn object(&mut self) -> Result<&mut Object, MeshError> {
        match &mut self.open {
            Some((_, object)) => Ok(object),
            None => format("an element stands outside its object"),
        }
    }

    /// Puts everything in place, in mm.
    pub(super) fn build(&self, unit: f64, gatherer: &mut Gatherer) -> Result<(), MeshError> {
        if self.items.is_empty() {
            return format("the model builds nothing");
        }
        let mut placed = 0;
        gatherer.scale = unit;
        self.items.iter().try_for_each(|(id, transform)| self.place(*id, transform, 0, &mut placed, gatherer))
    }

    fn place(
        &self,
        id: u32,
        transform: &Transform,
        depth: usize,
        placed: &mut usize,
        gatherer: &mut Gatherer,
    ) -> Result<(), MeshError> {
        *placed += 1;
        if depth > DEEPEST || *placed > MOST_PLACED {
            return format("its components nest too deep or are too many; does one hold itself?");
        }
        let Some(object) = self.objects.get(&id) else { return format(format!("there is no object {id}")) };
        if object.is_aside {
            return Ok(());
        }
        for (id, inner) in &object.components {
            self.place(*id, &after(inner, transform), depth + 1, placed, gatherer)?;
        }
        let corners = object
            .corners
            .iter()
            .map(|point| gatherer.corner(moved(point, transform)))
            .collect::<Result<Vec<u32>, MeshError>>()?;
        let is_mirrored = determinant(transform) < 0.0;
        for triangle in &object.triangles {
            let [Some(a), Some(b), Some(c)] = triangle.map(|corner| corners.get(corner as usize).copied()) else {
                return format(format!("a triangle of object {id} names a corner that is not there"));
            };
            gatherer.triangle(if is_mirrored { [a, c, b] } else { [a, b, c] })?;
        }
        Ok(())
    }
}

fn unit(name: Option<&str>) -> Result<f64, MeshError> {
    Ok(match name.unwrap_or("millimeter") {
        "micron" => 1e-3,
        "millimeter" => 1.0,
        "centimeter" => 10.0,
        "inch" => 25.4,
        "foot" => 304.8,
        "meter" => 1000.0,
        _ => return format("its unit is none of 3MF"),
    })
}

fn number<T: std::str::FromStr>(element: &BytesStart<'_>, name: &[u8]) -> Result<T, MeshError> {
    let number = attribute(element, name)?.and_then(|text| text.trim().parse().ok());
    let missing = || MeshError::Format(format!("a number {} is missing or wrong", String::from_utf8_lossy(name)));
    number.ok_or_else(missing)
}

/// An object's number and its transform, of a component or an item.
fn placed(element: &BytesStart<'_>) -> Result<(u32, Transform), MeshError> {
    if attribute(element, b"path")?.is_some() {
        return format("an object in another part of the archive is not supported");
    }
    let Some(text) = attribute(element, b"transform")? else { return Ok((number(element, b"objectid")?, IDENTITY)) };
    let numbers: Option<Vec<f64>> = text.split_ascii_whitespace().map(|number| number.parse().ok()).collect();
    let Some(&[a, b, c, d, e, f, g, h, i, x, y, z]) = numbers.as_deref() else {
        return format("a transform needs twelve numbers");
    };
    Ok((number(element, b"objectid")?, [[a, b, c], [d, e, f], [g, h, i], [x, y, z]]))
}

fn moved(point: &[f64; 3], by: &Transform) -> [f64; 3] {
    std::array::from_fn(|k| point[0] * by[0][k] + point[1] * by[1][k] + point[2] * by[2][k] + by[3][k])
}

/// The transform that does the one, then the other.
fn after(one: &Transform, other: &Transform) -> Transform {
    let turned = |row: &[f64; 3]| moved(row, &[other[0], other[1], other[2], [0.0; 3]]);
    [turned(&one[0]), turned(&one[1]), turned(&one[2]), moved(&one[3], other)]
}

fn determinant(by: &Transform) -> f64 {
    let [x, y, z] = super::super::cross(by[1], by[2]);
    by[0][0] * x + by[0][1] * y + by[0][2] * z
}
