//! What of the piece is in sight: all of it, what was chosen, and the same again when the panes become larger or smaller.

use dryturn_geom::angle;
use egui::Rect;

use super::Desk;
use crate::eye::Eye;
use crate::session::Opened;

/// From the top of the piece to what faces the eye, radians, when it is looked at from a little above the front.
const FRONT: f64 = 62.0 / 180.0 * std::f64::consts::PI;
/// What is no farther from what faces the eye is seen well, radians.
const IN_SIGHT: f64 = 1.2;
/// What lies no farther from the middle of a pane than this share of its width, or of the height of the piece's, is in sight.
const WIDTH: f64 = 0.47;
const HEIGHT: f64 = 0.4;
/// A piece pane that is no higher than this shows nothing, points.
const SHALLOW: f64 = 8.0;
/// Room over the axis, in radii of the piece, for the cutter should be seen as well; and as a share of what the holding takes.
const ROOM: f64 = 1.31;
const HELD: f64 = 1.05;

/// What of the piece is to be in sight.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Seen {
    /// Width and height of the piece pane, points.
    pane: [f64; 2],
    /// How much was in sight, across and down, when somebody last chose the scale; mm.
    chosen: [f64; 2],
    /// The scale that the panes were given; another one somebody has chosen.
    fitted: f64,
    /// The eye that saw all of it, if that was asked for last.
    all: Option<Eye>,
}

impl Desk {
    /// Keeps in sight what is seen while the piece pane becomes another: the stations, and of what lies beside the axis as
    /// much as was, or at least the piece or all of it where that was.
    pub(super) fn fit(&mut self, pane: Rect) {
        let size = [pane.width(), pane.height()].map(f64::from);
        let before = std::mem::replace(&mut self.seen.pane, size);
        let (Some(mut eye), Some(opened)) = (self.eye, self.session.opened.clone()) else { return };
        if eye.scale != self.seen.fitted {
            self.seen.chosen = before.map(|side| side / eye.scale);
        }
        let [across, down] = self.seen.chosen;
        if size != before && across > 0.0 {
            let heights = [true, false].map(|is_all| {
                let [over, under] = self.reach(&opened, is_all);
                2.0 * (over - eye.rise).max(under + eye.rise)
            });
            let kept = heights.into_iter().find(|height| *height <= down * (1.0 + 1e-9)).unwrap_or(down);
            let tall = if size[1] > SHALLOW && kept > 0.0 { size[1] / kept } else { f64::INFINITY };
            eye.scale = (size[0] / across).min(tall);
        }
        self.seen.fitted = eye.scale;
        self.eye = Some(eye);
    }

    /// How far over the axis and under it the piece reaches, with room for the cutter; or all that is drawn. Millimetres.
    fn reach(&self, opened: &Opened, is_all: bool) -> [f64; 2] {
        let piece = ROOM * opened.work.stock.swept_radius().max(1.0);
        let is_held = is_all && self.settings.holding;
        opened.reach.map(|reach| if is_held { piece.max(HELD * reach) } else { piece })
    }

    /// Sets eye and span once there is something to see, and again when the blank becomes another.
    pub(super) fn settle(&mut self) {
        let Some(opened) = self.session.opened.clone() else { return };
        let stock = &opened.work.stock;
        let about = [stock.start, stock.end(), stock.swept_radius(), opened.end_s()];
        let before = self.set_for.replace(about);
        let is_same = before.is_some_and(|before| before[..3] == about[..3]);
        if !is_same || self.eye.is_none() {
            let eye = self.facing(&opened);
            self.eye = Some(eye);
            self.seen.all = self.seen.all.map(|_| eye);
        }
        if before.is_none_or(|before| before[3] != about[3]) {
            self.span = Some([0.0, about[3].max(1e-3)]);
        }
    }

    /// The eye that sees the piece, or all that is drawn where that was asked for.
    fn facing(&self, opened: &Opened) -> Eye {
        let stock = &opened.work.stock;
        let [width, height] = self.seen.pane;
        let [over, under] = self.reach(opened, self.seen.all.is_some());
        let mut eye = Eye::over([stock.start, stock.end()], width, opened.job.scene.machine.chuck_on);
        if height > SHALLOW {
            eye.scale = eye.scale.min(height / (over + under));
        }
        eye.rise = 0.5 * (over - under);
        // The cutter stands on top, as at the machine.
        eye.facing += self.session.tip(self.session.cursor.blocks).map_or(0.0, |tip| tip.turn);
        eye
    }

    /// Shows all that is drawn, square on; asked for again, the piece.
    pub(crate) fn show_all(&mut self) {
        let is_shown = self.seen.all.is_some() && self.seen.all == self.eye;
        self.seen.all = if is_shown { None } else { self.eye };
        (self.eye, self.span, self.set_for) = (None, None, None);
    }

    /// Turns and moves the eye so that it sees the point that is looked at, if that does not lie in the panes.
    pub(crate) fn look_at_cursor(&mut self) {
        let [width, height] = self.seen.pane;
        let (Some(eye), Some(spot)) = (&mut self.eye, self.session.cursor.spot) else { return };
        if eye.across(spot.station).abs() > WIDTH * width {
            eye.station = spot.station;
        }
        if angle::signed(spot.theta - eye.facing).abs() > IN_SIGHT {
            eye.facing = spot.theta + eye.down() * FRONT;
        }
        let seen = |eye: &Eye| eye.seen(eye.point(spot.station, spot.theta, spot.radius));
        if seen(eye)[0].abs() > WIDTH * width {
            // Swung so far that what lies beside the axis is beside the pane.
            eye.swing = 0.0;
        }
        let room = HEIGHT * height;
        let beyond = seen(eye)[1] - seen(eye)[1].clamp(-room, room);
        if height > SHALLOW {
            eye.rise -= beyond / eye.scale;
        }
    }
}
