//! The lines of the program about the one that is looked at.

use egui::{Rect, RichText, Sense, Ui, UiBuilder, vec2};

use super::{focus_ring, option};
use crate::desk::Desk;
use crate::session::Opened;
use crate::theme;

/// A line as it is named: file and number.
pub(super) fn named_line(opened: &Opened, block: u32) -> String {
    let (program, line) = opened.line_of(block);
    let file = opened.job.programs.get(program).map_or("", |run| run.file.as_str());
    format!("{}:{line}", dryturn_report::plain(file))
}

/// How far the listing is scrolled, and for which line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Listed {
    /// Program and line.
    line: Option<(usize, u32)>,
    /// How far, points.
    offset: f32,
    /// Whether somebody scrolled it by hand since that line is looked at; then it stays as they left it.
    is_by_hand: bool,
}

impl Listed {
    /// How far to scroll so that a line (from 1) is seen whole in a listing of this height, its rows so far apart: as far as
    /// before where it is seen so already, else with the line in the middle.
    fn wanted(&self, line: (usize, u32), height: f32, pitch: f32) -> f32 {
        let top = (line.1.max(1) - 1) as f32 * pitch;
        let is_seen = self.offset <= top && top + pitch <= self.offset + height;
        if self.line == Some(line) && is_seen { self.offset } else { (top - 0.5 * (height - pitch)).max(0.0) }
    }
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
    let pitch = height + ui.spacing().item_spacing.y;
    let count = opened.line_count(program) as usize;
    let wanted = desk.listed.wanted((program, line), ui.available_height(), pitch);
    if desk.listed.line != Some((program, line)) {
        desk.listed = Listed { line: Some((program, line)), ..Listed::default() };
    }
    let room = ui.available_rect_before_wrap();
    let is_held = ui.input(|input| input.smooth_scroll_delta() != egui::Vec2::ZERO || input.pointer.any_down())
        && ui.rect_contains_pointer(room);
    let mut area = egui::ScrollArea::vertical().auto_shrink(false);
    if !desk.listed.is_by_hand {
        area = area.vertical_scroll_offset(wanted);
    }
    // Until it is known which line made the point that was picked, none is marked.
    let marked = if desk.session.is_asking() { 0 } else { line };
    let mut chosen = None;
    let scrolled = area.show_rows(ui, height, count, |ui, rows| {
        for row in rows {
            let number = row as u32 + 1;
            if one(desk, ui, opened, program, number, number == marked, height) {
                chosen = Some(number);
            }
        }
    });
    let most = (scrolled.content_size.y - scrolled.inner_rect.height()).max(0.0);
    let off = scrolled.state.clamped_offset().y - wanted.min(most);
    desk.listed.is_by_hand |= is_held && off.abs() > 0.5;
    desk.listed.offset = if desk.listed.is_by_hand { scrolled.state.clamped_offset().y } else { wanted.min(most) };
    if !desk.listed.is_by_hand && off.abs() > 0.5 {
        // A listing that is longer than the one before lets itself be scrolled so far only in the next picture.
        ui.ctx().request_repaint();
    }
    if let Some(number) = chosen {
        desk.session.go(opened.blocks_of(program, number).end, true);
        // What was clicked stays under the pointer.
        desk.listed.line = desk.session.cursor.focus.map(|block| opened.line_of(block));
        desk.moves(ui.ctx());
        desk.look_at_cursor();
    }
}

/// One line; whether it was chosen.
fn one(desk: &Desk, ui: &mut Ui, opened: &Opened, program: usize, number: u32, is_focus: bool, height: f32) -> bool {
    let theme = &desk.theme;
    let text = dryturn_report::plain(&opened.line(program, number));
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    option(ui, &response, &format!("line {number}: {text}"), is_focus);
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
    let seen = painter.text(at + vec2(54.0, 0.0), egui::Align2::LEFT_CENTER, &text, theme::code(), color);
    if is_focus {
        // Looked at: between two rules, like a line that is read with a finger on it.
        let line = egui::Stroke::new(1.5, theme.mark);
        painter.line_segment([rect.left_top(), rect.right_top()], line);
        painter.line_segment([rect.left_bottom(), rect.right_bottom()], line);
    }
    let response = if seen.right() > rect.right() { response.on_hover_text(text) } else { response };
    response.clicked()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_seen_whole_however_high_the_listing_is_and_stays_where_it_is_seen() {
        let mut listed = Listed::default();
        for (line, height) in [(1, 100.0), (50, 100.0), (52, 100.0), (52, 30.0), (52, 400.0), (400, 64.0), (2, 19.0)] {
            let line = (0, line);
            let offset = listed.wanted(line, height, 18.0);
            let top = (line.1 - 1) as f32 * 18.0;
            assert!(offset <= top && top + 18.0 <= offset + height, "{line:?} at {height}: {offset}");
            listed = Listed { line: Some(line), offset, is_by_hand: false };
            assert_eq!(listed.wanted(line, height + 10.0, 18.0), offset);
        }
    }
}
