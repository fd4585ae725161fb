//! The panes laid out, and clicks and keys turned into what the session does.

pub(crate) mod keys;
mod layout;
mod scenery;
mod sight;

use egui::{Rect, Ui, UiBuilder};

use crate::eye::Eye;
use crate::panes;
use crate::session::{Opened, Session};
use crate::settings::Settings;
use crate::theme::{self, Theme};
pub(crate) use layout::{Layout, TITLE};
use scenery::Painted;

/// How long after the last change the piece is made fine again, seconds.
const RESTS: f64 = 0.15;

/// What the edge of a pane may stand out, points.
const FRAME: f32 = 3.0;

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
    /// Whether what has the keyboard takes the arrows and the Page keys: an edge between panes, or words that scroll.
    pub(crate) takes_arrows: bool,
    /// The finding that was told of last.
    pub(crate) told: Option<usize>,
    /// What of the piece is to be in sight.
    seen: sight::Seen,
    /// When something moved last, in the time of the window.
    moved_at: f64,
    /// Which job eye and span were set for.
    set_for: Option<[f64; 4]>,
    /// How far the listing is scrolled.
    pub(crate) listed: panes::Listed,
    /// Whether the picture of the piece is to be written once it is there.
    pub(crate) wants_still: bool,
    /// Whether the window is to be closed once the mesh is written.
    is_closing: bool,
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
            takes_arrows: false,
            told: None,
            seen: sight::Seen::default(),
            moved_at: f64::NEG_INFINITY,
            set_for: None,
            listed: panes::Listed::default(),
            wants_still: false,
            is_closing: false,
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
        self.takes_arrows = false;
        self.told = self.told.filter(|told| self.session.cursor.finding == Some(*told));
        self.closing(ui.ctx());
        let whole = ui.max_rect();
        ui.painter().rect_filled(whole, 0.0, self.theme.paper);
        let foot = panes::Foot::of(self, ui, Layout::inner(whole).width());
        let layout = Layout::of(whole, &self.settings, self.has_words(), foot.height());
        self.fit(layout.piece());
        self.settle();
        self.rest(ui.ctx());
        panes::header(self, ui, layout.header);
        panes::footer(self, ui, layout.footer, &foot);
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

    /// Whether there are words beside the pictures: what is wrong with a scene is told even where they are hidden.
    fn has_words(&self) -> bool {
        self.settings.words || self.session.refused.is_some()
    }

    fn panes(&mut self, ui: &mut Ui, layout: &Layout, opened: &Opened) {
        let area = layout.left.expand(FRAME);
        ui.scope_builder(UiBuilder::new().max_rect(area).id_salt("pictures"), |ui| {
            // In very large text not all that is written over a picture has room beside the words.
            ui.set_clip_rect(area);
            self.pictures(ui, layout, opened);
        });
        if self.settings.words && self.session.refused.is_none() {
            panes::findings(self, ui, layout.words[0], opened);
            panes::point(self, ui, layout.words[1], opened);
            panes::listing(self, ui, layout.words[2], opened);
        }
    }

    fn pictures(&mut self, ui: &mut Ui, layout: &Layout, opened: &Opened) {
        let ([_, skin, run], beside) = (layout.pictures, layout.beside);
        let is = |rect: Rect| rect.height() > 8.0;
        let piece = layout.piece();
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
    }

    /// Keeps the window open while a mesh is being written, and closes it then; whoever closes it once more gives the mesh up.
    fn closing(&mut self, ctx: &egui::Context) {
        let is_asked = ctx.input(|input| input.viewport().close_requested());
        if is_asked && self.session.is_writing() && !self.is_closing {
            self.is_closing = true;
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            let told = "the window closes once the mesh is written; closed again it gives the mesh up, Esc stays";
            self.session.notes.push(told.to_owned());
        } else if self.is_closing && !self.session.is_writing() {
            self.is_closing = false;
            if self.session.is_written() {
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    /// How large everything is.
    pub(crate) fn zoom(&self, ctx: &egui::Context) -> f32 {
        let pixels = (ctx.content_rect().size() * ctx.pixels_per_point()).round();
        self.settings.zoom.unwrap_or_else(|| theme::suited(pixels, ctx.native_pixels_per_point().unwrap_or(1.0)))
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
}
