//! The panes, each drawn from what the session knows.

mod excerpt;
mod findings;
mod frame;
mod listing;
mod overlay;
mod piece;
mod point;
mod ruler;
mod run;
mod section;
mod skin;

pub(crate) use findings::findings;
pub(crate) use frame::{Foot, footer, header, help, refusal, waiting};
pub(crate) use listing::{Listed, listing};
pub(crate) use piece::piece;
pub(crate) use point::point;
pub(crate) use ruler::ruler;
pub(crate) use run::{RunCache, run};
pub(crate) use section::section;
pub(crate) use skin::{SkinCache, legend, skin};

use egui::{Align2, Color32, FontId, Key, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, UiBuilder, pos2, vec2};

use crate::desk::Desk;
use crate::theme::Theme;

/// A name for whoever does not see the pane.
fn named(response: &Response, name: &str, value: String) {
    response.widget_info(|| {
        let mut info = egui::WidgetInfo::labeled(egui::Role::Pane, true, name);
        info.current_text_value = Some(value.clone());
        info
    });
}

/// One of a list, for whoever does not see which is chosen.
fn option(ui: &Ui, response: &Response, label: &str, is_chosen: bool) {
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ListBoxOption, true, label));
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_selected(is_chosen));
}

/// Words that are painted, for whoever does not see them.
fn told(ui: &Ui, rect: Rect, role: egui::Role, words: &str) {
    let response = ui.interact(rect, ui.scope_id().with(("told", role as u8)), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(role, true, words));
}

/// How far an arrow key scrolls words, points.
const STEP: f32 = 40.0;

/// Words that scroll where there are more than there is room for: by the wheel, and by arrows and Page keys while the pane has
/// the keyboard.
fn scrolled(desk: &mut Desk, ui: &mut Ui, rect: Rect, name: &str, words: impl FnOnce(&mut Desk, &mut Ui)) {
    let response = ui.interact(rect, ui.scope_id().with(name), Sense::focusable_noninteractive());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ScrollView, true, name));
    let has_keys = response.has_focus();
    desk.takes_arrows |= has_keys;
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt(name), |ui| {
        ui.set_clip_rect(rect.intersect(ui.clip_rect()));
        egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            if has_keys {
                scroll_by_keys(ui, rect.height());
            }
            words(desk, ui);
        });
    });
    focus_ring(ui, rect.expand(3.0), &response, &desk.theme);
}

/// Scrolls as the arrows and the Page keys say that were struck; a page is so high.
fn scroll_by_keys(ui: &Ui, page: f32) {
    let struck = |key: Key| ui.input(|input| input.num_presses(key)) as f32;
    let [lines, pages] =
        [(Key::ArrowDown, Key::ArrowUp), (Key::PageDown, Key::PageUp)].map(|(down, up)| struck(down) - struck(up));
    let down = STEP * lines + (page - STEP).max(STEP) * pages;
    if down != 0.0 {
        ui.scroll_with_delta(vec2(0.0, -down));
    }
}

/// A button among words: brought into sight when it gets the keyboard.
fn button(ui: &mut Ui, button: egui::Button<'_>, hint: &str) -> bool {
    let response = ui.add(button).on_hover_text(hint);
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    response.clicked()
}

/// Whether Shift was held as a button was let go; once a slow picture is drawn it may be up again.
fn with_shift(ui: &Ui) -> bool {
    ui.input(|input| {
        let let_go = input.events.iter().rev().find_map(|event| match event {
            egui::Event::PointerButton { pressed: false, modifiers, .. } => Some(modifiers.shift),
            _ => None,
        });
        let_go.unwrap_or(input.modifiers.shift)
    })
}

/// A frame around a pane that has the keyboard.
fn focus_ring(ui: &Ui, rect: Rect, response: &Response, theme: &Theme) {
    if response.has_focus() {
        ui.painter().rect_stroke(rect.shrink(1.0), 2.0, Stroke::new(2.0, theme.mark), egui::StrokeKind::Inside);
    }
}

/// Text that stays readable on any ground.
fn haloed(ui: &Ui, at: Pos2, align: Align2, text: &str, font: FontId, color: Color32, halo: Color32) -> Rect {
    let painter = ui.painter();
    for (x, y) in [(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)] {
        painter.text(pos2(at.x + x, at.y + y), align, text, font.clone(), halo);
    }
    painter.text(at, align, text, font, color)
}

/// A sign for how grave something is: each has a form of its own.
pub(crate) fn sign(severity: dryturn_check::Severity, at: Pos2, size: f32, theme: &Theme) -> Vec<Shape> {
    use dryturn_check::Severity;
    let line = Stroke::new(1.4, theme.ink);
    let points = |corners: &[(f32, f32)]| corners.iter().map(|(x, y)| pos2(at.x + size * x, at.y + size * y)).collect();
    match severity {
        // A filled square on its point, a hollow triangle, a hollow ring.
        Severity::Error => {
            vec![Shape::convex_polygon(points(&[(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]), theme.mark, line)]
        }
        Severity::Warning => {
            vec![Shape::convex_polygon(
                points(&[(0.0, -0.9), (0.95, 0.75), (-0.95, 0.75)]),
                theme.sheet,
                Stroke::new(1.8, theme.mark),
            )]
        }
        Severity::Note => vec![
            Shape::circle_filled(at, size * 0.7, theme.sheet),
            Shape::circle_stroke(at, size * 0.7, Stroke::new(1.4, theme.soft)),
        ],
    }
}
