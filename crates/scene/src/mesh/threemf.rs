//! 3MF (3MF Consortium, Core Specification 1.3): a zip archive with a model in XML. Read with `zip` and `quick-xml`, which
//! leave it to us to keep count of what comes out of the archive and of what the model refers to.

mod model;

use std::fs::File;
use std::io::{BufReader, Read};

use dryturn_geom::units::LengthUnit;
use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;

use super::{Gatherer, MeshError, format};
use model::Model;

/// Most files in the archive.
const MOST_FILES: usize = 10_000;
/// Most bytes that come out of the archive.
const MOST_BYTES: u64 = 1 << 30;
/// From here on what comes out may be no more than so many times what went in, bytes.
const SUSPICIOUS: u64 = 64 << 20;
const MOST_TIMES: u64 = 100;
/// Deepest nesting of elements.
const DEEPEST: usize = 64;
/// Where the model usually is.
const USUAL_PLACE: &str = "3D/3dmodel.model";

pub(super) fn read(file: File, units: Option<LengthUnit>, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let mut archive = ZipArchive::new(BufReader::new(file)).map_err(|error| no_archive(&error.to_string()))?;
    if archive.len() > MOST_FILES {
        return Err(MeshError::TooLarge(format!("the archive holds more than {MOST_FILES} files")));
    }
    let place = place_of_model(&mut archive)?;
    let mut model = Model::default();
    parse(&mut archive, &place, |event| model.take(event))?;
    let own = model.millimetres();
    model.build(units.map_or(own, LengthUnit::in_mm), gatherer)
}

fn no_archive(message: &str) -> MeshError {
    MeshError::Format(format!("it is not a readable zip archive: {message}"))
}

/// The part of the archive that its relationships name as the model.
fn place_of_model(archive: &mut ZipArchive<BufReader<File>>) -> Result<String, MeshError> {
    let mut place = None;
    if archive.index_for_name("_rels/.rels").is_some() {
        parse(archive, "_rels/.rels", |event| {
            if let Start::Element(element) | Start::Empty(element) = event
                && element.local_name().as_ref() == b"Relationship"
                && attribute(element, b"Type")?.is_some_and(|kind| kind.ends_with("/3dmodel"))
            {
                place = attribute(element, b"Target")?;
            }
            Ok(())
        })?;
    }
    let place = place.unwrap_or_else(|| USUAL_PLACE.to_owned());
    Ok(place.trim_start_matches('/').to_owned())
}

/// What a model is built from: elements that begin and end.
enum Start<'a> {
    Element(&'a BytesStart<'a>),
    Empty(&'a BytesStart<'a>),
    End(&'a [u8]),
}

/// Runs through the elements of a part of the archive.
fn parse(
    archive: &mut ZipArchive<BufReader<File>>,
    place: &str,
    mut take: impl FnMut(Start<'_>) -> Result<(), MeshError>,
) -> Result<(), MeshError> {
    let entry = archive.by_name(place).map_err(|error| no_archive(&format!("{place:.80}: {error}")))?;
    let packed = entry.compressed_size();
    let limit = MOST_BYTES.min(packed.saturating_mul(MOST_TIMES).max(SUSPICIOUS));
    let mut reader = quick_xml::Reader::from_reader(BufReader::with_capacity(1 << 16, entry.take(limit + 1)));
    let (mut buffer, mut depth) = (Vec::new(), 0usize);
    loop {
        buffer.clear();
        let event = reader.read_event_into(&mut buffer);
        let at = reader.buffer_position();
        if at > limit {
            return Err(MeshError::TooLarge(format!(
                "{place:.80} unpacks to more than {} MiB, far more than the {packed} bytes it takes in the archive",
                limit >> 20
            )));
        }
        let refuse = |message: String| MeshError::Format(format!("{place:.80}, before byte {at}: {message:.120}"));
        let known = |error: MeshError| match error {
            MeshError::Format(message) => refuse(message),
            error => error,
        };
        match event.map_err(|error| refuse(error.to_string()))? {
            Event::Start(element) => {
                depth += 1;
                if depth > DEEPEST {
                    return format(format!("{place:.80} nests more than {DEEPEST} elements"));
                }
                take(Start::Element(&element)).map_err(known)?;
            }
            Event::Empty(element) => take(Start::Empty(&element)).map_err(known)?,
            Event::End(element) => {
                depth = depth.saturating_sub(1);
                take(Start::End(element.local_name().as_ref())).map_err(known)?;
            }
            // Entities could make little much; no 3MF has any.
            Event::DocType(_) => return Err(refuse("a document type is not allowed here".to_owned())),
            Event::Eof if depth > 0 => return Err(refuse("the text ends in the middle".to_owned())),
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// The value of an attribute by its local name.
fn attribute(element: &BytesStart<'_>, name: &[u8]) -> Result<Option<String>, MeshError> {
    for attribute in element.attributes() {
        let attribute = attribute.map_err(|error| MeshError::Format(error.to_string()))?;
        if attribute.key.local_name().as_ref() == name {
            return Ok(Some(String::from_utf8_lossy(&attribute.value).into_owned()));
        }
    }
    Ok(None)
}
