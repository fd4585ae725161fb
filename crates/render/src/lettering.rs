//! Dimension lines, drawn over a picture.

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};
use glam::DVec2;
use tiny_skia::{FillRule, LineCap, Paint, Path, PathBuilder, Pixmap, Stroke, Transform};

use crate::view::Camera;
use crate::{Ground, Line, Picture};

/// Dark and light: of these one is the ink, the other the rim that keeps it legible on any ground.
const DARK: [u8; 3] = [24, 26, 29];
const LIGHT: [u8; 3] = [255, 255, 255];

/// Draws lines over a picture of this camera, dark on light ground and light on dark.
pub(crate) fn write(picture: &mut Picture, lines: &[Line], camera: &Camera, ground: Ground) {
    let Some(mut page) = Pixmap::new(picture.width, picture.height).filter(|_| !lines.is_empty()) else { return };
    let Ok(font) = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT) else { return };
    let size = [picture.width, picture.height].map(f64::from);
    let unit = unit(size);
    let is_dark = matches!(ground, Ground::Plain([red, green, blue]) if u32::from(red) + 2 * u32::from(green) + u32::from(blue) < 400);
    let (ink, rim) = if is_dark { (LIGHT, DARK) } else { (DARK, LIGHT) };
    let drawn: Vec<Drawn> = lines.iter().filter_map(|line| Drawn::new(line, camera, size, unit, &font)).collect();
    // All rims first, so that none of them cuts into another line's ink.
    for drawn in &drawn {
        drawn.rim(&mut page, unit, &paint(rim));
    }
    for drawn in &drawn {
        drawn.ink(&mut page, unit, &paint(ink));
    }
    lay_over(picture, &page);
}

/// A 900th of a picture's shorter side, pixels; letters of small pictures stay legible.
fn unit(size: [f64; 2]) -> f64 {
    (size[0].min(size[1]) / 900.0).max(0.6)
}

/// Height of letters, in units.
const LETTERS: f64 = 24.0;
/// Room at both ends of a text, in units, and from there to the end of a line that it stands beyond.
const ROOM: f64 = 8.0;
const BEYOND: f64 = 10.0;

/// How far beyond its end the text of a line reaches that stands there, pixels.
pub(crate) fn reach(line: &Line, size: [f64; 2]) -> f64 {
    let Ok(font) = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT) else { return 0.0 };
    let unit = unit(size);
    Label::new(&line.text, &font, LETTERS * unit).width + (2.0 * ROOM + BEYOND) * unit
}

/// A line as it lies in the picture.
struct Drawn {
    strokes: Option<Path>,
    heads: Option<Path>,
    text: Option<Path>,
}

impl Drawn {
    /// `None` where a part of it is behind the eye. `unit` is a 900th of the picture's shorter side, pixels.
    fn new(line: &Line, camera: &Camera, size: [f64; 2], unit: f64, font: &FontRef<'_>) -> Option<Drawn> {
        let at = |from: [f64; 3], by: f64| {
            let place = std::array::from_fn(|axis| from[axis] + by * line.offset[axis]);
            camera.seen_at(place, size)
        };
        let feet = [at(line.from, 0.0)?, at(line.to, 0.0)?];
        let ends = [at(line.from, 1.0)?, at(line.to, 1.0)?];
        let along = (ends[1] - ends[0]).try_normalize()?;
        let label = Label::new(&line.text, font, LETTERS * unit);
        let middle = 0.5 * (ends[0] + ends[1]);
        // Turned along the line, and never upside down; the line makes room for it.
        let reading = if along.x < -0.02 || (along.x < 0.02 && along.y > 0.0) { -along } else { along };
        let room = 0.5 * label.width + ROOM * unit;
        let fits = line.beyond.is_none() && (ends[1] - ends[0]).length() > 2.0 * room + 40.0 * unit;
        let mut strokes = PathBuilder::new();
        for (foot, end) in feet.into_iter().zip(ends) {
            let Some(way) = (end - foot).try_normalize() else { continue };
            let (gap, beyond) = (way * 5.0 * unit, way * 6.0 * unit);
            if (end - foot).length() > 8.0 * unit {
                segment(&mut strokes, foot + gap, end + beyond);
            }
        }
        if fits {
            segment(&mut strokes, ends[0], middle - along * room);
            segment(&mut strokes, middle + along * room, ends[1]);
        } else {
            segment(&mut strokes, ends[0], ends[1]);
        }
        let mut heads = PathBuilder::new();
        head(&mut heads, ends[0], -along, unit);
        head(&mut heads, ends[1], along, unit);
        // Where the line lies on the piece or is too short to make room, the text stands beyond one of its ends: the far one, if it fits there.
        let beside = along * (room + BEYOND * unit);
        let [from, to] = [line.from, line.to].map(glam::DVec3::from_array);
        let far = to + (to - from).normalize_or_zero() * line.beyond.unwrap_or(0.0);
        let far = at(far.to_array(), 1.0)?;
        if line.beyond.is_some_and(|beyond| beyond > 0.0) {
            segment(&mut strokes, ends[1], far);
        }
        let places = if fits { vec![middle] } else { vec![far + beside, ends[0] - beside] };
        let inside = |at: &DVec2| label.inside(*at, reading, size, 4.0 * unit);
        let place = places.iter().copied().find(|at| inside(at) == *at).unwrap_or_else(|| inside(&places[0]));
        let text = label.path(place, reading);
        Some(Drawn { strokes: strokes.finish(), heads: heads.finish(), text })
    }

    fn rim(&self, page: &mut Pixmap, unit: f64, paint: &Paint<'_>) {
        let mut around = |path: &Option<Path>, width: f64| {
            if let Some(path) = path {
                page.stroke_path(path, paint, &stroke(width * unit), Transform::identity(), None);
            }
        };
        around(&self.strokes, 4.4);
        around(&self.heads, 3.6);
        around(&self.text, 5.0);
    }

    fn ink(&self, page: &mut Pixmap, unit: f64, paint: &Paint<'_>) {
        if let Some(path) = &self.strokes {
            page.stroke_path(path, paint, &stroke((1.4 * unit).max(1.0)), Transform::identity(), None);
        }
        for path in [&self.heads, &self.text].into_iter().flatten() {
            page.fill_path(path, paint, FillRule::Winding, Transform::identity(), None);
        }
        if let Some(path) = &self.text {
            // The typeface is a light one; at this size it wants a little more ink.
            page.stroke_path(path, paint, &stroke(0.5 * unit), Transform::identity(), None);
        }
    }
}

fn segment(path: &mut PathBuilder, from: DVec2, to: DVec2) {
    path.move_to(from.x as f32, from.y as f32);
    path.line_to(to.x as f32, to.y as f32);
}

/// A slender arrow head, its tip at a point.
fn head(path: &mut PathBuilder, tip: DVec2, toward: DVec2, unit: f64) {
    let back = tip - toward * 15.0 * unit;
    let side = toward.perp() * 2.7 * unit;
    path.move_to(tip.x as f32, tip.y as f32);
    path.line_to((back + side).x as f32, (back + side).y as f32);
    path.line_to((back - side).x as f32, (back - side).y as f32);
    path.close();
}

/// A text, set and measured.
struct Label<'a> {
    font: &'a FontRef<'a>,
    glyphs: Vec<Glyph>,
    width: f64,
    /// Height of a capital.
    height: f64,
}

impl<'a> Label<'a> {
    fn new(text: &str, font: &'a FontRef<'a>, size: f64) -> Label<'a> {
        let scale = PxScale::from(size as f32);
        let scaled = font.as_scaled(scale);
        let (mut glyphs, mut x): (Vec<Glyph>, f32) = (Vec::new(), 0.0);
        // The typeface has no sign for a diameter; the letter looks the same.
        for character in text.chars().filter(|it| !it.is_control()).map(|it| if it == '⌀' { 'Ø' } else { it }) {
            let id = scaled.glyph_id(character);
            x += glyphs.last().map_or(0.0, |last| scaled.kern(last.id, id));
            glyphs.push(id.with_scale_and_position(scale, point(x, 0.0)));
            x += scaled.h_advance(id);
        }
        Label { font, glyphs, width: f64::from(x), height: 0.5 * size }
    }

    /// The place nearest to one at which its middle must be for all of it to lie in the picture, `margin` pixels from the
    /// border.
    fn inside(&self, center: DVec2, along: DVec2, size: [f64; 2], margin: f64) -> DVec2 {
        let [wide, high] = [0.5 * self.width, self.height];
        let half = (along.abs() * wide + along.perp().abs() * high + margin).min(0.5 * DVec2::from(size));
        center.clamp(half, DVec2::from(size) - half)
    }

    /// Its outlines, centered at a place and running along a direction.
    fn path(&self, center: DVec2, along: DVec2) -> Option<Path> {
        let mut path = PathBuilder::new();
        for glyph in &self.glyphs {
            let Some(outline) = self.font.outline(glyph.id) else { continue };
            let scale = self.font.as_scaled(glyph.scale);
            let (x, y) = (f64::from(scale.h_scale_factor()), f64::from(scale.v_scale_factor()));
            let to = |it: ab_glyph::Point| {
                let right = f64::from(it.x) * x + f64::from(glyph.position.x) - 0.5 * self.width;
                let up = f64::from(it.y) * y - 0.5 * self.height;
                let at = center + along * right - along.perp() * up;
                (at.x as f32, at.y as f32)
            };
            outlines(&mut path, &outline.curves, to);
        }
        path.finish()
    }
}

fn outlines(path: &mut PathBuilder, curves: &[ab_glyph::OutlineCurve], to: impl Fn(ab_glyph::Point) -> (f32, f32)) {
    use ab_glyph::OutlineCurve::{Cubic, Line, Quad};
    let mut last = None;
    for curve in curves {
        let (from, end) = match curve {
            Line(from, end) | Quad(from, _, end) | Cubic(from, _, _, end) => (*from, *end),
        };
        if last != Some(from) {
            path.move_to(to(from).0, to(from).1);
        }
        let (x, y) = to(end);
        match curve {
            Line(..) => path.line_to(x, y),
            Quad(_, a, _) => path.quad_to(to(*a).0, to(*a).1, x, y),
            Cubic(_, a, b, _) => path.cubic_to(to(*a).0, to(*a).1, to(*b).0, to(*b).1, x, y),
        }
        last = Some(end);
    }
}

fn stroke(width: f64) -> Stroke {
    Stroke { width: width as f32, line_cap: LineCap::Round, ..Stroke::default() }
}

fn paint([red, green, blue]: [u8; 3]) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(red, green, blue, 255);
    paint
}

/// Lays a page over a picture whose alpha is kept apart.
fn lay_over(picture: &mut Picture, page: &Pixmap) {
    for (under, over) in picture.rgba.chunks_exact_mut(4).zip(page.pixels()) {
        let share = f32::from(over.alpha()) / 255.0;
        if over.alpha() == 0 {
            continue;
        }
        let below = f32::from(under[3]) / 255.0 * (1.0 - share);
        let alpha = share + below;
        for (under, over) in under.iter_mut().zip([over.red(), over.green(), over.blue()]) {
            *under = ((f32::from(over) + f32::from(*under) * below) / alpha).round() as u8;
        }
        under[3] = (255.0 * alpha).round() as u8;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::View;

    #[test]
    fn the_text_of_a_short_line_stays_in_the_picture() {
        let font = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT).unwrap();
        let view = View { turn: 0.0, tilt: 0.0, ..View::default() };
        let corners = [glam::dvec3(0.0, 0.0, -10.0), glam::dvec3(100.0, 0.0, 10.0)];
        let camera = Camera::new(&view, [300, 200], None, &corners);
        for station in [0.0, 50.0, 100.0] {
            for [low, high] in [[-10.0, 10.0], [8.0, 10.0], [-10.0, -8.0]] {
                let at = |z: f64| [station, 0.0, z];
                let line = Line {
                    from: at(low),
                    to: at(high),
                    offset: [0.0; 3],
                    beyond: None,
                    text: "Ø 132.15 mm".to_owned(),
                };
                let drawn = Drawn::new(&line, &camera, [300.0, 200.0], 0.6, &font).unwrap();
                let bounds = drawn.text.unwrap().bounds();
                assert!(bounds.left() >= 0.0 && bounds.right() <= 300.0, "{station} {low}: {bounds:?}");
                assert!(bounds.top() >= 0.0 && bounds.bottom() <= 200.0, "{station} {low}: {bounds:?}");
            }
        }
    }
}
