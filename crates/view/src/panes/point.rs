//! What is known of the point under the cursor.

use dryturn_carve::{EARLIER, PREPARED, UNTOUCHED};
use dryturn_geom::{Pose, angle};
use egui::{Rect, RichText, Ui};

use super::listing::named_line;
use super::{button, scrolled};
use crate::desk::Desk;
use crate::session::{Aim, Known, Opened};
use crate::spot::Spot;
use crate::theme::{self, number};

/// The words beside the skin.
pub(crate) fn point(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    scrolled(desk, ui, rect, "What is known of the point", |desk, ui| {
        ui.label(RichText::new("Point").font(theme::heading()));
        match desk.session.cursor.spot {
            Some(spot) => known(desk, ui, opened, &spot),
            None => {
                let told = "Click the piece or the skin; Shift-click measures from there.";
                ui.label(RichText::new(told).color(desk.theme.soft));
            }
        }
    });
}

fn known(desk: &mut Desk, ui: &mut Ui, opened: &Opened, spot: &Spot) {
    // Whoever measures looks for this first, and there is not always room for all.
    measure(desk, ui);
    let known = desk.session.answer().cloned();
    egui::Grid::new("where").num_columns(2).min_row_height(ROW).spacing([14.0, 2.0]).show(ui, |ui| {
        row(ui, "station", format!("{} mm", number(spot.station, 3)));
        row(ui, "angle θ", format!("{}°", number(angle::degrees(spot.theta), 2)));
        row(ui, "radius", format!("{} mm", number(spot.radius, 3)));
        if let Some(known) = &known {
            if (known.spot.radius - spot.radius).abs() > OFF {
                row(ui, "the wood", format!("{} mm from the axis", number(known.spot.radius, 3)));
            }
            if let Some(across) = known.diameter {
                row(ui, "diameter", format!("{} mm through the axis", number(across, 3)));
            }
        }
        controller(desk, ui, opened, known.as_ref());
    });
    match known {
        Some(known) => history(desk, ui, opened, &known),
        None => drop(ui.label(RichText::new("Looking who made it.").color(desk.theme.soft))),
    }
}

/// Height of a row of numbers: there is not always room for all.
const ROW: f32 = 15.0;

/// A finding that lies farther from the wood than this is not on it, mm.
const OFF: f64 = 0.0005;

fn row(ui: &mut Ui, name: &str, value: String) {
    ui.label(RichText::new(name).weak());
    ui.label(value);
    ui.end_row();
}

/// What the controller would show at this point: as the tip came by here; at the worst of a finding; where the tip stands now;
/// or, where nothing has cut, with the tip brought to touch it.
fn controller(desk: &Desk, ui: &mut Ui, opened: &Opened, known: Option<&Known>) {
    let session = &desk.session;
    let Some((name, words)) = told_by_finding(desk).or_else(|| {
        let (name, block, pose) = match known.filter(|known| known.asked.aim.is_picked()) {
            Some(known) => match known.maker().zip(known.passed) {
                Some((maker, passed)) => ("shown as cut", maker, passed),
                None => ("tip on it", last_block(desk), touching(desk, &known.spot)?),
            },
            None if session.is_asking() => return None,
            None if session.cursor.blocks == 0 => ("shown before", 0, session.tip(0)?),
            None => ("shown after", last_block(desk), session.tip(session.cursor.blocks)?),
        };
        Some((name, opened.job.shown(block, &pose)))
    }) else {
        return;
    };
    let words: Vec<String> = ["X", "Y", "Z", "A"]
        .iter()
        .zip(words)
        .filter_map(|(letter, value)| value.map(|value| format!("{letter}{}", number(value, 3))))
        .collect();
    ui.label(RichText::new(name).weak());
    let width = |text: &str| ui.painter().layout_no_wrap(text.to_owned(), theme::text(), desk.theme.ink).size().x;
    let line = words.join("  ");
    // What one line has no room for takes two.
    let is_wide = width(&line) > ui.clip_rect().right() - ui.cursor().left() - 4.0;
    ui.label(if is_wide { words.chunks(2).map(|pair| pair.join("  ")).collect::<Vec<_>>().join("\n") } else { line });
    ui.end_row();
}

/// What the controller shows at the worst of the finding that is looked at.
fn told_by_finding(desk: &Desk) -> Option<(&'static str, [Option<f64>; 4])> {
    let session = &desk.session;
    let index = session.cursor.finding.filter(|_| session.cursor.aim == Aim::Finding)?;
    let shown = session.proof.as_ref()?.findings.get(index)?.place?.shown?;
    Some(("shown there", [Some(shown.x), Some(shown.y), Some(shown.z), shown.a]))
}

/// The block that ran last, or the first of all.
fn last_block(desk: &Desk) -> u32 {
    desk.session.cursor.blocks.saturating_sub(1)
}

/// Where the tip touches a point, the blank turned no farther than it must.
fn touching(desk: &Desk, spot: &Spot) -> Option<Pose> {
    let now = desk.session.tip(desk.session.cursor.blocks)?.turn;
    let turn = now + angle::signed(spot.theta - now);
    Some(Pose { x: spot.station, y: 0.0, z: spot.radius, turn })
}

/// Which system "tip on it" is told in.
fn told_in(desk: &Desk, opened: &Opened) -> String {
    let block = last_block(desk);
    let (program, _) = opened.line_of(block);
    let file = opened.job.programs.get(program).map_or("", |run| run.file.as_str());
    format!(
        "With the tip on it the controller would show that, in {} of {}.",
        opened.system(block),
        dryturn_report::plain(file)
    )
}

/// Who made the surface, and what was there before.
fn history(desk: &mut Desk, ui: &mut Ui, opened: &Opened, known: &Known) {
    ui.add_space(4.0);
    match known.owner {
        UNTOUCHED => drop(ui.label("The blank as it was; nothing has cut here.")),
        PREPARED => drop(ui.label("Bored before the first block.")),
        EARLIER.. => drop(ui.label(earlier(opened, known.owner))),
        owner => {
            let cutter = opened.job.cutter_index(owner);
            let name = cutter.map_or_else(|| "no cutter".to_owned(), |it| desk.session.host().cutter(&opened.job, it));
            ui.label(format!("Made by cutter {name} in {}.", named_line(opened, owner)));
            if let Some(taken) = known.taken {
                ui.label(took(taken));
            }
            let is_now = desk.session.cursor.blocks == owner + 1;
            if !is_now && button(ui, egui::Button::new("Go to that moment"), "G") {
                desk.session.go_to_maker();
                desk.moves(ui.ctx());
            }
        }
    }
    if known.asked.aim.is_picked() && known.maker().is_none() {
        ui.label(RichText::new(told_in(desk, opened)).color(desk.theme.soft));
    }
    let hollows = known.ray.solid.len().saturating_sub(1);
    if hollows > 0 {
        let stretches: Vec<String> =
            known.ray.solid.iter().map(|it| format!("{} to {}", number(it.inner, 2), number(it.outer, 2))).collect();
        ui.label(format!("Solid along this ray: {} mm.", stretches.join(", ")));
    }
}

/// Who made it in an earlier set-up.
fn earlier(opened: &Opened, owner: u32) -> String {
    match opened.job.scene.blank.maker(owner - EARLIER) {
        Some(maker) => {
            format!("Made by line {} of {} in an earlier set-up, {}.", maker.line, maker.program, maker.set_up)
        }
        None => "Bored in an earlier set-up.".to_owned(),
    }
}

/// What was there before a block made the surface.
fn took([at, before]: [f64; 2]) -> String {
    format!("Before it stood at {} mm; it took {} mm.", number(before, 3), number((before - at).abs(), 3))
}

fn measure(desk: &Desk, ui: &mut Ui) {
    let cursor = &desk.session.cursor;
    let (Some(from), Some(to)) = (cursor.from, cursor.spot) else { return };
    let measure = from.to(&to);
    ui.label(RichText::new("From the first point").strong());
    egui::Grid::new("measure").num_columns(2).min_row_height(ROW).spacing([14.0, 2.0]).show(ui, |ui| {
        row(ui, "along", format!("{} mm", number(measure.along, 3)));
        row(ui, "around", format!("{} mm, {}°", number(measure.around, 3), number(measure.turn_deg, 2)));
        row(ui, "across", format!("{} mm straight", number(measure.across, 3)));
        row(ui, "depth", format!("{} mm", number(measure.depth, 3)));
    });
    ui.add_space(4.0);
}
