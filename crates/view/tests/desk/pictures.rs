//! How the panes look, in `tests/pictures`; only software adapters draw alike enough to compare.

use std::path::Path;

use egui::{Key, Rect};
use egui_kittest::kittest::Queryable as _;
use tiny_skia::{IntSize, Pixmap};

use crate::common::{Bench, Table, click, pane, places, settled, strike, table, until};
use crate::compare::assert_like;

/// Height of the footer, which names what draws, with what is around it.
const FOOTER: f32 = 34.0;

/// Holds a part of the desk against its reference, once the piece is drawn as it stands.
fn compared(table: &mut Table<'_>, name: &str, part: Rect) {
    until(table, "the picture at rest", |desk| desk.is_drawn() && !desk.session.is_quick());
    // What moved comes to rest, and is drawn once more.
    for _ in 0..4 {
        table.step();
    }
    until(table, "the picture of it", |desk| desk.is_drawn());
    if !table.state().session.is_slow() {
        println!("skipped: {name}: a graphics card rounds otherwise than the software that drew the references");
        return;
    }
    let whole = match table.render() {
        Ok(picture) => picture,
        Err(why) => return println!("skipped: {name}: {why}"),
    };
    let [left, top, width, height] =
        [part.left(), part.top(), part.width(), part.height()].map(|it| it.round() as usize);
    let rows = whole.as_raw().chunks_exact(4 * whole.width() as usize).skip(top).take(height);
    let bytes = rows.flat_map(|row| &row[4 * left..4 * (left + width)]).copied().collect();
    let size = IntSize::from_wh(width as u32, height as u32).unwrap();
    // Nothing of a window lets the ground through.
    let part = Pixmap::from_vec(bytes, size).unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures");
    assert_like(&folder.join(format!("{name}.png")), &part.encode_png().unwrap());
}

fn all_but_the_footer(size: [f32; 2]) -> Rect {
    Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(size[0], size[1] - FOOTER))
}

/// A pane with what stands beside it.
fn beside(table: &Table<'_>, name: &str) -> Rect {
    let run = pane(table, "Run");
    pane(table, name).with_max_x(run.right())
}

const SIZE: [f32; 2] = [1024.0, 700.0];

#[test]
fn all_of_it_by_daylight_and_in_the_dark() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    compared(&mut table, "light", all_but_the_footer(SIZE));
    strike(&mut table, Key::L);
    compared(&mut table, "dark", all_but_the_footer(SIZE));
}

#[test]
fn the_piece_whole_cut_along_and_cut_across() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    for name in ["piece-along", "piece-across"] {
        strike(&mut table, Key::X);
        let area = beside(&table, "Piece");
        compared(&mut table, name, area);
    }
}

#[test]
fn a_bored_piece_cut_along() {
    let bench = Bench::new();
    let bored = crate::common::SCENE.replace("diameter = 30,", "diameter = 30, bore = 9,");
    bench.write("scene.toml", &bored);
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::X);
    let area = beside(&table, "Piece");
    compared(&mut table, "bored-along", area);
}

#[test]
fn the_skin_by_cutter_with_a_point_and_a_measure() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::M);
    let theta = table.state().eye.unwrap().facing;
    for (station, modifiers) in [(40.0, egui::Modifiers::NONE), (55.0, egui::Modifiers::SHIFT)] {
        let [_, at] = places(&table, &dryturn_view::Spot { station, theta, radius: 10.0 });
        click(&mut table, at, modifiers);
    }
    until(&mut table, "what is known", |desk| desk.session.answer().is_some());
    let area = beside(&table, "Skin");
    compared(&mut table, "skin", area);
    let words = Rect::from_x_y_ranges(area.right() + 8.0..=SIZE[0], area.top() - 80.0..=area.bottom() + 60.0);
    compared(&mut table, "point", words);
}

#[test]
fn the_run_part_of_the_way() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::Home);
    for _ in 0..4 {
        strike(&mut table, Key::ArrowDown);
    }
    let area = pane(&table, "Run");
    compared(&mut table, "run", area);
}

#[test]
fn a_finding_with_its_cure_and_its_line() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::N);
    settled(&mut table);
    let left = pane(&table, "Run").right() + 8.0;
    let area = Rect::from_x_y_ranges(left..=SIZE[0], 40.0..=SIZE[1] - FOOTER);
    compared(&mut table, "finding", area);
}

#[test]
fn what_cannot_be_read_over_the_last_piece() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    bench.write("scene.toml", &crate::common::SCENE.replace("diameter = 30,", "dimeter = 30,"));
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    // The folder has another name each time.
    let area = beside(&table, "Piece");
    compared(&mut table, "refused", area);
    table.get_by_label("The scene cannot be read");
}

#[test]
fn the_keys() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::Questionmark);
    compared(&mut table, "keys", all_but_the_footer(SIZE));
}
