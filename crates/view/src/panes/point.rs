//! What is known of the point under the cursor.

use dryturn_carve::{EARLIER, PREPARED, Ray, UNTOUCHED};
use dryturn_geom::angle;
use egui::{Rect, RichText, Ui, UiBuilder};

use super::listing::named_line;
use crate::desk::Desk;
use crate::session::{Known, Opened};
use crate::theme::{self, number};

/// The words beside the skin.
pub(crate) fn point(desk: &mut Desk, ui: &mut Ui, rect: Rect, opened: &Opened) {
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt("point"), |ui| {
        ui.set_clip_rect(rect.intersect(ui.clip_rect()));
        egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.label(RichText::new("Point").font(theme::heading()));
            let Some(spot) = desk.session.cursor.spot else {
                ui.label(
                    RichText::new("Click the piece or the skin; Shift-click measures from there.")
                        .color(desk.theme.soft),
                );
                return;
            };
            // Whoever measures looks for this first, and there is not always room for all.
            measure(desk, ui);
            let known = desk
                .session
                .known
                .clone()
                .filter(|known| (known.spot.station, known.spot.theta) == (spot.station, spot.theta));
            let radius = known.as_ref().map_or(spot.radius, |known| known.spot.radius);
            egui::Grid::new("where").num_columns(2).spacing([14.0, 2.0]).show(ui, |ui| {
                row(ui, "station", format!("{} mm", number(spot.station, 3)));
                row(ui, "angle θ", format!("{}°", number(angle::degrees(spot.theta), 2)));
                row(ui, "radius", format!("{} mm", number(radius, 3)));
                if let Some(known) = &known {
                    row(ui, "diameter", format!("{} mm through the axis", number(radius + known.opposite, 3)));
                }
                shown(desk, ui, opened, known.as_deref());
            });
            if let Some(known) = known {
                history(desk, ui, opened, &known);
            }
        });
    });
}

fn row(ui: &mut Ui, name: &str, value: String) {
    ui.label(RichText::new(name).weak());
    ui.label(value);
    ui.end_row();
}

/// What the controller would show as the tip came by here; else while the line that is looked at ends.
fn shown(desk: &Desk, ui: &mut Ui, opened: &Opened, known: Option<&Known>) {
    use dryturn_geom::Motions;
    let Some(focus) = desk.session.cursor.focus else { return };
    let here = known.filter(|known| known.owner == focus).and_then(|known| known.passed);
    let Some(pose) = here.or_else(|| Some(opened.job.motion(focus)?.to)) else { return };
    let words = opened.job.shown(focus, &pose);
    let text: Vec<String> = ["X", "Y", "Z", "A"]
        .iter()
        .zip(words)
        .filter_map(|(letter, value)| value.map(|value| format!("{letter}{}", number(value, 3))))
        .collect();
    let name = if here.is_some() { "shown as cut" } else { "shown after" };
    row(ui, name, text.join("  "));
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
            if let Some(before) = known.before.as_ref().and_then(outer) {
                let depth = before - known.spot.radius;
                ui.label(format!("Before it stood at {} mm; it took {} mm.", number(before, 3), number(depth, 3)));
            }
            let is_now = desk.session.cursor.blocks == owner + 1;
            if !is_now && ui.button("Go to that moment").on_hover_text("G").clicked() {
                desk.session.go_to_focus();
            }
        }
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

fn outer(ray: &Ray) -> Option<f64> {
    ray.solid.first().map(|stretch| stretch.outer)
}

fn measure(desk: &Desk, ui: &mut Ui) {
    let cursor = &desk.session.cursor;
    let (Some(from), Some(to)) = (cursor.from, cursor.spot) else { return };
    let measure = from.to(&to);
    ui.label(RichText::new("From the first point").strong());
    egui::Grid::new("measure").num_columns(2).spacing([14.0, 2.0]).show(ui, |ui| {
        row(ui, "along", format!("{} mm", number(measure.along, 3)));
        row(ui, "around", format!("{} mm, {}°", number(measure.around, 3), number(measure.turn_deg, 2)));
        row(ui, "across", format!("{} mm straight", number(measure.across, 3)));
        row(ui, "depth", format!("{} mm", number(measure.depth, 3)));
    });
    ui.add_space(4.0);
}
