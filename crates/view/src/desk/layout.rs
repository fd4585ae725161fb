//! Where the panes are: pictures at the left over one scale, the words that go with each at the right.

use egui::{CursorIcon, Key, Rect, Sense, Ui, pos2, vec2};

use super::Desk;
use crate::settings::Settings;

const HEADER: f32 = 40.0;
const RULER: f32 = 24.0;
const GAP: f32 = 8.0;
/// How far an arrow key moves an edge.
const STEP: f32 = 12.0;
const MARGIN: f32 = 12.0;
/// Room for the words over the piece.
pub(crate) const TITLE: f32 = 24.0;
/// Width of what stands beside each picture: a section, a legend, the lanes of the run.
const BESIDE: f32 = 172.0;
/// Least width of the words, with the gap before them: four coordinates side by side.
const WORDS: f32 = 312.0;
/// Least share of the width that the pictures take.
const LEAST_PICTURES: f32 = 0.35;

/// The panes; one that is hidden has no height.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layout {
    pub(crate) header: Rect,
    pub(crate) footer: Rect,
    pub(crate) body: Rect,
    /// The part of it that the pictures have, and what stands beside them.
    pub(crate) left: Rect,
    /// Piece, skin, run.
    pub(crate) pictures: [Rect; 3],
    /// What stands beside each of them.
    pub(crate) beside: [Rect; 3],
    /// The scale of stations, under the piece.
    pub(crate) ruler: Rect,
    /// Findings, point, listing.
    pub(crate) words: [Rect; 3],
}

impl Layout {
    /// What the margins leave of the window.
    pub(crate) fn inner(whole: Rect) -> Rect {
        whole.shrink2(vec2(MARGIN, 0.0))
    }

    /// Lays the window out over a foot of this height; with the words or without them.
    pub(crate) fn of(whole: Rect, settings: &Settings, has_words: bool, foot: f32) -> Layout {
        let inner = Layout::inner(whole);
        let header = Rect::from_min_size(inner.min, vec2(inner.width(), HEADER));
        let footer = Rect::from_min_max(pos2(inner.left(), inner.bottom() - foot), inner.max);
        let body = Rect::from_min_max(header.left_bottom(), footer.right_top());
        let wide = if has_words { beside_words(settings.pictures, body.width()) } else { body.width() };
        let left = Rect::from_min_size(body.min, vec2(wide, body.height()));
        let beside = BESIDE.min(0.3 * wide);
        let wide = wide - beside;
        let right = Rect::from_min_max(pos2(left.right() + 2.0 * GAP, body.top()), body.max);
        let heights = shares(settings.rows, settings.shown, left.height() - RULER - 2.0 * GAP);
        let piece = Rect::from_min_size(left.min, vec2(wide, heights[0]));
        let ruler = Rect::from_min_size(piece.left_bottom(), vec2(wide, RULER));
        let skin = Rect::from_min_size(ruler.left_bottom(), vec2(wide, heights[1]));
        let run =
            Rect::from_min_max(pos2(left.left(), skin.bottom() + GAP), pos2(left.left() + wide, left.bottom() - GAP));
        let run = if settings.shown[2] { run } else { Rect::from_min_size(run.min, vec2(wide, 0.0)) };
        let words = shares(settings.rows, [true; 3], right.height() - 2.0 * GAP);
        let first = Rect::from_min_size(right.min, vec2(right.width(), words[0]));
        let second = Rect::from_min_size(first.left_bottom() + vec2(0.0, GAP), vec2(right.width(), words[1]));
        let third =
            Rect::from_min_max(second.left_bottom() + vec2(0.0, GAP), pos2(right.right(), right.bottom() - GAP));
        let pictures = [piece, skin, run];
        let beside = pictures.map(|it| Rect::from_min_size(it.right_top(), vec2(beside, it.height())));
        Layout { header, footer, body, left, pictures, beside, ruler, words: [first, second, third] }
    }

    /// Where the piece itself is seen, under its title.
    pub(crate) fn piece(&self) -> Rect {
        let [piece, ..] = self.pictures;
        piece.with_min_y(piece.top() + TITLE.min(piece.height()))
    }
}

/// How much of the width the pictures take that are to have a share of it: the words keep what they need.
fn beside_words(share: f32, width: f32) -> f32 {
    (share * width).min(width - WORDS).max(LEAST_PICTURES * width)
}

/// Heights by their shares, of those that are shown.
fn shares(rows: [f32; 3], shown: [bool; 3], height: f32) -> [f32; 3] {
    let own = |row: usize| if shown[row] { rows[row] } else { 0.0 };
    let sum: f32 = (0..3).map(own).sum();
    std::array::from_fn(|row| if sum > 0.0 { (height.max(0.0) * own(row) / sum).floor() } else { 0.0 })
}

/// The edges between the panes, which can be dragged, or moved with the arrow keys.
pub(super) fn dividers(desk: &mut Desk, ui: &mut Ui, layout: &Layout) {
    if desk.has_words() {
        let edge = layout.beside[0].right() + GAP;
        let rect = Rect::from_x_y_ranges(edge - 4.0..=edge + 4.0, layout.body.y_range());
        let by = moved(desk, ui, rect, "Edge between pictures and words", true);
        let share = desk.settings.pictures + by / layout.body.width().max(1.0);
        desk.settings.pictures = share.clamp(LEAST_PICTURES, 0.85);
    }
    let edges = [
        (0, layout.ruler.bottom(), "Edge under the piece"),
        (1, layout.pictures[1].bottom() + 4.0, "Edge under the skin"),
    ];
    for (row, edge, name) in edges {
        if !desk.settings.shown[row] || !desk.settings.shown[row + 1] {
            continue;
        }
        let rect = Rect::from_x_y_ranges(layout.pictures[0].left()..=layout.beside[0].right(), edge - 3.0..=edge + 3.0);
        let by = moved(desk, ui, rect, name, false) / layout.body.height().max(1.0);
        let [above, below] = [desk.settings.rows[row] + by, desk.settings.rows[row + 1] - by];
        if above > 0.1 && below > 0.1 {
            [desk.settings.rows[row], desk.settings.rows[row + 1]] = [above, below];
        }
    }
}

/// How far an edge is moved.
fn moved(desk: &mut Desk, ui: &mut Ui, rect: Rect, name: &str, is_upright: bool) -> f32 {
    let response = ui.interact(rect, ui.scope_id().with(name), Sense::drag());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Splitter, true, name));
    if response.hovered() || response.dragged() || response.has_focus() {
        let icon = if is_upright { CursorIcon::ResizeHorizontal } else { CursorIcon::ResizeVertical };
        if response.hovered() {
            ui.ctx().set_cursor_icon(icon);
        }
        ui.painter().rect_filled(rect.shrink(2.0), 1.0, desk.theme.mark);
    }
    let arrows = if is_upright { [Key::ArrowLeft, Key::ArrowRight] } else { [Key::ArrowUp, Key::ArrowDown] };
    let struck = |key: Key| if ui.input(|input| input.key_pressed(key)) { STEP } else { 0.0 };
    let by_keys = if response.has_focus() { struck(arrows[1]) - struck(arrows[0]) } else { 0.0 };
    desk.takes_arrows |= response.has_focus();
    by_keys + if is_upright { response.drag_delta().x } else { response.drag_delta().y }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A share chosen in a large window is kept, and left alone where it would cut coordinates off in a small one.
    #[test]
    fn the_words_keep_what_they_need() {
        let settings = Settings { pictures: 0.82, ..Settings::default() };
        let of =
            |width: f32| Layout::of(Rect::from_min_size(pos2(0.0, 0.0), vec2(width, 700.0)), &settings, true, 24.0);
        for width in [1024.0, 1300.0] {
            assert!((of(width).words[1].width() - (WORDS - 2.0 * GAP)).abs() < 0.5, "{width}");
        }
        assert!(of(3840.0).words[1].width() > 600.0);
        let narrow = of(400.0);
        assert!(narrow.pictures[0].width() > 0.0 && narrow.words[1].width() > 0.0, "{narrow:?}");
    }
}
