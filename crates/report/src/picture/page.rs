//! A drawing of areas, lines and text, as a picture of pixels or of paths.
//!
//! The same parts make the PNG and the SVG, so that both show the same.

use std::fmt::Write;

use super::canvas::{Align, Canvas, Colour};
use super::lettering::Lettering;
use super::style::PAPER;
use crate::text;

/// A place on the page, pixels from its upper left corner.
pub(super) type At = (f32, f32);

/// One part of a drawing.
pub(super) enum Part {
    /// An area of one colour.
    Area { corners: Vec<At>, colour: Colour },
    /// A line through points.
    Line { points: Vec<At>, width: f32, is_dashed: bool, colour: Colour },
    /// A text on a base line.
    Text { written: String, at: At, align: Align, size: f32, colour: Colour },
}

/// A page under way.
pub(super) struct Page {
    width: i32,
    height: i32,
    parts: Vec<Part>,
    lettering: Lettering,
}

/// Length of a dash and of the gap after it, pixels.
const DASHES: [f32; 2] = [5.0, 4.0];

impl Page {
    /// An empty page; `None` when the built-in files were not fonts.
    pub(super) fn new(width: i32, height: i32) -> Option<Page> {
        Some(Page { width, height, parts: Vec::new(), lettering: Lettering::new()? })
    }

    /// Width of a text, pixels.
    pub(super) fn width_of(&self, written: &str, size: f32) -> f32 {
        self.lettering.width(written, size)
    }

    pub(super) fn area(&mut self, corners: Vec<At>, colour: Colour) {
        self.parts.push(Part::Area { corners, colour });
    }

    pub(super) fn rectangle(&mut self, from: At, to: At, colour: Colour) {
        self.area(vec![from, (to.0, from.1), to, (from.0, to.1)], colour);
    }

    pub(super) fn line(&mut self, points: Vec<At>, width: f32, colour: Colour) {
        self.parts.push(Part::Line { points, width, is_dashed: false, colour });
    }

    pub(super) fn dashed(&mut self, points: Vec<At>, width: f32, colour: Colour) {
        self.parts.push(Part::Line { points, width, is_dashed: true, colour });
    }

    /// A text, cut to so many pixels.
    pub(super) fn write(&mut self, written: &str, at: At, align: Align, size: f32, colour: Colour, room: f32) {
        let written = self.lettering.fitted(written, size, room.max(0.0) as i32);
        self.parts.push(Part::Text { written, at, align, size, colour });
    }

    /// The page as a PNG file; `None` when there is no room for it.
    pub(super) fn png(self) -> Option<Result<Vec<u8>, png::EncodingError>> {
        let mut canvas = Canvas::new(self.width, self.height, PAPER, self.lettering)?;
        for part in &self.parts {
            match part {
                Part::Area { corners, colour } => canvas.fill(corners, *colour),
                Part::Line { points, width, is_dashed, colour } => {
                    canvas.stroke(points, *width, is_dashed.then_some(DASHES), *colour);
                }
                Part::Text { written, at, align, size, colour } => {
                    canvas.write(written, (at.0.round() as i32, at.1.round() as i32), *align, *size, *colour);
                }
            }
        }
        Some(canvas.png())
    }

    /// The page as an SVG file.
    pub(super) fn svg(&self, title: &str) -> String {
        let (width, height) = (self.width, self.height);
        let mut file = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             font-family=\"Ubuntu, 'DejaVu Sans', sans-serif\">\n<title>{}</title>\n<rect width=\"100%\" height=\"100%\" \
             fill=\"{}\"/>\n",
            escaped(title),
            hex(PAPER)
        );
        for part in &self.parts {
            // Writing into a text cannot fail.
            let _ = match part {
                Part::Area { corners, colour } => {
                    writeln!(file, "<path d=\"{}Z\" fill=\"{}\"/>", path(corners), hex(*colour))
                }
                Part::Line { points, width, is_dashed, colour } => {
                    let dashes = if *is_dashed { " stroke-dasharray=\"5 4\"" } else { "" };
                    let (path, colour) = (path(points), hex(*colour));
                    writeln!(
                        file,
                        "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"{dashes}/>"
                    )
                }
                Part::Text { written, at, align, size, colour } => {
                    let anchor = match align {
                        Align::Left => "start",
                        Align::Center => "middle",
                        Align::Right => "end",
                    };
                    let (written, colour) = (escaped(written), hex(*colour));
                    writeln!(
                        file,
                        "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size}\" text-anchor=\"{anchor}\" \
                         fill=\"{colour}\">{written}</text>",
                        at.0, at.1
                    )
                }
            };
        }
        file + "</svg>\n"
    }
}

fn path(points: &[At]) -> String {
    let mut path = String::new();
    for (index, (x, y)) in points.iter().enumerate() {
        let _ = write!(path, "{}{x:.1} {y:.1}", if index == 0 { 'M' } else { 'L' });
    }
    path
}

fn hex([red, green, blue]: Colour) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Text that XML takes as it is.
fn escaped(written: &str) -> String {
    let plain = text::plain(written);
    // XML knows no such characters, not even escaped.
    let known = plain.chars().filter(|character| !matches!(character, '\u{fffe}' | '\u{ffff}'));
    quick_xml::escape::escape(known.collect::<String>()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quick_xml::Reader;
    use quick_xml::events::Event;

    proptest! {
        #[test]
        fn no_text_breaks_out_of_the_file(title in any::<String>(), written in any::<String>()) {
            let mut page = Page::new(200, 100).unwrap();
            page.write(&written, (10.0, 10.0), Align::Left, 12.0, [0; 3], 1e6);
            let file = page.svg(&title);
            let mut reader = Reader::from_str(&file);
            let mut tags = Vec::new();
            loop {
                match reader.read_event().unwrap() {
                    Event::Eof => break,
                    Event::Start(tag) | Event::Empty(tag) => tags.push(tag.name().as_ref().to_vec()),
                    Event::Comment(_) | Event::CData(_) | Event::PI(_) | Event::DocType(_) => prop_assert!(false),
                    _ => {}
                }
            }
            prop_assert_eq!(tags, [&b"svg"[..], b"title", b"rect", b"text"]);
        }
    }
}
