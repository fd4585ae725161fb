//! The lines of the program about the one that is looked at.

use egui::{Rect, RichText, Sense, Ui, UiBuilder, vec2};

use super::focus_ring;
use crate::desk::Desk;
use crate::session::Opened;
use crate::theme;

/// A line as it is named: file and number.
pub(super) fn named_line(opened: &Opened, block: u32) -> String {
    let (program, line) = opened.line_of(block);
    let file = opened.job.programs.get(program).map_or("", |run| run.file.as_str());
    format!("{}:{line}", dryturn_report::plain(file))
}

/// The words beside the run.
pub(crate) fn listing(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt("listing"), |ui| {
        ui.set_clip_rect(rect.intersect(ui.clip_rect()));
        let cursor = desk.session.cursor;
        let focus = cursor.focus.or(cursor.blocks.checked_sub(1));
        let (program, line) = focus.map_or((0, 0), |block| opened.line_of(block));
        let file = opened.job.programs.get(program).map_or("", |run| run.file.as_str());
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(dryturn_report::plain(file)).font(theme::heading()));
            let modes = focus.map(|block| opened.modes(block)).unwrap_or_default();
            ui.label(RichText::new(modes).font(theme::code()).color(desk.theme.soft));
        });
        lines(desk, ui, opened, program, line);
    });
}

fn lines(desk: &mut Desk, ui: &mut Ui, opened: &Opened, program: usize, line: u32) {
    let height = ui.text_style_height(&egui::TextStyle::Monospace) + 3.0;
    let count = opened.line_count(program) as usize;
    let mut area = egui::ScrollArea::vertical().auto_shrink(false);
    let is_new = desk.listed != Some((program, line));
    // The line that is looked at stands in the middle.
    let above = (ui.available_height() / height / 2.0).floor() - 1.0;
    let wanted = ((line as f32 - 1.0 - above) * (height + ui.spacing().item_spacing.y)).max(0.0);
    if is_new {
        area = area.vertical_scroll_offset(wanted);
    }
    let mut chosen = None;
    let scrolled = area.show_rows(ui, height, count, |ui, rows| {
        for row in rows {
            let number = row as u32 + 1;
            if one(desk, ui, opened, program, number, number == line, height) {
                chosen = Some(number);
            }
        }
    });
    if is_new {
        // A program that is longer than the one before lets itself be scrolled so far only in the next picture.
        let most = (scrolled.content_size.y - scrolled.inner_rect.height()).max(0.0);
        let is_there = (scrolled.state.clamped_offset().y - wanted.min(most)).abs() < 1.0;
        desk.listed = is_there.then_some((program, line));
        ui.ctx().request_repaint();
    }
    if let Some(number) = chosen {
        desk.listed = Some((program, number));
        desk.session.go(opened.blocks_of(program, number).end, false);
        desk.session.cursor.finding = None;
        desk.look_at_cursor();
    }
}

/// One line; whether it was chosen.
fn one(desk: &Desk, ui: &mut Ui, opened: &Opened, program: usize, number: u32, is_focus: bool, height: f32) -> bool {
    let theme = &desk.theme;
    let text = dryturn_report::plain(&opened.line(program, number));
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    let label = format!("line {number}: {text}");
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::ListBoxOption, true, is_focus, label.clone()));
    let painter = ui.painter_at(rect);
    if response.has_focus() || response.hovered() {
        painter.rect_filled(rect, 0.0, theme.wash);
    }
    focus_ring(ui, rect, &response, theme);
    let color = if is_focus { theme.ink } else { theme.soft };
    let at = rect.left_center();
    painter.text(
        at + vec2(42.0, 0.0),
        egui::Align2::RIGHT_CENTER,
        number,
        theme::code(),
        if is_focus { theme.mark } else { theme.soft },
    );
    painter.text(at + vec2(54.0, 0.0), egui::Align2::LEFT_CENTER, text, theme::code(), color);
    if is_focus {
        // Looked at: between two rules, like a line that is read with a finger on it.
        let line = egui::Stroke::new(1.5, theme.mark);
        painter.line_segment([rect.left_top(), rect.right_top()], line);
        painter.line_segment([rect.left_bottom(), rect.right_bottom()], line);
    }
    response.clicked()
}
