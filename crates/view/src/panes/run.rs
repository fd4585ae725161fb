//! The run: time goes down, and every moment lies at the station where the cutter is.
//!
//! Beside it, on the same time, go what the run is told by: the least distance of any two bodies, how high the tip is over
//! the blank, and the wood taken. Trains have been drawn like this since Marey's *La méthode graphique* (1885).

mod lanes;

use egui::{Align2, Color32, Pos2, Rect, Sense, Stroke, Ui, pos2, vec2};

use super::piece::grow;
use super::{focus_ring, haloed, named, sign};
use crate::desk::Desk;
use crate::session::Opened;
use crate::theme::{self, clock, round_step};
use dryturn_geom::Motions;

/// Width of the band of cutters.
const BAND: f32 = 12.0;

/// One row of the run: where the tip was during a slice of time.
#[derive(Clone, Copy, Debug)]
struct Row {
    /// Least and greatest station while it is fed, mm.
    fed: Option<[f64; 2]>,
    /// The same on rapids.
    rapid: Option<[f64; 2]>,
    /// The cutter in the spindle.
    cutter: u16,
    /// Greatest height of the tip over the blank, mm.
    over: f64,
}

/// The rows that are drawn, and what they were made for.
#[derive(Default)]
pub(crate) struct RunCache {
    rows: Vec<Row>,
    of: Option<(usize, [f64; 2], usize)>,
}

/// The pane of the run.
pub(crate) fn run(desk: &mut Desk, ui: &mut Ui, [chart, lanes]: [Rect; 2], opened: &Opened) {
    let rect = chart.union(lanes);
    let response = ui.interact(rect, ui.scope_id().with("run"), Sense::click_and_drag());
    let share = f64::from(desk.session.cursor.blocks) / f64::from(opened.blocks().max(1));
    named(&response, "Run", format!("{:.0} % of the blocks have run", 100.0 * share));
    ui.painter().rect_filled(rect, 0.0, desk.theme.sheet);
    handle(desk, ui, [chart, lanes], &response, opened);
    let Some(span) = desk.span else { return };
    let pane = Pane { whole: rect, chart, lanes, span };
    rows(desk, opened, &pane);
    pane.time(desk, ui);
    pane.way(desk, ui);
    lanes::draw(desk, ui, &pane, &desk.run);
    pane.cursor(desk, ui, opened);
    pane.findings(desk, ui);
    let at = rect.left_top() + vec2(BAND + 8.0, 4.0);
    haloed(ui, at, Align2::LEFT_TOP, "Run", theme::heading(), desk.theme.ink, desk.theme.sheet);
    focus_ring(ui, rect, &response, &desk.theme);
}

/// Where things are.
pub(super) struct Pane {
    /// All of it.
    pub(super) whole: Rect,
    /// The part in which the way is drawn; stations are measured from its middle.
    pub(super) chart: Rect,
    /// The part of the lanes.
    pub(super) lanes: Rect,
    pub(super) span: [f64; 2],
}

impl Pane {
    pub(super) fn y(&self, seconds: f64) -> f32 {
        let share = (seconds - self.span[0]) / (self.span[1] - self.span[0]);
        self.whole.top() + self.whole.height() * share as f32
    }

    fn seconds(&self, y: f32) -> f64 {
        let share = f64::from((y - self.whole.top()) / self.whole.height().max(1.0));
        self.span[0] + share * (self.span[1] - self.span[0])
    }

    /// The time at the left, and faint lines through everything.
    fn time(&self, desk: &Desk, ui: &Ui) {
        let theme = &desk.theme;
        let painter = ui.painter_at(self.whole);
        let step = round_time((self.span[1] - self.span[0]) * 34.0 / f64::from(self.whole.height().max(34.0)));
        for tick in (self.span[0] / step).ceil() as i64..=(self.span[1] / step).floor() as i64 {
            let seconds = tick as f64 * step;
            let y = self.y(seconds);
            painter.line_segment(
                [pos2(self.whole.left() + BAND, y), pos2(self.whole.right(), y)],
                Stroke::new(0.6, theme.rule),
            );
            if y > self.whole.top() + 26.0 && y < self.whole.bottom() - 6.0 {
                let at = pos2(self.whole.left() + BAND + 4.0, y);
                haloed(ui, at, Align2::LEFT_CENTER, &clock(seconds), theme::small(), theme.soft, theme.sheet);
            }
        }
    }

    /// Where the tip was, row by row, in the colour of the cutter; rapids are dashed grey.
    fn way(&self, desk: &Desk, ui: &Ui) {
        let Some(eye) = desk.eye else { return };
        let theme = &desk.theme;
        let painter = ui.painter_at(self.chart);
        let x = |station: f64| self.chart.center().x + eye.across(station) as f32;
        let height = self.whole.height() / desk.run.rows.len().max(1) as f32;
        for (place, row) in desk.run.rows.iter().enumerate() {
            let y = self.whole.top() + height * (place as f32 + 0.5);
            let line = |[from, to]: [f64; 2]| [pos2(x(from) - 0.6, y), pos2(x(to) + 0.6, y)];
            if let Some(ends) = row.rapid.filter(|_| place % 3 != 0) {
                painter.line_segment(line(ends), Stroke::new(0.8, theme.soft.gamma_multiply(0.7)));
            }
            if let Some([from, to]) = row.fed {
                let bar = Rect::from_x_y_ranges(x(from) - 0.8..=x(to) + 0.8, y - 0.5 * height..=y + 0.5 * height + 0.3);
                painter.rect_filled(bar, 0.0, theme.cutter(row.cutter));
            }
            let band = Rect::from_min_size(pos2(self.whole.left(), y - 0.5 * height), vec2(BAND, height + 0.4));
            ui.painter().rect_filled(band, 0.0, theme.cutter(row.cutter));
            // Every cutter has a mark of its own in its band as well.
            if stripe(row.cutter, place) {
                ui.painter().rect_filled(band.shrink2(vec2(3.0, 0.0)), 0.0, theme.ink);
            }
        }
    }

    fn cursor(&self, desk: &Desk, ui: &Ui, opened: &Opened) {
        let theme = &desk.theme;
        let painter = ui.painter_at(self.whole);
        let y = self.y(opened.start_s(desk.session.cursor.blocks)).clamp(self.whole.top(), self.whole.bottom());
        painter.line_segment([pos2(self.whole.left(), y), pos2(self.whole.right(), y)], Stroke::new(1.5, theme.mark));
        let grip = pos2(self.whole.left() + BAND + 1.0, y);
        painter.add(egui::Shape::convex_polygon(
            vec![grip, grip + vec2(-9.0, -6.0), grip + vec2(-9.0, 6.0)],
            theme.mark,
            Stroke::new(1.0, theme.sheet),
        ));
        let (Some(eye), Some(spot)) = (desk.eye, desk.session.cursor.spot) else { return };
        let x = self.chart.center().x + eye.across(spot.station) as f32;
        if x < self.chart.right() {
            painter
                .line_segment([pos2(x, self.whole.top()), pos2(x, self.whole.bottom())], Stroke::new(1.2, theme.mark));
        }
        // The line that is looked at, where it is not the one that ran last.
        let focus = desk.session.cursor.focus.filter(|focus| focus + 1 != desk.session.cursor.blocks);
        if let Some(focus) = focus {
            let at = pos2(x.min(self.chart.right()), self.y(opened.start_s(focus)));
            painter.circle_filled(at, 4.0, theme.sheet);
            painter.circle_stroke(at, 4.0, Stroke::new(1.8, theme.mark));
        }
    }

    fn findings(&self, desk: &Desk, ui: &Ui) {
        let (Some(eye), Some(proof)) = (desk.eye, desk.session.proof.as_ref()) else { return };
        if !desk.session.is_proved {
            return;
        }
        let painter = ui.painter_at(self.whole);
        for (index, (finding, seconds)) in proof.findings.iter().zip(&proof.told.found_s).enumerate() {
            let Some(seconds) = seconds else { continue };
            let station = finding.place.map_or(eye.station, |place| place.station_mm);
            let x = self.chart.center().x + eye.across(station) as f32;
            let at = pos2(x.clamp(self.chart.left() + BAND + 8.0, self.chart.right() - 8.0), self.y(*seconds));
            let size = if desk.session.cursor.finding == Some(index) { 9.0 } else { 6.0 };
            painter.extend(sign(finding.severity, at, size, &desk.theme));
        }
    }
}

/// Whether a row of the band of a cutter bears its mark.
pub(super) fn stripe(cutter: u16, row: usize) -> bool {
    match cutter % 5 {
        0 => false,
        1 => row % 8 < 3,
        2 => row % 14 < 9,
        3 => row % 14 < 2,
        _ => row % 5 < 2,
    }
}

/// A step in seconds that reads well.
fn round_time(least: f64) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0];
    steps.into_iter().find(|step| *step >= least).unwrap_or_else(|| 3600.0 * round_step(least / 3600.0))
}

fn handle(desk: &mut Desk, ui: &Ui, [chart, lanes]: [Rect; 2], response: &egui::Response, opened: &Opened) {
    let Some(span) = desk.span else { return };
    let pane = Pane { whole: chart.union(lanes), chart, lanes, span };
    if let Some(pointer) = response.hover_pos() {
        zoom(desk, ui, &pane, pointer, opened);
    }
    drag(desk, ui, &pane, response, opened);
    if response.drag_stopped() || response.clicked() {
        desk.look_at_cursor();
    }
}

/// Goes to the moment under the pointer.
fn drag(desk: &mut Desk, ui: &Ui, pane: &Pane, response: &egui::Response, opened: &Opened) {
    let Some(pointer) = response.interact_pointer_pos() else { return };
    if response.dragged() || response.is_pointer_button_down_on() || response.clicked() {
        let seconds = pane.seconds(pointer.y);
        let is_end = seconds >= opened.end_s();
        let blocks = if is_end { opened.blocks() } else { opened.block_at(seconds) };
        let is_drag = response.dragged();
        if blocks != desk.session.cursor.blocks || response.clicked() {
            desk.moves(ui.ctx());
            desk.session.go(blocks, is_drag);
        }
        response.request_focus();
    }
}

/// Over the band and the lanes, or with Ctrl, the wheel stretches the time; else the stations.
fn zoom(desk: &mut Desk, ui: &Ui, pane: &Pane, pointer: Pos2, opened: &Opened) {
    let is_time = pointer.x > pane.chart.right()
        || pointer.x < pane.whole.left() + BAND + 60.0
        || ui.input(|input| input.modifiers.command);
    let Some(mut eye) = desk.eye else { return };
    if !is_time {
        let before = eye;
        grow(ui, &mut eye, vec2(pointer.x - pane.chart.center().x, 0.0));
        desk.eye = Some(eye);
        if eye != before {
            desk.moves(ui.ctx());
        }
        return;
    }
    let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
    let by = f64::from(pinch) * (f64::from(scroll) * 0.004).exp();
    if (by - 1.0).abs() > 1e-6 {
        let at = pane.seconds(pointer.y);
        let [from, to] = pane.span.map(|end| at + (end - at) / by);
        let end = opened.end_s().max(1e-3);
        if to - from > 0.05 {
            desk.span = Some([from.max(0.0), to.min(end)]);
        }
    }
}

/// Works the rows out anew where they are for something else.
fn rows(desk: &mut Desk, opened: &Opened, pane: &Pane) {
    let count = (pane.whole.height() / 1.5).max(1.0) as usize;
    let of = (std::ptr::from_ref(opened) as usize, pane.span, count);
    if desk.run.of == Some(of) {
        return;
    }
    desk.run.of = Some(of);
    let top = opened.work.stock.swept_radius();
    let slice = (pane.span[1] - pane.span[0]) / count as f64;
    let moment = |row: usize| pane.span[0] + slice * row as f64;
    desk.run.rows = (0..count).map(|row| row_of(opened, [moment(row), moment(row + 1)], top)).collect();
}

/// Most blocks of a slice that are looked at one by one.
const LOOKED_AT: u32 = 400;

/// What is done from one moment to another.
fn row_of(opened: &Opened, [from, to]: [f64; 2], top: f64) -> Row {
    let (first, last) = (opened.block_at(from), opened.block_at(to));
    let mut row = Row { fed: None, rapid: None, cutter: opened.job.cutter_index(first).unwrap_or(u16::MAX), over: 0.0 };
    let stride = last.saturating_sub(first) / LOOKED_AT + 1;
    for motion in (first..=last).step_by(stride as usize).filter_map(|block| opened.job.motion(block)) {
        let [begins, ends] = [opened.start_s(motion.block), opened.start_s(motion.block + 1)];
        let share =
            |moment: f64| if ends > begins { ((moment - begins) / (ends - begins)).clamp(0.0, 1.0) } else { 0.5 };
        let [a, b] = [from, to].map(|moment| motion.at(share(moment)));
        let kind = if motion.rapid { &mut row.rapid } else { &mut row.fed };
        let [low, high] = [a.x.min(b.x), a.x.max(b.x)];
        *kind = Some(kind.map_or([low, high], |[least, most]| [least.min(low), most.max(high)]));
        row.over = row.over.max(a.z.max(b.z) - top);
    }
    row
}

/// The colour of a lane's curve.
pub(super) fn curve(theme: &crate::theme::Theme) -> Color32 {
    theme.ink.gamma_multiply(0.75)
}
