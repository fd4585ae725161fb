//! What stands around the panes: the verdict above, what is under way below, and pages over them.

use std::sync::Arc;

use dryturn_check::{Severity, Verdict};
use egui::text::{LayoutJob, TextWrapping};
use egui::{Align2, Context, Galley, Pos2, Rect, RichText, Shape, Stroke, Ui, UiBuilder, pos2, vec2};

use super::{excerpt, scrolled, sign};
use crate::desk::Desk;
use crate::desk::Layout;
use crate::desk::keys::{self, Does, STROKES};
use crate::theme::{self, clock};

/// The verdict, the title, and the little there is to press.
pub(crate) fn header(desk: &mut Desk, ui: &mut Ui, rect: Rect) {
    let theme = desk.theme;
    let verdict = desk.session.proof.as_ref().filter(|_| desk.session.is_proved && desk.session.refused.is_none());
    let (word, told) = match verdict.map(|proof| proof.verdict) {
        _ if desk.session.refused.is_some() => ("unread", None),
        None if desk.session.is_proving() => ("proving", None),
        None => ("not proved", None),
        Some(verdict) => (verdict.word(), Some(verdict)),
    };
    let middle = rect.left_center();
    ui.painter().extend(seal(told, middle + vec2(11.0, 0.0), desk));
    let title = desk.session.opened.as_ref().map_or_else(String::new, |opened| opened.title.clone());
    let font = egui::FontId::proportional(19.0);
    let at = ui.painter().text(middle + vec2(28.0, 0.0), Align2::LEFT_CENTER, word, font.clone(), theme.ink);
    let title = dryturn_report::plain(&title);
    super::told(
        ui,
        Rect::from_min_max(rect.min, rect.center_bottom()),
        egui::Role::Heading,
        &format!("{word}: {title}"),
    );
    let free = buttons(desk, ui, rect.with_min_x(at.right() + BETWEEN));
    let at = pos2(at.right() + 14.0, middle.y);
    let room = free - 10.0 - at.x;
    if room > LEAST_TITLE {
        let wrap = TextWrapping::truncate_at_width(room);
        let title = LayoutJob { wrap, ..LayoutJob::simple_singleline(title, font, theme.soft) };
        let title = ui.painter().layout_job(title);
        ui.painter().galley(at - vec2(0.0, 0.5 * title.size().y), title, theme.soft);
    }
    ui.painter().line_segment([rect.left_bottom(), rect.right_bottom()], Stroke::new(1.0, theme.rule));
}

/// Least room that a part of the title is worth, points.
const LEAST_TITLE: f32 = 40.0;

/// The little there is to press, at the right of the header, as far as there is room; gives where it begins.
fn buttons(desk: &mut Desk, ui: &mut Ui, rect: Rect) -> f32 {
    let row = rect.shrink2(vec2(0.0, 7.0));
    let layout = egui::Layout::right_to_left(egui::Align::Center);
    let shown = ui.scope_builder(UiBuilder::new().max_rect(row).layout(layout), |ui| {
        let open = match desk.settings.cut {
            crate::eye::Cut::None => "whole",
            crate::eye::Cut::Lengthwise => "cut along",
            crate::eye::Cut::Across => "cut across",
        };
        let look = if desk.settings.painted { "painted" } else { "wood" };
        let light = if desk.settings.dark { "dark" } else { "light" };
        for (name, hint, does) in [
            ("keys", "? shows all keys", Does::Help),
            (light, "L: light or dark", Does::Dark),
            ("picture", "W writes what is seen as a picture", Does::Still),
            ("mesh", "Shift W writes the piece as a mesh", Does::Mesh),
            (look, "P paints the piece with the map", Does::Paint),
            (open, "X cuts it open", Does::Cut),
            ("all", "F shows all of it, square on; again the piece alone", Does::All),
        ] {
            let words = ui.painter().layout_no_wrap(name.to_owned(), theme::text(), desk.theme.ink);
            if words.size().x + 2.0 * ui.spacing().button_padding.x > ui.available_width() {
                // All of it is done by keys too.
                break;
            }
            if ui.button(name).on_hover_text(hint).clicked() {
                desk.does(ui.ctx(), does);
            }
        }
        ui.min_rect().left()
    });
    shown.inner
}

/// A form for each verdict, so that neither colour nor word is needed to tell them apart.
fn seal(verdict: Option<Verdict>, at: Pos2, desk: &Desk) -> Vec<Shape> {
    let theme = &desk.theme;
    match verdict {
        Some(Verdict::Stop) => sign(Severity::Error, at, 10.0, theme),
        Some(Verdict::Caution) => sign(Severity::Warning, at, 10.0, theme),
        Some(Verdict::Clear) => {
            let tick = [pos2(at.x - 7.0, at.y), pos2(at.x - 2.0, at.y + 6.0), pos2(at.x + 8.0, at.y - 7.0)];
            vec![Shape::line(tick.to_vec(), Stroke::new(3.0, theme.ink))]
        }
        None => vec![Shape::circle_stroke(at, 8.0, Stroke::new(2.0, theme.rule))],
    }
}

/// Least height of the foot of the window, and most lines of words in it.
const FOOT: f32 = 24.0;
const LINES: usize = 14;

/// The words at the foot of the window, laid out: a long note takes as many lines as it needs.
pub(crate) struct Foot {
    words: String,
    left: Arc<Galley>,
    right: Option<Arc<Galley>>,
}

impl Foot {
    /// Lays them out in so much width.
    pub(crate) fn of(desk: &Desk, ui: &Ui, width: f32) -> Foot {
        let words = under_way(desk);
        let line = |text: &str| ui.painter().layout_no_wrap(text.to_owned(), theme::text(), desk.theme.soft);
        let whole = line(&words).size().x;
        let [all, time] = where_it_stands(desk).map(|text| line(&text));
        // What there is no room for is left out, not cut off; the time has room beside a note of many lines too.
        let right = [&all, &time].into_iter().find(|right| whole + right.size().x + BETWEEN < width);
        let right = right.or((time.size().x < 0.4 * width).then_some(&time)).cloned();
        let room = width - right.as_ref().map_or(0.0, |right| right.size().x + BETWEEN);
        let wrap = TextWrapping { max_width: room, max_rows: LINES, ..TextWrapping::default() };
        let job = LayoutJob { wrap, ..LayoutJob::simple(words.clone(), theme::text(), desk.theme.soft, room) };
        Foot { words, left: ui.painter().layout_job(job), right }
    }

    /// How high it is.
    pub(crate) fn height(&self) -> f32 {
        (self.left.size().y + 8.0).max(FOOT)
    }
}

/// Least room between what stands at the left of the foot and what stands at the right.
const BETWEEN: f32 = 12.0;

/// What is under way, and the last note.
fn under_way(desk: &Desk) -> String {
    let mut words: Vec<String> = desk
        .session
        .stages
        .iter()
        .map(|(what, share)| if *share > 0.0 { format!("{what} {:.0} %", share * 100.0) } else { (*what).to_owned() })
        .collect();
    words.extend(desk.session.is_stoppable().then(|| "Esc stops it".to_owned()));
    words.extend(desk.session.notes.last().cloned());
    dryturn_report::plain(&words.join(" · "))
}

/// The moment of the run and what draws it; and the moment alone.
fn where_it_stands(desk: &Desk) -> [String; 2] {
    let time = desk.session.opened.as_ref().map(|opened| {
        let now = opened.start_s(desk.session.cursor.blocks);
        format!(
            "{} of {} · block {} of {}",
            clock(now),
            clock(opened.end_s()),
            desk.session.cursor.blocks,
            opened.blocks()
        )
    });
    let all: Vec<String> = [time.clone(), desk.session.painter.clone()].into_iter().flatten().collect();
    [all.join(" · "), time.unwrap_or_default()]
}

/// What is under way, what went wrong, and where one is.
pub(crate) fn footer(desk: &Desk, ui: &Ui, rect: Rect, foot: &Foot) {
    let theme = &desk.theme;
    ui.painter().line_segment([rect.left_top(), rect.right_top()], Stroke::new(1.0, theme.rule));
    let done = desk.session.stages.iter().map(|(_, share)| share).fold(1.0f64, |least, it| least.min(*it));
    if desk.session.is_busy() {
        let bar = Rect::from_min_size(rect.left_top() - vec2(0.0, 1.0), vec2(rect.width() * done as f32, 2.0));
        ui.painter().rect_filled(bar, 0.0, theme.mark);
    }
    super::told(ui, rect, egui::Role::Status, &foot.words);
    let left = rect.left_center() - vec2(0.0, 0.5 * foot.left.size().y);
    ui.painter().galley(left, Arc::clone(&foot.left), theme.soft);
    if let Some(right) = &foot.right {
        let at = rect.right_center() - vec2(right.size().x, 0.5 * right.size().y);
        ui.painter().galley(at, Arc::clone(right), theme.soft);
    }
}

/// Before there is anything to see.
pub(crate) fn waiting(desk: &Desk, ui: &Ui, rect: Rect) {
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, "reading the scene", theme::heading(), desk.theme.soft);
}

/// Why the scene cannot be read, where the words are else; without a piece, over everything.
pub(crate) fn refusal(desk: &mut Desk, ui: &mut Ui, layout: &Layout, why: &str) {
    let is_alone = desk.session.opened.is_none();
    let rect = if is_alone { layout.body } else { layout.words[0].union(layout.words[2]) };
    ui.scope_builder(UiBuilder::new().max_rect(rect.shrink2(vec2(0.0, 8.0))).id_salt("refusal"), |ui| {
        ui.label(RichText::new("The scene cannot be read").font(theme::heading()));
        let told = if desk.session.opened.is_some() {
            "The piece is the last one that could be read. Saving the file reads it again."
        } else {
            "Saving the file reads it again."
        };
        ui.label(RichText::new(told).color(desk.theme.soft));
        ui.add_space(6.0);
        let rest = ui.available_rect_before_wrap();
        scrolled(desk, ui, rest, "What is wrong with it", |desk, ui| {
            let letter = ui.painter().layout_no_wrap("0".to_owned(), theme::code(), desk.theme.ink).size().x;
            let columns = ((ui.available_width() - 8.0) / letter).max(1.0) as usize;
            let text = ui.painter().layout_no_wrap(excerpt::narrowed(why, columns), theme::code(), desk.theme.ink);
            let (rect, response) = ui.allocate_exact_size(text.size(), egui::Sense::hover());
            // Whoever does not see it is told every line whole.
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, why));
            ui.painter().galley(rect.min, text, desk.theme.ink);
        });
    });
}

/// All keys, on a page over everything.
pub(crate) fn help(desk: &mut Desk, ctx: &Context) {
    let mut is_open = true;
    egui::Window::new("Keys")
        .open(&mut is_open)
        .collapsible(false)
        .resizable(false)
        .anchor(Align2::CENTER_CENTER, vec2(0.0, 0.0))
        .show(ctx, |ui| {
            // With large text there is more than the window holds.
            let room = ctx.content_rect().size() - vec2(40.0, 70.0);
            let area = egui::ScrollArea::vertical().max_height(room.y).min_scrolled_height(room.y);
            area.show(ui, |ui| {
                super::scroll_by_keys(ui, room.y);
                ui.set_max_width(room.x.min(PAGE));
                all_keys(ui, if room.x < PAGE { 1 } else { 2 });
            });
        });
    desk.is_helping &= is_open;
}

/// Width of the page of keys where they stand in two columns.
const PAGE: f32 = 730.0;

/// What there is to do with a mouse, and in general.
const BY_HAND: &str = "Piece and skin: drag to roll and slide, wheel to grow, click to look at a point, Shift-click to \
    measure, double click to go to when it was cut; right drag swings the piece, middle drag lifts it. Run: drag to any \
    moment; the wheel over its edges stretches the time. Tab goes from one thing to the next, space presses it.";

fn all_keys(ui: &mut Ui, columns: usize) {
    // What several keys do is told once.
    let mut strokes: Vec<&keys::Stroke> = STROKES.iter().collect();
    strokes.dedup_by_key(|stroke| stroke.words);
    ui.horizontal_top(|ui| {
        for (column, strokes) in strokes.chunks(strokes.len().div_ceil(columns)).enumerate() {
            egui::Grid::new(("keys", column)).num_columns(2).spacing([16.0, 3.0]).show(ui, |ui| {
                for stroke in strokes {
                    ui.label(RichText::new(stroke.written).font(theme::code()));
                    ui.label(stroke.words);
                    ui.end_row();
                }
            });
            ui.add_space(18.0);
        }
    });
    ui.add_space(6.0);
    ui.label(BY_HAND);
}
