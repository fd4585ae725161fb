//! What was found, the dearest first as the report has it, with the cure to try.

use dryturn_check::{Finding, Remedy, Severity};
use egui::{Rect, RichText, Sense, Ui, vec2};

use super::{button, focus_ring, option, scrolled, sign};
use crate::desk::Desk;
use crate::session::{Edits, Opened, line_of};
use crate::theme;

/// The words beside the piece.
pub(crate) fn findings(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    scrolled(desk, ui, rect, "What was found", |desk, ui| list(desk, ui, opened));
}

fn list(desk: &mut Desk, ui: &mut Ui, opened: &Opened) {
    tried(desk, ui);
    let Some(proof) = desk.session.proof.clone() else {
        ui.label(RichText::new("Findings").font(theme::heading()));
        return unproved(desk, ui);
    };
    let count = proof.findings.len();
    let title = match count {
        0 => "Nothing found".to_owned(),
        1 => "1 finding".to_owned(),
        count => format!("{count} findings"),
    };
    ui.label(RichText::new(title).font(theme::heading()));
    if !desk.session.is_proved {
        ui.label(RichText::new("From before the last change.").color(desk.theme.mark));
        unproved(desk, ui);
    }
    for index in desk.session.in_order.clone() {
        one(desk, ui, opened, index, &proof.findings[index]);
    }
    let is_cured = desk.session.is_proved && !proof.findings.iter().any(is_open);
    if is_cured && !desk.session.edits.is_empty() {
        cured(desk, ui);
    } else if count == 0 {
        ui.label(RichText::new("Try another zero:").color(desk.theme.soft));
        nudges(desk, ui, None);
    }
    ui.add_space(6.0);
    ui.label(RichText::new(dryturn_report::CAUTION).color(desk.theme.soft));
}

/// Why there is no proof of the job as it is now.
fn unproved(desk: &Desk, ui: &mut Ui) {
    let (told, color) = match &desk.session.unproved {
        _ if desk.session.is_proving() => ("The job is being proved.".to_owned(), desk.theme.soft),
        Some(why) => (format!("The job cannot be proved: {}.", dryturn_report::plain(why)), desk.theme.mark),
        None => ("The job is not proved; R proves it.".to_owned(), desk.theme.soft),
    };
    ui.label(RichText::new(told).color(color));
}

/// What is tried out, and the way back.
fn tried(desk: &mut Desk, ui: &mut Ui) {
    if desk.session.edits.is_empty() {
        return;
    }
    let words = desk.session.edits.words();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(format!("Tried: {words}. The files are as they were.")).color(desk.theme.mark));
        if button(ui, egui::Button::new("Put back"), "B") {
            desk.session.put_back();
        }
    });
}

/// Whether a finding asks for something to be done.
fn is_open(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning && finding.accepted.is_none()
}

/// With what is tried, all is well.
fn cured(desk: &mut Desk, ui: &mut Ui) {
    ui.label("Nothing is left to cure. To keep what is tried, write it into the scene file; B puts it back.");
    let cutter = desk.session.edits.stickout.last().map(|(cutter, _)| *cutter);
    ui.label(RichText::new("Try a little more or less:").color(desk.theme.soft));
    nudges(desk, ui, cutter);
}

fn one(desk: &mut Desk, ui: &mut Ui, opened: &Opened, index: usize, finding: &Finding) {
    let is_chosen = desk.session.cursor.finding == Some(index);
    let theme = desk.theme;
    let width = ui.available_width() - 26.0;
    let color = if finding.accepted.is_some() { theme.soft } else { theme.ink };
    let galley = ui.painter().layout(finding.text.clone(), theme::text(), color, width);
    let (rect, response) = ui.allocate_exact_size(vec2(width + 26.0, galley.size().y + 8.0), Sense::click());
    option(ui, &response, &format!("{}: {}", finding.severity.word(), finding.text), is_chosen);
    if is_chosen || response.hovered() || response.has_focus() {
        ui.painter().rect_filled(rect, 2.0, theme.wash);
    }
    focus_ring(ui, rect, &response, &theme);
    ui.painter().extend(sign(finding.severity, rect.left_top() + vec2(11.0, 12.0), 6.0, &theme));
    ui.painter().galley(rect.left_top() + vec2(24.0, 4.0), galley, color);
    if response.clicked() {
        desk.session.choose(index);
        desk.moves(ui.ctx());
        desk.look_at_cursor();
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    if is_chosen {
        let details = ui.indent(("finding", index), |ui| details(desk, ui, opened, finding)).response;
        if desk.told != Some(index) {
            // By a key it may have been chosen out of sight; where not all of it has room, its beginning is seen.
            let whole = rect.union(details.rect);
            let is_long = whole.height() > ui.clip_rect().height();
            ui.scroll_to_rect(whole, is_long.then_some(egui::Align::TOP));
            desk.told = Some(index);
        }
    }
}

/// Where it is, and what helps.
fn details(desk: &mut Desk, ui: &mut Ui, opened: &Opened, finding: &Finding) {
    let place = finding.program.and_then(|program| {
        let file = dryturn_report::plain(&opened.job.programs.get(program)?.file);
        let line = line_of(finding)?;
        Some(format!("{file}:{line}"))
    });
    let grave = finding.severity.word();
    let head = place
        .map_or_else(|| format!("{grave}, {}", finding.rule), |place| format!("{grave}, {}, {place}", finding.rule));
    ui.label(RichText::new(head).color(desk.theme.soft));
    if let Some(why) = &finding.accepted {
        ui.label(format!("Accepted: {why}"));
    }
    ui.label(&finding.cure);
    ui.horizontal_wrapped(|ui| {
        for cure in &finding.cures {
            let Some(edits) = Edits::of_cure(cure, finding.cutter) else { continue };
            let what = match cure.what {
                Remedy::ZeroX => "another X0",
                _ => "another stickout",
            };
            let hint = format!("{what}, in this window only: the files stay as they are");
            if button(ui, egui::Button::new(format!("Try {}", edits.words())), &hint) {
                desk.session.attempt(&edits);
            }
        }
    });
    if finding.severity >= Severity::Warning {
        nudges(desk, ui, finding.cutter);
    }
}

/// Small steps of the zeros, and of how far a cutter sticks out; taken again and again they add up.
fn nudges(desk: &mut Desk, ui: &mut Ui, cutter: Option<u32>) {
    let stickout = |by: f64| Some(Edits { stickout: vec![(cutter?, by)], ..Edits::default() });
    let steps = [
        ("X0 −0.5", Some(Edits { zero_x: -0.5, ..Edits::default() })),
        ("X0 +0.5", Some(Edits { zero_x: 0.5, ..Edits::default() })),
        ("Z0 −0.5", Some(Edits { zero_z: -0.5, ..Edits::default() })),
        ("Z0 +0.5", Some(Edits { zero_z: 0.5, ..Edits::default() })),
        ("stickout −1", stickout(-1.0)),
        ("stickout +1", stickout(1.0)),
    ];
    let soft = desk.theme.soft;
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("by mm:").color(soft));
        for (name, edits) in steps {
            let Some(edits) = edits else { continue };
            if button(ui, egui::Button::new(name).small(), "in this window only: the files stay as they are") {
                desk.session.attempt(&edits);
            }
        }
    });
}
