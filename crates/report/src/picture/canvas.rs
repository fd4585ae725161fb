//! A page to draw on: flat colours, rectangles, arrows and text.

use super::lettering::Lettering;
use tiny_skia::{ColorU8, FillRule, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};

/// Red, green and blue.
pub(super) type Colour = [u8; 3];

/// A rectangle of whole pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) left: i32,
    pub(super) top: i32,
    pub(super) width: i32,
    pub(super) height: i32,
}

impl Area {
    pub(super) fn right(self) -> i32 {
        self.left + self.width
    }

    pub(super) fn bottom(self) -> i32 {
        self.top + self.height
    }
}

/// Where a text stands about its anchor.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Center,
    Right,
}

/// The ground colour mixed with another: `share` of 255 parts of it.
pub(super) fn mixed(ground: Colour, over: Colour, share: u8) -> Colour {
    let part = u32::from(share);
    std::array::from_fn(|i| {
        let sum = u32::from(ground[i]) * (255 - part) + u32::from(over[i]) * part;
        ((sum + 127) / 255) as u8
    })
}

/// The page.
pub(super) struct Canvas {
    pixmap: Pixmap,
    lettering: Lettering,
}

impl Canvas {
    /// A page of one colour; `None` when it would have no pixel or too many.
    pub(super) fn new(width: i32, height: i32, ground: Colour, lettering: Lettering) -> Option<Canvas> {
        let pixmap = Pixmap::new(width.try_into().ok()?, height.try_into().ok()?)?;
        let mut canvas = Canvas { pixmap, lettering };
        canvas.rectangle(Area { left: 0, top: 0, width, height }, ground);
        Some(canvas)
    }

    /// The typefaces the page is written in.
    pub(super) fn lettering(&self) -> &Lettering {
        &self.lettering
    }

    /// Red, green and blue of the pixels, row by row.
    pub(super) fn rgb(&self) -> Vec<u8> {
        // No pixel lets anything through, so that none was changed by its share.
        self.pixmap.pixels().iter().flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()]).collect()
    }

    /// The page as a PNG file. It is packed quickly, and by code whose bytes are the same on every machine.
    pub(super) fn png(&self) -> Result<Vec<u8>, png::EncodingError> {
        let mut file = Vec::new();
        let mut encoder = png::Encoder::new(&mut file, self.pixmap.width(), self.pixmap.height());
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.rgb())?;
        writer.finish()?;
        Ok(file)
    }

    fn index(&self, x: i32, y: i32) -> Option<usize> {
        let inside = x >= 0 && y >= 0 && x < self.pixmap.width() as i32 && y < self.pixmap.height() as i32;
        inside.then(|| y as usize * self.pixmap.width() as usize + x as usize)
    }

    /// Colour of a pixel; the ground of nothing outside the page.
    pub(super) fn pixel(&self, x: i32, y: i32) -> Colour {
        let Some(index) = self.index(x, y) else { return [0; 3] };
        let pixel = self.pixmap.pixels()[index];
        [pixel.red(), pixel.green(), pixel.blue()]
    }

    /// Sets a pixel; outside the page nothing happens.
    pub(super) fn set(&mut self, x: i32, y: i32, [red, green, blue]: Colour) {
        if let Some(index) = self.index(x, y) {
            self.pixmap.pixels_mut()[index] = ColorU8::from_rgba(red, green, blue, 255).premultiply();
        }
    }

    /// Mixes a colour into a pixel.
    fn blend(&mut self, x: i32, y: i32, over: Colour, share: u8) {
        let colour = mixed(self.pixel(x, y), over, share);
        self.set(x, y, colour);
    }

    /// A filled rectangle.
    pub(super) fn rectangle(&mut self, area: Area, colour: Colour) {
        for y in area.top..area.bottom() {
            for x in area.left..area.right() {
                self.set(x, y, colour);
            }
        }
    }

    /// A rectangle whose colour follows from the pixel's place, counted from the page's corner.
    pub(super) fn painted(&mut self, area: Area, colour: impl Fn(i32, i32) -> Colour) {
        for y in area.top..area.bottom() {
            for x in area.left..area.right() {
                self.set(x, y, colour(x, y));
            }
        }
    }

    /// A frame one pixel wide just outside an area.
    pub(super) fn frame(&mut self, area: Area, colour: Colour) {
        let (left, top, width, height) = (area.left - 1, area.top - 1, area.width + 2, area.height + 2);
        self.rectangle(Area { left, top, width, height: 1 }, colour);
        self.rectangle(Area { left, top: area.bottom(), width, height: 1 }, colour);
        self.rectangle(Area { left, top, width: 1, height }, colour);
        self.rectangle(Area { left: area.right(), top, width: 1, height }, colour);
    }

    /// A filled triangle.
    pub(super) fn triangle(&mut self, corners: [(f32, f32); 3], colour: Colour) {
        self.fill(&corners, colour);
    }

    /// A filled area.
    pub(super) fn fill(&mut self, corners: &[(f32, f32)], colour: Colour) {
        if let Some(path) = path(corners, true) {
            self.pixmap.fill_path(&path, &paint(colour), FillRule::Winding, Transform::identity(), None);
        }
    }

    /// A line through points, so wide; `dashes` are the length of a dash and of the gap after it.
    pub(super) fn stroke(&mut self, points: &[(f32, f32)], width: f32, dashes: Option<[f32; 2]>, colour: Colour) {
        let dash = dashes.and_then(|dashes| StrokeDash::new(dashes.to_vec(), 0.0));
        let stroke = Stroke { width, dash, ..Stroke::default() };
        if let Some(path) = path(points, false) {
            self.pixmap.stroke_path(&path, &paint(colour), &stroke, Transform::identity(), None);
        }
    }

    /// A text on a base line, every character of it visible.
    pub(super) fn write(&mut self, written: &str, (x, baseline): (i32, i32), align: Align, size: f32, colour: Colour) {
        let width = self.lettering.width(written, size);
        let start = match align {
            Align::Left => x as f32,
            Align::Center => x as f32 - width / 2.0,
            Align::Right => x as f32 - width,
        };
        let mut ink = Vec::new();
        self.lettering.outline(written, (start.round(), baseline as f32), size, |x, y, share| ink.push((x, y, share)));
        for (x, y, share) in ink {
            self.blend(x, y, colour, share);
        }
    }
}

fn paint([red, green, blue]: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(red, green, blue, 255);
    paint
}

/// The way through points; `None` where there is none.
fn path(points: &[(f32, f32)], is_closed: bool) -> Option<Path> {
    let (first, rest) = points.split_first()?;
    let mut path = PathBuilder::new();
    path.move_to(first.0, first.1);
    rest.iter().for_each(|point| path.line_to(point.0, point.1));
    if is_closed {
        path.close();
    }
    path.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_mix_in_whole_steps() {
        assert_eq!(mixed([10, 20, 30], [200, 100, 0], 0), [10, 20, 30]);
        assert_eq!(mixed([10, 20, 30], [200, 100, 0], 255), [200, 100, 0]);
        assert_eq!(mixed([0, 0, 0], [255, 255, 255], 128), [128, 128, 128]);
    }

    #[test]
    fn text_leaves_ink_inside_its_width_only() {
        let lettering = Lettering::new().unwrap();
        let width = lettering.width("Haft 64°", 24.0).ceil() as i32;
        let mut canvas = Canvas::new(200, 60, [255; 3], lettering).unwrap();
        canvas.write("Haft 64°", (20, 40), Align::Left, 24.0, [0; 3]);
        let inked = |x: i32| (0..60).any(|y| canvas.pixel(x, y) != [255; 3]);
        assert!((20..20 + width).any(inked));
        assert!(!(0..19).any(inked) && !(21 + width..200).any(inked));
    }

    #[test]
    fn a_page_without_pixels_is_refused() {
        assert!(Canvas::new(0, 10, [0; 3], Lettering::new().unwrap()).is_none());
        assert!(Canvas::new(-1, 10, [0; 3], Lettering::new().unwrap()).is_none());
    }
}
