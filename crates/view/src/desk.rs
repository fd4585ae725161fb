//! The panes laid out, and clicks and keys turned into what the session does.

pub(crate) mod keys;
mod layout;
mod scenery;

use egui::{Rect, Ui};

use crate::eye::Eye;
use crate::panes;
use crate::session::{Opened, Session};
use crate::settings::Settings;
use crate::theme::{self, Theme};
pub(crate) use layout::{Layout, TITLE};
use scenery::Painted;

/// How long after the last change the piece is made fine again, seconds.
const RESTS: f64 = 0.15;

/// From the top of the piece to what faces the eye, radians, when it is looked at from a little above the front.
const FRONT: f64 = 62.0 / 180.0 * std::f64::consts::PI;
/// What is no farther from what faces the eye is seen well, radians.
const IN_SIGHT: f64 = 1.2;

/// What the panes share while they are drawn.
pub struct Desk {
    /// What is known.
    pub session: Session,
    /// What is remembered.
    pub settings: Settings,
    /// From where the piece is looked at; `None` until there is one.
    pub eye: Option<Eye>,
    /// Seconds of the run that the run pane shows.
    pub span: Option<[f64; 2]>,
    /// Whether the keys are shown.
    pub is_helping: bool,
    pub(crate) theme: Theme,
    pub(crate) painted: Painted,
    pub(crate) skin: panes::SkinCache,
    pub(crate) run: panes::RunCache,
    /// Whether an edge between panes has the keyboard, and so the arrows.
    pub(crate) is_on_edge: bool,
    /// Width of the pictures, points.
    width: f32,
    /// When something moved last, in the time of the window.
    moved_at: f64,
    /// Which job eye and span were set for.
    set_for: Option<[f64; 4]>,
    /// How far the listing is scrolled.
    pub(crate) listed: panes::Listed,
    /// Whether the picture of the piece is to be written once it is there.
    pub(crate) wants_still: bool,
}

impl Desk {
    /// A desk for a session.
    pub fn new(session: Session, settings: Settings) -> Desk {
        let mut desk = Desk {
            theme: Theme::new(settings.dark),
            session,
            settings,
            eye: None,
            span: None,
            is_helping: false,
            painted: Painted::default(),
            skin: panes::SkinCache::default(),
            run: panes::RunCache::default(),
            is_on_edge: false,
            width: 0.0,
            moved_at: f64::NEG_INFINITY,
            set_for: None,
            listed: panes::Listed::default(),
            wants_still: false,
        };
        let map = desk.settings.map.clone();
        desk.session.set_map(&map);
        desk
    }

    /// Draws everything.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.session.poll();
        self.theme = Theme::new(self.settings.dark);
        self.theme.apply(ui.ctx(), self.zoom(ui.ctx()));
        self.keys(ui.ctx());
        let whole = ui.max_rect();
        ui.painter().rect_filled(whole, 0.0, self.theme.paper);
        let layout = Layout::of(whole, &self.settings);
        self.fit(layout.pictures[0].width());
        self.settle(&layout);
        self.rest(ui.ctx());
        panes::header(self, ui, layout.header);
        panes::footer(self, ui, layout.footer);
        if let Some(why) = self.session.refused.clone() {
            panes::refusal(self, ui, &layout, &why);
        }
        match self.session.opened.clone() {
            Some(opened) => self.panes(ui, &layout, &opened),
            None if self.session.refused.is_none() => panes::waiting(self, ui, layout.body),
            None => {}
        }
        // Over the panes, so that they and not the panes are dragged.
        layout::dividers(self, ui, &layout);
        if self.is_helping {
            panes::help(self, ui.ctx());
        }
    }

    fn panes(&mut self, ui: &mut Ui, layout: &Layout, opened: &Opened) {
        let ([piece, skin, run], beside) = (layout.pictures, layout.beside);
        let is = |rect: Rect| rect.height() > 8.0;
        let piece = piece.with_min_y(piece.top() + TITLE.min(piece.height()));
        self.paint(ui.ctx(), piece, opened);
        if is(piece) {
            panes::piece(self, ui, piece, opened);
            panes::section(self, ui, beside[0]);
        }
        panes::ruler(self, ui, layout.ruler);
        if is(skin) {
            panes::skin(self, ui, skin, opened);
            panes::legend(self, ui, beside[1]);
        }
        if is(run) {
            panes::run(self, ui, [run, beside[2]], opened);
        }
        if self.settings.words && self.session.refused.is_none() {
            panes::findings(self, ui, layout.words[0], opened);
            panes::point(self, ui, layout.words[1], opened);
            panes::listing(self, ui, layout.words[2], opened);
        }
    }

    /// How large everything is.
    pub(crate) fn zoom(&self, ctx: &egui::Context) -> f32 {
        let pixels = (ctx.content_rect().size() * ctx.pixels_per_point()).round();
        self.settings.zoom.unwrap_or_else(|| theme::suited(pixels, ctx.native_pixels_per_point().unwrap_or(1.0)))
    }

    /// Keeps in sight what is seen while the pictures become wider or narrower.
    fn fit(&mut self, width: f32) {
        let before = std::mem::replace(&mut self.width, width);
        if let Some(eye) = self.eye.as_mut().filter(|_| before > 0.0 && width > 0.0) {
            eye.scale *= f64::from(width / before);
        }
    }

    /// Sets eye and span once there is something to see, and again when the blank becomes another.
    fn settle(&mut self, layout: &Layout) {
        let Some(opened) = self.session.opened.clone() else { return };
        let stock = &opened.work.stock;
        let about = [stock.start, stock.end(), stock.swept_radius(), opened.end_s()];
        let before = self.set_for.replace(about);
        let is_same = before.is_some_and(|before| before[..3] == about[..3]);
        if !is_same || self.eye.is_none() {
            let mut eye = self.facing(&opened, layout);
            // The cutter stands on top, as at the machine.
            eye.facing += self.session.tip(self.session.cursor.blocks).map_or(0.0, |tip| tip.turn);
            self.eye = Some(eye);
        }
        if before.is_none_or(|before| before[3] != about[3]) {
            self.span = Some([0.0, about[3].max(1e-3)]);
        }
    }

    /// The eye that sees all of the piece.
    fn facing(&self, opened: &Opened, layout: &Layout) -> Eye {
        let stock = &opened.work.stock;
        let [piece, ..] = layout.pictures;
        let mut eye =
            Eye::over([stock.start, stock.end()], f64::from(piece.width()), opened.job.scene.machine.chuck_on);
        if piece.height() > 60.0 {
            // The cutter over the piece should be seen as well.
            let tall = f64::from(piece.height()) / (2.9 * stock.swept_radius().max(1.0));
            eye.scale = eye.scale.min(tall);
        }
        eye
    }

    /// Shows all of the piece again.
    pub(crate) fn show_all(&mut self) {
        (self.eye, self.span, self.set_for) = (None, None, None);
    }

    /// Tells that something moves, so that what takes long can wait.
    pub(crate) fn moves(&mut self, ctx: &egui::Context) {
        self.moved_at = ctx.input(|input| input.time);
    }

    /// Whether something moved just now.
    pub(crate) fn is_moving(&self, ctx: &egui::Context) -> bool {
        ctx.input(|input| input.time) - self.moved_at < RESTS
    }

    /// Has the piece made fine once nothing moves any more.
    fn rest(&mut self, ctx: &egui::Context) {
        if self.is_moving(ctx) {
            ctx.request_repaint_after(std::time::Duration::from_secs_f64(RESTS));
        } else if self.session.is_quick() {
            self.session.settle();
        }
    }

    /// Turns the eye so that it sees a point of the piece near the middle, if it does not lie in the panes.
    pub(crate) fn look_at_cursor(&mut self) {
        let width = f64::from(self.width);
        let (Some(eye), Some(spot)) = (&mut self.eye, self.session.cursor.spot) else { return };
        if eye.across(spot.station).abs() > 0.47 * width {
            eye.station = spot.station;
        }
        let off = dryturn_geom::angle::signed(spot.theta - eye.facing);
        if off.abs() > IN_SIGHT {
            eye.facing = spot.theta + eye.down() * FRONT;
        }
    }
}
