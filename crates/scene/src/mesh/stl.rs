//! STL, binary and text. Read by hand: whether a file is binary shows in its length alone, as headers lie.

use std::io::{BufRead, Read};

use super::lines::next_line;
use super::{Gatherer, MeshError, format};

/// Bytes before the triangles, and of each.
const HEAD: u64 = 84;
const RECORD: u64 = 50;

pub(super) fn read(mut reader: impl BufRead, size: u64, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let mut head = Vec::new();
    reader.by_ref().take(HEAD).read_to_end(&mut head)?;
    let count = head.get(80..84).map(|bytes| bytes.iter().rev().fold(0u64, |sum, &byte| sum << 8 | u64::from(byte)));
    let is_text = head.trim_ascii_start().get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"));
    match count {
        Some(count) if size == HEAD + RECORD * count => binary(reader, count, gatherer),
        _ if is_text => text(head.as_slice().chain(reader), gatherer),
        Some(count) => format(format!(
            "it is neither a text (it does not begin with \"solid\") nor as long as a binary file of {count} triangles \
             ({} bytes, not {size})",
            HEAD + RECORD * count
        )),
        None => format("it is too short for an STL file"),
    }
}

fn binary(mut reader: impl Read, count: u64, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let mut record = [0; RECORD as usize];
    for _ in 0..count {
        reader.read_exact(&mut record)?;
        let number =
            |at: usize| f64::from(f32::from_le_bytes([record[at], record[at + 1], record[at + 2], record[at + 3]]));
        let mut corners = [0; 3];
        for (index, corner) in corners.iter_mut().enumerate() {
            *corner = gatherer.corner(std::array::from_fn(|axis| number(12 + 12 * index + 4 * axis)))?;
        }
        gatherer.triangle(corners)?;
    }
    Ok(())
}

/// Words as they come: facet and loop are lines around the corners that bring nothing new.
fn text(mut reader: impl BufRead, gatherer: &mut Gatherer) -> Result<(), MeshError> {
    let (mut line, mut number) = (Vec::new(), 1);
    let mut corners: Vec<u32> = Vec::new();
    let mut is_ended = false;
    while next_line(&mut reader, &mut line, number)? {
        let refuse = |message: &str| MeshError::Line { line: number, message: message.to_owned() };
        let text = String::from_utf8_lossy(&line);
        let mut words = text.split_ascii_whitespace();
        match words.next().map(str::to_ascii_lowercase).as_deref() {
            Some("vertex") => {
                let point = point(words).ok_or_else(|| refuse("a vertex needs three numbers"))?;
                corners.push(gatherer.corner(point).map_err(|error| refuse(&error.to_string()))?);
            }
            Some("endfacet") => {
                let &[a, b, c] = corners.as_slice() else { return Err(refuse("a facet needs three corners")) };
                gatherer.triangle([a, b, c])?;
                corners.clear();
            }
            Some("endsolid") => is_ended = true,
            Some("solid" | "facet" | "outer" | "endloop") | None => is_ended = false,
            Some(_) => return Err(refuse("this is no line of an STL text")),
        }
        if corners.len() > 3 {
            return Err(refuse("a facet has more than three corners"));
        }
        number += 1;
    }
    if !is_ended || !corners.is_empty() {
        let message = "the file ends before its \"endsolid\"".to_owned();
        return Err(MeshError::Line { line: number, message });
    }
    Ok(())
}

fn point<'a>(mut words: impl Iterator<Item = &'a str>) -> Option<[f64; 3]> {
    let mut number = || words.next()?.parse().ok();
    let point = [number()?, number()?, number()?];
    words.next().is_none().then_some(point)
}
