//! What the piece pane shows, and the picture of it.

use std::sync::Arc;

use dryturn_geom::{Pose, Side};
use dryturn_render::Finish;
use dryturn_render::live::{Look, Shape, Sight};
use egui::{ColorImage, Context, Rect, TextureHandle, TextureOptions};

use super::Desk;
use crate::eye::{Cut, Eye};
use crate::session::{Drawn, Opened, Scenery};

/// Flutes, and what is above them.
const FLUTES: Finish = Finish::Plain { color: [196, 190, 178], roughness: 0.3, metallic: 1.0 };
const ABOVE: Finish = Finish::Plain { color: [150, 156, 162], roughness: 0.5, metallic: 0.4 };
/// What is painted shows no grain, and is itself nothing.
const DULL: Finish = Finish::Plain { color: [226, 220, 208], roughness: 0.7, metallic: 0.0 };

/// The piece as it was drawn last.
#[derive(Default)]
pub(crate) struct Painted {
    /// What egui draws.
    pub(crate) texture: Option<TextureHandle>,
    /// The picture itself, and what it is of.
    pub(crate) drawn: Option<Drawn>,
    /// The number of what was asked for last.
    number: u64,
    /// What was asked for last: from where, and the bodies by where they lie, with their looks.
    asked: Option<(Sight, Vec<(usize, Look)>)>,
    tool: Option<Tool>,
}

/// The shapes of a cutter where it stands.
struct Tool {
    tip: Pose,
    /// Its shapes with the tip at nothing, those of the job that is open.
    at_nothing: [Arc<Shape>; 2],
    moved: [Arc<Shape>; 2],
}

impl Desk {
    /// Has the piece drawn if anything about it is new, and takes in what has been.
    pub(super) fn paint(&mut self, ctx: &Context, pane: Rect, opened: &Opened) {
        if let Some(drawn) = self.session.picture.take() {
            let picture = &drawn.picture;
            let size = [picture.width as usize, picture.height as usize];
            let image = ColorImage::from_rgba_premultiplied(size, &picture.rgba);
            match &mut self.painted.texture {
                Some(texture) => texture.set(image, TextureOptions::LINEAR),
                None => self.painted.texture = Some(ctx.load_texture("piece", image, TextureOptions::LINEAR)),
            }
            self.painted.drawn = Some(drawn);
        }
        let Some((eye, sight)) = self.eye.and_then(|eye| Some((eye, self.sight(&eye, ctx, pane, opened)?))) else {
            return;
        };
        let bodies = self.bodies(ctx, opened);
        let key: Vec<(usize, Look)> = bodies.iter().map(|(it, look)| (Arc::as_ptr(it) as usize, *look)).collect();
        let asked = Some((sight, key));
        if asked != self.painted.asked {
            self.painted.asked = asked;
            self.painted.number += 1;
            let blocks = self.session.shown.as_ref().map(|shown| shown.blocks);
            let extent = eye.extent([pane.width(), pane.height()].map(f64::from));
            self.session.paint(Scenery { number: self.painted.number, blocks, sight, extent, bodies });
        }
        if self.wants_still && self.is_drawn() && !self.is_moving(ctx) && !self.session.is_quick() {
            self.write_still();
        }
        let is_now = self.session.shown.as_ref().is_some_and(|it| it.blocks == self.session.cursor.blocks);
        if self.session.unpainted.is_some() || self.is_drawn() && is_now {
            self.session.seen();
        }
    }

    /// The piece as it was drawn last.
    pub fn drawn(&self) -> Option<&Drawn> {
        self.painted.drawn.as_ref()
    }

    /// Whether the piece is drawn as it was asked for last.
    pub fn is_drawn(&self) -> bool {
        self.painted.drawn.as_ref().is_some_and(|drawn| drawn.number == self.painted.number)
    }

    fn sight(&self, eye: &Eye, ctx: &Context, pane: Rect, opened: &Opened) -> Option<Sight> {
        if pane.width() < 8.0 || pane.height() < 8.0 {
            return None;
        }
        let is_rough = self.is_moving(ctx) && self.session.is_slow();
        let wanted = ctx.pixels_per_point() * if is_rough { 0.5 } else { 1.0 };
        // No larger than what draws the window takes; it is stretched then.
        let most = ctx.input(|input| input.max_texture_side).min(8192);
        let scale = wanted.min(most as f32 / pane.width().max(pane.height()));
        let pixels = |points: f32| ((points * scale).round() as u32).clamp(1, most as u32);
        let stock = &opened.work.stock;
        let cursor = self.session.cursor.spot.map_or(eye.station, |spot| spot.station);
        let ground = self.theme.paper;
        Some(Sight {
            width: pixels(pane.width()),
            height: pixels(pane.height()),
            axes: eye.axes(),
            middle: eye.middle(),
            half_width: 0.5 * f64::from(pane.width()) / eye.scale,
            reach: 2.0 * (stock.end() - stock.start) + 12.0 * stock.swept_radius() + 400.0,
            is_smooth: !is_rough,
            plane: eye.plane(self.settings.cut, cursor),
            ground: [ground.r(), ground.g(), ground.b()],
        })
    }

    fn bodies(&mut self, ctx: &Context, opened: &Opened) -> Vec<(Arc<Shape>, Look)> {
        let faded = if self.session.refused.is_some() { 0.85 } else { 0.0 };
        let plain = self.is_moving(ctx) && self.session.is_slow();
        let look = |finish: Finish, turn: f64| Look {
            finish,
            tint: 0.0,
            faded,
            opacity: 1.0,
            is_plain: plain,
            turn,
            is_cut: false,
        };
        // Piece and cutter are of one moment.
        let blocks = self.session.shown.as_ref().map_or(self.session.cursor.blocks, |shown| shown.blocks);
        let tip = self.session.tip(blocks);
        let side = if opened.job.scene.machine.chuck_on == Side::Plus { -1.0 } else { 1.0 };
        let turn = side * tip.map_or(0.0, |tip| tip.turn);
        let mut bodies = Vec::new();
        if let Some(shown) = &self.session.shown {
            let is_painted = self.settings.painted && !shown.colors.is_empty();
            let finish = if is_painted { DULL } else { opened.finish };
            let tint = if is_painted { 1.0 } else { 0.0 };
            let is_cut = self.settings.cut != Cut::None;
            bodies.push((Arc::clone(&shown.shape), Look { tint, is_cut, ..look(finish, 0.0) }));
        }
        if self.settings.holding {
            let held = opened
                .held
                .iter()
                .map(|held| (Arc::clone(&held.shape), look(held.finish, if held.turns { 0.0 } else { turn })));
            bodies.extend(held);
        }
        if let Some(tip) = tip.filter(|_| self.settings.cutter) {
            let [flutes, above] = self.tool_at(opened, tip, blocks);
            bodies.push((flutes, look(FLUTES, turn)));
            bodies.push((above, Look { opacity: 0.45, ..look(ABOVE, turn) }));
        }
        bodies
    }

    /// The shapes of the cutter that is in the spindle when so many blocks have run, where it stands, θ on top being 0.
    fn tool_at(&mut self, opened: &Opened, tip: Pose, blocks: u32) -> [Arc<Shape>; 2] {
        let cutter = opened.job.cutter_index(blocks.saturating_sub(1)).unwrap_or(u16::MAX);
        let at_nothing = opened.tools.get(usize::from(cutter)).cloned().unwrap_or_default();
        if let Some(tool) = &self.painted.tool
            && tool.tip == tip
            && tool.at_nothing.iter().zip(&at_nothing).all(|(one, other)| Arc::ptr_eq(one, other))
        {
            return tool.moved.clone();
        }
        let across = if opened.job.scene.machine.chuck_on == Side::Plus { -tip.y } else { tip.y };
        let by = [tip.x as f32, across as f32, tip.z as f32];
        let moved = |shape: &Arc<Shape>| {
            let mut shape = Shape::clone(shape);
            for corner in &mut shape.corners {
                (0..3).for_each(|axis| corner.position[axis] += by[axis]);
            }
            Arc::new(shape)
        };
        let moved = [moved(&at_nothing[0]), moved(&at_nothing[1])];
        self.painted.tool = Some(Tool { tip, at_nothing, moved: moved.clone() });
        moved
    }

    /// Has what is seen written as a picture once it is drawn as it stands; tells where that never is.
    pub(crate) fn want_still(&mut self) {
        let why = match &self.session.unpainted {
            Some(why) => Some(format!("no picture is written, for the piece is not drawn: {why}")),
            None if !self.settings.shown[0] => {
                Some("no picture is written, for the piece is hidden; 1 shows it".to_owned())
            }
            None => None,
        };
        self.wants_still = why.is_none();
        self.session.notes.extend(why);
    }

    /// Writes the picture that is seen.
    fn write_still(&mut self) {
        self.wants_still = false;
        let Some(Drawn { picture, .. }) = &self.painted.drawn else { return };
        let apart = |pixel: &[u8]| {
            let alpha = pixel[3];
            let part = |it: u8| if alpha == 0 { 0 } else { (u32::from(it) * 255 / u32::from(alpha)).min(255) as u8 };
            [part(pixel[0]), part(pixel[1]), part(pixel[2]), alpha]
        };
        let rgba: Vec<u8> = picture.rgba.chunks_exact(4).flat_map(apart).collect();
        let size = [picture.width, picture.height];
        self.session.save_picture(size, &rgba);
    }
}
