//! PLY, text and binary of both byte orders, by `ply-rs-bw`; only places and faces are looked at.

use std::io::BufRead;

use ply_rs_bw::parser::{ParseError, Parser, Reader};
use ply_rs_bw::ply::{ElementDef, Encoding, Property, PropertyAccess, PropertyAccessResult};

use super::lines::Counted;
use super::{Gatherer, MOST_TRIANGLES, MeshError, format};

pub(super) fn read(reader: impl BufRead, size: u64, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let mut reader = Reader::new(Counted::new(reader));
    let header = Parser::<Aside>::new().read_header(&mut reader).map_err(|error| refused(&error, true))?;
    let is_text = header.encoding == Encoding::Ascii;
    let refused = |error| refused(&error, is_text);
    if !is_text {
        reader.get_mut().lift_limit();
    }
    let mut corners: Vec<u32> = Vec::new();
    for (name, element) in &header.elements {
        check_count(element, size)?;
        match name.as_str() {
            "vertex" => {
                let read = Parser::<Place>::new().read_payload_for_element(&mut reader, element, &header);
                for (index, place) in read.map_err(refused)?.iter().enumerate() {
                    let Place([Some(x), Some(y), Some(z)]) = *place else {
                        return format("its corners have no x, y and z");
                    };
                    let refuse = |error| format!("corner {}: {error}", index + 1);
                    corners.push(gatherer.corner([x, y, z]).or_else(|error| format(refuse(error)))?);
                }
            }
            "face" => {
                let faces = Parser::<Face>::new().read_payload_for_element(&mut reader, element, &header);
                for (index, Face(face)) in faces.map_err(refused)?.iter().enumerate() {
                    fan(face, index, &corners, gatherer)?;
                }
            }
            _ => {
                Parser::<Aside>::new().read_payload_for_element(&mut reader, element, &header).map_err(refused)?;
            }
        }
    }
    Ok(())
}

/// A count that the file cannot hold is refused before anything is read: each element takes a byte at the least.
fn check_count(element: &ElementDef, size: u64) -> Result<(), MeshError> {
    let name: String = element.name.chars().filter(|letter| letter.is_alphanumeric()).take(40).collect();
    if element.properties.is_empty() && element.count > 0 {
        return format(format!("its element \"{name}\" has no properties"));
    }
    if element.count as u64 > size {
        return format(format!("it says it has {} of \"{name}\", more than the file can hold", element.count));
    }
    if element.count > MOST_TRIANGLES {
        return Err(MeshError::TooLarge(format!("it has more than {MOST_TRIANGLES} of \"{name}\"")));
    }
    Ok(())
}

/// A face with any number of corners, from its first.
fn fan(face: &[i64], index: usize, corners: &[u32], gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let corner = |number: &i64| usize::try_from(*number).ok().and_then(|number| corners.get(number).copied());
    let Some(numbers) = face.iter().map(corner).collect::<Option<Vec<u32>>>() else {
        return format(format!("face {} names a corner that is not there", index + 1));
    };
    let [first, rest @ ..] = numbers.as_slice() else { return Ok(()) };
    rest.windows(2).try_for_each(|pair| gatherer.triangle([*first, pair[0], pair[1]]))
}

fn refused(error: &ParseError, is_text: bool) -> MeshError {
    // The message repeats the line it is about, of any length: its first line says enough.
    let text = error.to_string();
    let text = text.lines().next().unwrap_or_default();
    let text = error.line().and_then(|line| text.strip_prefix(&format!("Line {line}: "))).unwrap_or(text);
    let message: String = text.chars().take(120).collect();
    match error.line().filter(|_| is_text) {
        Some(line) => MeshError::Line { line, message },
        None => MeshError::Format(message),
    }
}

/// An element that is not looked at.
struct Aside;

impl PropertyAccess for Aside {
    fn new() -> Self {
        Aside
    }
}

/// A corner.
struct Place([Option<f64>; 3]);

impl PropertyAccess for Place {
    fn new() -> Self {
        Place([None; 3])
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        let axis = match name {
            "x" => 0,
            "y" => 1,
            "z" => 2,
            _ => return PropertyAccessResult::Ignored,
        };
        self.0[axis] = match property {
            Property::Float(value) => Some(f64::from(value)),
            Property::Double(value) => Some(value),
            Property::Int(value) => Some(f64::from(value)),
            Property::UInt(value) => Some(f64::from(value)),
            Property::Short(value) => Some(f64::from(value)),
            Property::UShort(value) => Some(f64::from(value)),
            Property::Char(value) => Some(f64::from(value)),
            Property::UChar(value) => Some(f64::from(value)),
            _ => return PropertyAccessResult::UnsupportedType,
        };
        PropertyAccessResult::Set
    }
}

/// Corner numbers of a face.
struct Face(Vec<i64>);

impl PropertyAccess for Face {
    fn new() -> Self {
        Face(Vec::new())
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        if !matches!(name, "vertex_indices" | "vertex_index") {
            return PropertyAccessResult::Ignored;
        }
        fn wide<T: Into<i64>>(list: Vec<T>) -> Vec<i64> {
            list.into_iter().map(Into::into).collect()
        }
        self.0 = match property {
            Property::ListInt(list) => wide(list),
            Property::ListUInt(list) => wide(list),
            Property::ListShort(list) => wide(list),
            Property::ListUShort(list) => wide(list),
            Property::ListChar(list) => wide(list),
            Property::ListUChar(list) => wide(list),
            _ => return PropertyAccessResult::UnsupportedType,
        };
        PropertyAccessResult::Set
    }
}
