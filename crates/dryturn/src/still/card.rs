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
        Some(Card { width, height, rgb, margin: letters as u32 })
    }

    /// Finds a lower corner for the card, and if it would cover something there has the picture leave room for it; `None`
    /// where the picture is too small.
    ///
    /// # Errors
    /// Those of the stage.
    pub(super) fn place(&self, stage: &Stage<'_>, shot: &mut Shot, mesh: &Mesh) -> Result<Option<Corner>, RenderError> {
        let [wide, high] = [self.width + 2 * self.margin, self.height + 2 * self.margin];
        if self.width + self.margin > shot.width || self.height + self.margin > shot.height {
            return Ok(None);
        }
        // The end that is nearer to the eye is seen lower.
        let [right, _, back] = shot.view.axes();
        let is_right = right[0] * back[0] < 0.0;
        let left = if is_right { shot.width - self.width - self.margin } else { self.margin };
        let corner = [left, shot.height - self.height - self.margin];
        let part = [left, corner[1]].map(|at| f64::from(at.saturating_sub(self.margin)));
        let covered = [part[0], part[1], part[0] + f64::from(wide), f64::from(shot.height)];
        if !stage.touches(shot, 0.0, covered)? {
            return Ok(Some(corner));
        }
        let [aside, below] = [f64::from(wide) / f64::from(shot.width), f64::from(high) / f64::from(shot.height)];
        let aside = if is_right { Free::Right(aside) } else { Free::Left(aside) };
        let (low, top) = mesh.bounds().unwrap_or_default();
        let radius = [low[1], low[2], top[1], top[2]].into_iter().fold(0.0, |most: f64, it| most.max(it.abs()));
        // The room that leaves the piece larger.
        let rooms = [(aside, f64::from(wide) / f64::from(shot.width)), (Free::Below(below), below)];
        let shots = rooms.into_iter().filter(|(_, share)| *share <= MOST);
        let shots = shots.map(|(free, _)| Shot { free: Some(free), ..shot.clone() });
        let size = |shot: &Shot| shot.pixel_mm([low[0], top[0]], radius);
        let Some(best) = shots.min_by(|one, other| size(one).total_cmp(&size(other))) else { return Ok(None) };
        *shot = best;
        Ok(Some(corner))
    }

    /// Lays the card over a picture.
    pub(super) fn lay_over(&self, image: &mut Image, [left, top]: Corner) {
        for (row, pixels) in self.rgb.chunks_exact(3 * self.width as usize).enumerate() {
            let start = 4 * ((top as usize + row) * image.width as usize + left as usize);
            for (to, from) in image.rgba[start..].chunks_exact_mut(4).zip(pixels.chunks_exact(3)) {
                to[..3].copy_from_slice(from);
                to[3] = u8::MAX;
            }
        }
    }
}
