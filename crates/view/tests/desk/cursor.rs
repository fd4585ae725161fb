//! The one cursor: what is picked, what is said of it, and what is measured.

use crate::common::{self, Bench, click, keep, places, settled, strike, table, until};
use dryturn_view::{Aim, Spot};
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

const SIZE: [f32; 2] = [1280.0, 800.0];

#[test]
fn a_point_is_the_same_on_the_skin_and_on_the_piece() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    // So that the floor of the slot is seen.
    table.state_mut().eye.as_mut().unwrap().facing = 0.2;
    let facing = 0.2;
    // In the groove, on its rim, in the slot, on raw wood.
    for (station, theta) in [(40.0, facing), (40.0, facing - 0.6), (25.0, 0.02), (60.3, facing + 0.8), (11.0, facing)] {
        let radius = table.state().session.shown.as_ref().unwrap().field.radius(station, theta);
        let [on_piece, on_skin] = places(&table, &Spot { station, theta, radius });
        let picked = [on_piece, on_skin].map(|at| {
            click(&mut table, at, Modifiers::NONE);
            settled(&mut table);
            (table.state().session.cursor.spot.unwrap(), table.state().session.cursor.focus)
        });
        let [(piece, of_piece), (skin, of_skin)] = picked;
        assert!((piece.station - skin.station).abs() < 0.3, "{piece:?} {skin:?}");
        assert!(dryturn_geom::angle::signed(piece.theta - skin.theta).abs() * 15.0 < 0.8, "{piece:?} {skin:?}");
        assert_eq!(of_piece, of_skin, "{station} {theta}");
    }
}

#[test]
fn the_point_tells_who_made_it_and_what_was_there_before() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    let [_, on_skin] = places(&table, &Spot { station: 40.0, theta, radius: 10.0 });
    click(&mut table, on_skin, Modifiers::NONE);
    until(&mut table, "what is known", |desk| desk.session.answer().is_some());
    let known = table.state().session.answer().cloned().unwrap();
    assert!((known.spot.radius - 10.0).abs() < 1e-6 && (known.diameter.unwrap() - 20.0).abs() < 1e-6, "{known:?}");
    let opened = table.state().session.opened.clone().unwrap();
    assert_eq!(opened.line_of(known.owner), (0, 5));
    assert_eq!(known.taken.map(|ends| ends.map(|it| (1e6 * it).round())), Some([10e6, 15e6]));
    table.get_by_label_contains("Made by cutter 1 in peg.nc:5");
    table.get_by_label_contains("Before it stood at 15.000 mm; it took 5.000 mm.");
    keep(&mut table, "point");
}

/// Picks a point at station 40; gives where to pick another at 55.
fn one_of_two_points(table: &mut common::Table<'_>) -> egui::Pos2 {
    let theta = table.state().eye.unwrap().facing;
    let at = |table: &common::Table<'_>, station: f64| places(table, &Spot { station, theta, radius: 10.0 })[1];
    let first = at(table, 40.0);
    click(table, first, Modifiers::NONE);
    at(table, 55.0)
}

#[test]
fn two_points_are_measured() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let second = one_of_two_points(&mut table);
    click(&mut table, second, Modifiers::SHIFT);
    settled(&mut table);
    let cursor = table.state().session.cursor;
    let measure = cursor.from.unwrap().to(&cursor.spot.unwrap());
    assert!((measure.along - 15.0).abs() < 0.2 && (measure.depth + 5.0).abs() < 0.05, "{measure:?}");
    let measured = table.get_by_label("From the first point").rect();
    assert!(measured.bottom() < table.get_by_label("station").rect().top(), "{measured:?}");
    keep(&mut table, "measured");
}

#[test]
fn shift_is_that_of_the_click_however_slow_the_picture() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let pos = one_of_two_points(&mut table);
    table.hover_at(pos);
    table.step();
    // All of it between two pictures, and Shift is up again when the second is drawn.
    for pressed in [true, false] {
        let button = egui::PointerButton::Primary;
        table.event_modifiers(
            egui::Event::PointerButton { pos, button, pressed, modifiers: Modifiers::SHIFT },
            Modifiers::NONE,
        );
    }
    table.step();
    table.step();
    let cursor = table.state().session.cursor;
    let measure = cursor.from.unwrap().to(&cursor.spot.unwrap());
    assert!((measure.along - 15.0).abs() < 0.2, "{measure:?}");
}

#[test]
fn a_point_is_looked_for_and_measured_by_keys_alone() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let point = |table: &mut common::Table<'_>, key: Key| {
        table.key_press_modifiers(Modifiers::COMMAND, key);
        table.step();
        table.step();
        table.state().session.cursor.spot.unwrap()
    };
    let first = point(&mut table, Key::ArrowRight);
    let down = point(&mut table, Key::ArrowDown);
    let sense = table.state().eye.unwrap().down();
    assert!(sense * dryturn_geom::angle::signed(down.theta - first.theta) > 0.0 && down.station == first.station);
    strike(&mut table, Key::K);
    for _ in 0..10 {
        point(&mut table, Key::ArrowLeft);
    }
    let cursor = table.state().session.cursor;
    let measure = cursor.from.unwrap().to(&cursor.spot.unwrap());
    assert!(measure.along < -4.9 && measure.turn_deg == 0.0, "{measure:?}");
    until(&mut table, "what is known", |desk| desk.session.answer().is_some());
    let maker = table.state().session.answer().unwrap().maker();
    assert_eq!(table.state().session.cursor.focus, maker);
    table.get_by_label("From the first point");
    assert_eq!(cursor.blocks, table.state().session.opened.as_ref().unwrap().blocks());
}

#[test]
fn a_finding_off_the_surface_leaves_the_caliper_on_it() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let spot = Spot { station: 40.0, theta: 1.0, radius: 33.0 };
    table.state_mut().session.cursor.spot = Some(spot);
    table.step();
    table.get_by_label("Section across at 40.0 mm, Ø 20.00 mm");
}

/// The line that the listing marks, as it is told to whoever does not see it.
fn marked(table: &common::Table<'_>) -> Vec<String> {
    let lines = table.get_all_by_label_contains("line ");
    lines
        .filter(|it| it.accesskit_node().is_selected() == Some(true))
        .filter_map(|it| it.accesskit_node().label())
        .collect()
}

#[test]
fn where_nothing_has_cut_it_is_told_what_the_controller_would_show_with_the_tip_there() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    let [_, at] = places(&table, &Spot { station: 60.0, theta, radius: 15.0 });
    click(&mut table, at, Modifiers::NONE);
    settled(&mut table);
    table.get_by_label("The blank as it was; nothing has cut here.");
    table.get_by_label("tip on it");
    table.get_by_label("With the tip on it the controller would show that, in G54 of slot.nc.");
    // The zero of Z is the axis, that of X the jaw face; A goes the shorter way from where it stands, at 0.
    let spot = table.state().session.cursor.spot.unwrap();
    let a = dryturn_geom::angle::degrees(dryturn_geom::angle::signed(spot.theta));
    table.get_by_label(&format!("X{:.3}  Y0.000  Z15.000  A{a:.3}", spot.station).replace("A-", "A−"));
}

#[test]
fn before_the_answer_no_line_is_marked_and_then_the_one_that_made_it() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    let spot = Spot { station: 40.0, theta, radius: 10.0 };
    table.state_mut().session.pick(spot, Aim::Skin, false);
    assert!(table.state().session.is_asking());
    settled(&mut table);
    assert!(!table.state().session.is_asking());
    assert_eq!(marked(&table), ["line 5: G1 A360 F900"]);
    table.get_by_label("shown as cut");
}

#[test]
fn whoever_asks_to_go_there_goes_once_it_is_known_where_that_is() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    let spot = Spot { station: 40.0, theta, radius: 10.0 };
    table.state_mut().session.pick(spot, Aim::Skin, false);
    table.state_mut().session.go_to_maker();
    settled(&mut table);
    let opened = table.state().session.opened.clone().unwrap();
    let cursor = table.state().session.cursor;
    assert_eq!(opened.line_of(cursor.blocks - 1), (0, 5));
    assert_eq!((cursor.spot.unwrap().station, cursor.aim), (40.0, Aim::Skin));
    // Going on, the point under the tip was made by another line than the one that ran, the plunge; G goes there too.
    strike(&mut table, Key::ArrowDown);
    settled(&mut table);
    strike(&mut table, Key::G);
    settled(&mut table);
    assert_eq!(opened.line_of(table.state().session.cursor.blocks - 1), (0, 4));
}

#[test]
fn two_points_that_are_measured_at_once_are_both_as_the_rays_have_them() {
    let bench = Bench::new();
    // So coarse that no ray of the grid lies where the points do, and the groove turned by a ball.
    bench.write("scene.toml", &common::SCENE.replace("diameter = 6\n", "diameter = 6\nshape = \"ball\"\n"));
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    for station in [38.3, 41.13] {
        let radius = table.state().session.shown.as_ref().unwrap().field.radius(station, theta);
        table.state_mut().session.pick(Spot { station, theta, radius }, Aim::Skin, station > 40.0);
    }
    settled(&mut table);
    until(&mut table, "both", |desk| desk.session.answer().is_some());
    let cursor = table.state().session.cursor;
    for (spot, off) in [(cursor.from.unwrap(), 1.7f64), (cursor.spot.unwrap(), 1.13)] {
        let exact = 13.0 - (9.0 - off * off).sqrt();
        assert!((spot.radius - exact).abs() < 1e-6, "{spot:?} {exact}");
    }
}

#[test]
fn the_bore_is_told_by_its_own_diameter() {
    let bench = Bench::new();
    bench.write("scene.toml", &common::SCENE.replace("diameter = 30,", "diameter = 30, bore = 9,"));
    let mut table = table(&bench, SIZE);
    table.state_mut().session.pick(Spot { station: 60.0, theta: 1.0, radius: 4.6 }, Aim::Inside, false);
    settled(&mut table);
    table.get_by_label("Bored before the first block.");
    table.get_by_label("9.000 mm through the axis");
}

/// A flat milled past the axis, 4 mm deep beyond it: on the line through the axis a caliper reads 15 − 4 mm; beside the flat, where
/// both sides are as turned, 30; across the slot and the round of the other side, 12 + 15.
#[test]
fn a_caliper_reads_what_the_rays_of_both_sides_leave_between_its_jaws() {
    let bench = Bench::new();
    bench.write("slot.nc", &common::SLOT.replace("M30", "X60\nG1 Z-4 F100\nG0 Z20\nM30"));
    let mut table = table(&bench, SIZE);
    let pi = std::f64::consts::PI;
    for (station, theta, reads) in
        [(60.0, pi, 11.0), (64.0, 1.0, 30.0), (25.0, 0.0, 27.0), (25.0, pi, 27.0), (40.0, 2.0, 20.0)]
    {
        table.state_mut().session.pick(Spot { station, theta, radius: 15.0 }, Aim::Piece, false);
        settled(&mut table);
        table.get_by_label(&format!("{reads:.3} mm through the axis"));
        table.get_by_label(&format!("Section across at {station:.1} mm, Ø {reads:.2} mm"));
    }
}

#[test]
fn a_point_is_asked_about_anew_once_a_file_was_saved() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let theta = table.state().eye.unwrap().facing;
    table.state_mut().session.pick(Spot { station: 40.0, theta, radius: 10.0 }, Aim::Skin, false);
    settled(&mut table);
    bench.write("peg.nc", &common::PEG.replace("G0 X40", "(one)\n(two)\nG0 X40").replace("Z10 F300", "Z9 F300"));
    until(&mut table, "the new groove", |desk| {
        desk.session.answer().is_some_and(|it| (it.spot.radius - 9.0).abs() < 1e-6)
    });
    settled(&mut table);
    assert_eq!(marked(&table), ["line 7: G1 A360 F900"]);
}
