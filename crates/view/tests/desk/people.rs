//! What the window is to people: without a mouse, and without seeing it.

use crate::common::{Bench, Table, strike, table, until};
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

const SIZE: [f32; 2] = [1280.0, 800.0];

/// What has the keyboard, by its name.
fn focused(table: &Table<'_>) -> Option<String> {
    let all = table.root().children_recursive();
    let node = all.into_iter().find(|it| it.accesskit_node().is_focused())?;
    node.accesskit_node().label()
}

#[test]
fn a_cure_is_chosen_tried_and_put_back_by_keys_alone() {
    for cure in ["Try X0", "X0 +0.5", "Z0 −0.5", "stickout +1"] {
        let bench = Bench::new();
        let mut table = table(&bench, SIZE);
        strike(&mut table, Key::N);
        let mut tabs = 0;
        while !focused(&table).is_some_and(|name| name.starts_with(cure)) {
            strike(&mut table, Key::Tab);
            tabs += 1;
            assert!(tabs < 80, "{cure} is not reached");
        }
        strike(&mut table, Key::Space);
        until(&mut table, "the cure proved", |desk| desk.session.is_proved && !desk.session.edits.is_empty());
        table.get_by_label_contains("The files are as they were.");
        strike(&mut table, Key::B);
        until(&mut table, "the job as it was", |desk| desk.session.is_proved && desk.session.edits.is_empty());
    }
}

#[test]
fn whatever_takes_the_keyboard_has_a_name_and_tab_reaches_all_of_it() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::N);
    let mut reached = std::collections::BTreeSet::new();
    for _ in 0..80 {
        strike(&mut table, Key::Tab);
        reached
            .insert(focused(&table).unwrap_or_else(|| panic!("after {reached:?} what has the keyboard has no name")));
    }
    for name in [
        "Piece",
        "Skin",
        "Run",
        "Map: Remaining radius",
        "Edge between pictures and words",
        "Edge under the piece",
        "Edge under the skin",
        "keys",
        "picture",
        "mesh",
        "line 8: G1 Z12 F300",
    ] {
        assert!(reached.contains(name), "{name} is not among {reached:?}");
    }
    assert!(reached.iter().any(|name| name.starts_with("error: ")), "{reached:?}");
}

#[test]
fn whoever_does_not_see_it_is_told_the_verdict_the_moment_and_what_is_chosen() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::N);
    until(&mut table, "the answer and the picture", |desk| {
        desk.session.answer().is_some() && desk.drawn().is_some_and(|it| it.blocks == Some(desk.session.cursor.blocks))
    });
    table.get_by_label("stop: A peg");
    table.get_by_label_contains("Piece after peg.nc:8");
    table.get_by_label_contains("Section across at ");
    let chosen = |table: &Table<'_>, part: &str| {
        let all = table.get_all_by_label_contains(part);
        all.filter(|it| it.accesskit_node().is_selected() == Some(true)).count()
    };
    assert_eq!((chosen(&table, "error: "), chosen(&table, "line ")), (1, 1));
    let piece = table.get_by_label("Piece").accesskit_node().value().unwrap();
    assert!(piece.starts_with("station ") && piece.contains("radius "), "{piece}");
    assert!(table.get_by_label("Run").accesskit_node().value().unwrap().contains("% of the blocks have run"));
}

#[test]
fn the_wheel_grows_the_piece_about_the_pointer() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let pane = table.get_by_label("Piece").rect();
    let at = pane.center() + egui::vec2(60.0, -25.0);
    let under = |table: &mut Table<'_>| {
        crate::common::click(table, at, Modifiers::NONE);
        table.state().session.cursor.spot.unwrap()
    };
    let before = under(&mut table);
    let scale = table.state().eye.unwrap().scale;
    for _ in 0..3 {
        let (unit, delta, phase) = (egui::MouseWheelUnit::Point, egui::vec2(0.0, 60.0), egui::TouchPhase::Move);
        let (modifiers, source) = (Modifiers::NONE, egui::MouseWheelSource::Wheel);
        table.event(egui::Event::MouseWheel { unit, delta, phase, modifiers, source });
        (0..10).for_each(|_| table.step());
    }
    assert!(table.state().eye.unwrap().scale > 1.3 * scale);
    let after = under(&mut table);
    assert!(before.to(&after).across < 0.3, "{before:?} {after:?}");
}

#[test]
fn a_picture_that_cannot_be_written_is_told() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::Num1);
    strike(&mut table, Key::W);
    assert!(table.state().session.notes.last().unwrap().contains("the piece is hidden"));
    strike(&mut table, Key::Num1);
    strike(&mut table, Key::W);
    until(&mut table, "the picture", |desk| desk.session.notes.last().unwrap() == "wrote peg.png");
}

/// In a small window with very large text something has to give way, but nothing is written over anything else.
#[test]
fn in_very_large_text_what_has_no_room_is_left_out() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    table.state_mut().settings.zoom = Some(2.6);
    (0..3).for_each(|_| table.step());
    let buttons = ["all", "whole", "wood", "mesh", "picture", "light", "keys"];
    let seen: Vec<egui::Rect> =
        buttons.iter().filter_map(|name| table.query_by_label(name)).map(|it| it.rect()).collect();
    assert!(seen.len() >= 4 && table.query_by_label("keys").is_some());
    // The verdict's sign and word.
    assert!(seen.iter().all(|it| it.left() > 80.0), "{seen:?}");
    crate::common::keep(&mut table, "very-large-text");
}
