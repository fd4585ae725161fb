//! The card that explains the colours of a picture, and its place beside the piece.

use dryturn_render::{Free, RenderError, Shot, Stage};
use dryturn_surface::Mesh;

use super::file::Image;
use super::tint::Tinted;
use crate::arguments::Size;

/// A card as it is laid over a picture.
pub(super) struct Card {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
    /// From the border of the picture, pixels.
    margin: u32,
    /// Of the picture.
    size: Size,
}

/// Where its upper left corner lies, pixels from that of the picture.
pub(super) type Corner = [u32; 2];

/// Most of a picture's width or height that is left free for the card.
const MOST: f64 = 0.8;

impl Card {
    /// The card of a picture of a size; `None` where there is nothing to explain.
    pub(super) fn of(tinted: &Tinted, size: Size) -> Option<Card> {
        let letters = (size.width.min(size.height) as f32 / 42.0).max(9.0);
        let (width, height, rgb) = tinted.key.card(letters, tinted.is_part_raw)?;
        Some(Card { width, height, rgb, margin: letters as u32, size })
    }

    /// Finds one lower corner for the card in all of some shots of one size. Where it would cover something, they leave room
    /// for it, or are made smaller where what is so near to the eye does not leave any. `None` where they are too small.
    ///
    /// # Errors
    /// Those of the stage.
    pub(super) fn place(
        &self,
        stage: &Stage<'_>,
        shots: &mut [Shot],
        mesh: &Mesh,
    ) -> Result<Option<Corner>, RenderError> {
        let [wide, high] = [self.width + 2 * self.margin, self.height + 2 * self.margin];
        let Size { width, height } = self.size;
        let Some(first) = shots.first() else { return Ok(None) };
        if self.width + self.margin > width || self.height + self.margin > height {
            return Ok(None);
        }
        // The end that is nearer to the eye is seen lower.
        let [right, _, back] = first.view.axes();
        let is_right = right[0] * back[0] < 0.0;
        let left = if is_right { width - self.width - self.margin } else { self.margin };
        let corner = [left, height - self.height - self.margin];
        if !self.covers(stage, shots, corner)? {
            return Ok(Some(corner));
        }
        let [aside, below] = [f64::from(wide) / f64::from(width), f64::from(high) / f64::from(height)];
        let rooms =
            [(if is_right { Free::Right(aside) } else { Free::Left(aside) }, aside), (Free::Below(below), below)];
        let (low, top) = mesh.bounds().unwrap_or_default();
        let radius = [low[1], low[2], top[1], top[2]].into_iter().fold(0.0, |most: f64, it| most.max(it.abs()));
        // The room that leaves the piece larger.
        let size = |free: Free| Shot { free: Some(free), ..first.clone() }.pixel_mm([low[0], top[0]], radius);
        let rooms = rooms.into_iter().filter(|(_, share)| *share <= MOST).map(|(free, _)| (free, size(free)));
        let Some((best, _)) = rooms.min_by(|one, other| one.1.total_cmp(&other.1)) else { return Ok(None) };
        shots.iter_mut().for_each(|shot| shot.free = Some(best));
        if self.covers(stage, shots, corner)? {
            for shot in shots {
                shot.free = None;
                match best {
                    Free::Below(_) => shot.height -= high,
                    Free::Left(_) | Free::Right(_) => shot.width -= wide,
                }
            }
        }
        Ok(Some(corner))
    }

    /// Whether the card would cover something of any of the shots.
    fn covers(&self, stage: &Stage<'_>, shots: &[Shot], [left, top]: Corner) -> Result<bool, RenderError> {
        let from = [left, top].map(|at| f64::from(at.saturating_sub(self.margin)));
        let to = [left + self.width + self.margin, self.size.height].map(f64::from);
        for shot in shots {
            if stage.touches(shot, 0.0, [from[0], from[1], to[0], to[1]])? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Lays the card over a picture; one that was made smaller gets a strip of the card's own paper beside it.
    pub(super) fn lay_over(&self, image: &mut Image, corner: Corner) {
        let [left, top] = corner.map(|at| at as usize);
        // On its own paper the card needs no frame.
        let frame = usize::from(self.widen(image, corner));
        let inside = frame..self.width as usize - frame;
        for (row, pixels) in self.rgb.chunks_exact(3 * self.width as usize).enumerate() {
            if row < frame || row + frame >= self.height as usize {
                continue;
            }
            let start = 4 * ((top + row) * image.width as usize + left + frame);
            let pixels = pixels[3 * inside.start..3 * inside.end].chunks_exact(3);
            for (to, from) in image.rgba[start..].chunks_exact_mut(4).zip(pixels) {
                to[..3].copy_from_slice(from);
                to[3] = u8::MAX;
            }
        }
    }

    /// Brings a picture to its full size, with paper where the card is to lie and a line where that ends, as around the card.
    /// Whether it was smaller.
    fn widen(&self, image: &mut Image, [left, _]: Corner) -> bool {
        let Size { width, height } = self.size;
        if (image.width, image.height) == (width, height) {
            return false;
        }
        let color = |row: u32, column: u32| {
            let at = 3 * (row * self.width + column) as usize;
            [self.rgb[at], self.rgb[at + 1], self.rgb[at + 2], u8::MAX]
        };
        let (line, paper) = (color(0, 0), color(1, 1));
        let before = if left == self.margin { width - image.width } else { 0 };
        let beside = if before > 0 { before - 1 } else { image.width };
        let of_strip = |at: u32| if at % width == beside || at / width == image.height { line } else { paper };
        let mut wide = Image { width, height, rgba: (0..width * height).flat_map(of_strip).collect() };
        for (row, pixels) in image.rgba.chunks_exact(4 * image.width as usize).enumerate() {
            let start = 4 * (row * width as usize + before as usize);
            wide.rgba[start..start + pixels.len()].copy_from_slice(pixels);
        }
        *image = wide;
        true
    }
}
