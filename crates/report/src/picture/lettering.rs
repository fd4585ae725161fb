//! Text as outlines of the typefaces built in.

use crate::text;
use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};

/// The typefaces: one for text, one for characters it lacks.
pub(super) struct Lettering {
    text: FontRef<'static>,
    fallback: FontRef<'static>,
}

impl Lettering {
    /// The typefaces; `None` when the built-in files were not fonts.
    pub(super) fn new() -> Option<Lettering> {
        let text = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT).ok()?;
        let fallback = FontRef::try_from_slice(epaint_default_fonts::HACK_REGULAR).ok()?;
        Some(Lettering { text, fallback })
    }

    /// Width of a text in pixels.
    pub(super) fn width(&self, written: &str, size: f32) -> f32 {
        self.placed(written, size).1
    }

    /// The pixels a text covers, from a start on its base line: column, row and how much of it, 255 for all.
    pub(super) fn outline(&self, written: &str, start: (f32, f32), size: f32, mut ink: impl FnMut(i32, i32, u8)) {
        for glyph in self.placed(written, size).0 {
            let font = if glyph.plain { &self.text } else { &self.fallback };
            let at = point(start.0 + glyph.x, start.1);
            let Some(outline) = font.outline_glyph(glyph.id.with_scale_and_position(scale(font, size), at)) else {
                continue;
            };
            let bounds = outline.px_bounds();
            let (left, top) = (bounds.min.x as i32, bounds.min.y as i32);
            outline.draw(|x, y, cover| {
                ink(left + x as i32, top + y as i32, (cover.clamp(0.0, 1.0) * 255.0).round() as u8);
            });
        }
    }

    /// The glyphs of a text with their places from its start, and its width.
    fn placed(&self, written: &str, size: f32) -> (Vec<Placed>, f32) {
        let mut glyphs: Vec<Placed> = Vec::new();
        let mut x = 0.0;
        // Neither typeface has the sign for a diameter; the letter looks the same.
        for character in text::plain(written).replace('⌀', "Ø").chars() {
            let (plain, character) = if self.text.glyph_id(character).0 != 0 {
                (true, character)
            } else {
                (false, if self.fallback.glyph_id(character).0 != 0 { character } else { '?' })
            };
            let font = if plain { &self.text } else { &self.fallback };
            let scaled = font.as_scaled(scale(font, size));
            let id = scaled.glyph_id(character);
            if let Some(before) = glyphs.last().filter(|before| before.plain == plain) {
                x += scaled.kern(before.id, id);
            }
            glyphs.push(Placed { id, plain, x });
            x += scaled.h_advance(id);
        }
        (glyphs, x)
    }

    /// The text cut so that it fits a width, with an ellipsis where something is missing.
    pub(super) fn fitted(&self, written: &str, size: f32, width: i32) -> String {
        // No line of a page holds more characters than this, so a longer text is not even measured.
        let start: String = written.chars().take(1000).collect();
        let whole = text::plain(&start);
        if self.width(&whole, size) <= width as f32 {
            return whole;
        }
        // No character of these fonts is narrower than a fifth of the size.
        let mut count = whole.chars().count().min((width.max(0) as f32 / size * 5.0) as usize);
        while count > 0 && self.width(&text::cut(&whole, count), size) > width as f32 {
            count -= 1;
        }
        text::cut(&whole, count)
    }
}

/// A glyph, which font it is from, and its place from the start of the text.
struct Placed {
    id: ab_glyph::GlyphId,
    plain: bool,
    x: f32,
}

/// Pixels an em, rather than a line height, so that both fonts look as large.
fn scale(font: &FontRef, size: f32) -> PxScale {
    PxScale::from(size * font.height_unscaled() / font.units_per_em().unwrap_or(1000.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_to_fit() {
        let lettering = Lettering::new().unwrap();
        let cut = lettering.fitted(&"long title ".repeat(1000), 20.0, 300);
        assert!(cut.ends_with('…') && lettering.width(&cut, 20.0) <= 300.0 && cut.chars().count() > 20);
        assert_eq!(lettering.fitted("short", 20.0, 300), "short");
        assert_eq!(lettering.fitted("short", 20.0, 0), "");
    }

    #[test]
    fn what_the_pictures_write_is_in_the_typefaces() {
        let lettering = Lettering::new().unwrap();
        for character in "θ°−–…×Øµ½¼′″≤²³ äßé".chars() {
            let found = lettering.text.glyph_id(character).0 + lettering.fallback.glyph_id(character).0;
            assert!(found != 0, "{character}");
        }
    }
}
