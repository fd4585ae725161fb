//! What is in sight: places that are chosen, all of the piece and its holding, and the picture under the scale.

use std::path::Path;

use dryturn_view::Spot;
use egui::{Key, Modifiers, Rect};
use egui_kittest::kittest::Queryable as _;

use crate::common::{Bench, HELD, REACH, SCENE, Table, laid_for, pane, places, strike, table, until};

const SIZE: [f32; 2] = [1024.0, 700.0];

/// The law: whatever one looked at before, the place of a finding that is chosen lies in the piece pane.
#[test]
fn a_finding_that_is_chosen_comes_into_sight_wherever_its_place_is() {
    for scene in ["kite-reel", "choir-stand"] {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes").join(scene).join("scene.toml");
        let mut table = laid_for(&file, SIZE);
        until(&mut table, "the proof", |desk| desk.session.is_proved);
        let findings = table.state().session.proof.as_ref().unwrap().findings.len();
        for (nearer, keys) in [(0, vec![]), (5, vec![]), (8, vec![Key::Period; 6]), (3, vec![Key::Comma, Key::Num4])] {
            strike(&mut table, Key::F);
            (0..nearer).for_each(|_| strike(&mut table, Key::Plus));
            keys.into_iter().for_each(|key| strike(&mut table, key));
            for _ in 0..findings {
                strike(&mut table, Key::N);
                let Some(spot) = table.state().session.cursor.spot else { continue };
                let [at, _] = places(&table, &spot);
                assert!(pane(&table, "Piece").contains(at), "{scene}, {nearer} nearer: {spot:?} at {at}");
            }
        }
        table.state_mut().settings.words = true;
    }
}

/// The peg with its chuck drawn.
fn held<'a>() -> (Bench, Table<'a>) {
    let bench = Bench::new();
    bench.write("scene.toml", &SCENE.replace("A peg", HELD));
    let table = table(&bench, SIZE);
    (bench, table)
}

/// Whether all that lies so far from the axis is in the piece pane, mm.
fn is_seen(table: &Table<'_>, radius: f64) -> bool {
    let (eye, pane) = (table.state().eye.unwrap(), pane(table, "Piece"));
    let edge = |up: f64| pane.center().y - (eye.scale * (up * radius - eye.rise)) as f32;
    pane.top() <= edge(1.0) && edge(-1.0) <= pane.bottom()
}

/// At first the piece is seen as large as may be; by F all that is drawn, and by F once more the piece again.
#[test]
fn all_of_it_is_the_holding_too() {
    let (_bench, mut table) = held();
    let first = table.state().eye.unwrap();
    assert!(is_seen(&table, 15.0) && !is_seen(&table, REACH));
    strike(&mut table, Key::F);
    assert!(is_seen(&table, REACH));
    strike(&mut table, Key::F);
    assert_eq!(table.state().eye.unwrap(), first);
    strike(&mut table, Key::Plus);
    strike(&mut table, Key::F);
    assert!(is_seen(&table, REACH));
    // Looked at from elsewhere, it is all that is asked for again.
    strike(&mut table, Key::CloseBracket);
    strike(&mut table, Key::F);
    assert!(is_seen(&table, REACH));
    // What is not drawn needs no room.
    strike(&mut table, Key::H);
    strike(&mut table, Key::Plus);
    strike(&mut table, Key::F);
    assert_eq!(table.state().eye.unwrap(), first);
}

#[test]
fn panes_that_are_hidden_cut_nothing_off_and_come_back() {
    for (keys, reach) in
        [(vec![], 15.0), (vec![Key::F], REACH), (vec![Key::Minus; 5], REACH), (vec![Key::F, Key::Plus], 15.0)]
    {
        let (_bench, mut table) = held();
        keys.iter().for_each(|key| strike(&mut table, *key));
        let before = table.state().eye.unwrap();
        for pane in [Key::Num4, Key::Num2, Key::Num3] {
            strike(&mut table, pane);
            assert!(is_seen(&table, reach), "{keys:?} {pane:?}");
        }
        for pane in [Key::Num3, Key::Num2, Key::Num4] {
            strike(&mut table, pane);
        }
        let after = table.state().eye.unwrap();
        assert!((after.scale / before.scale - 1.0).abs() < 1e-9, "{keys:?}: {before:?} {after:?}");
    }
}

/// From the first column of the wood to the last in a row of the window, as it is drawn now; `None` where nothing draws.
fn wood(table: &mut Table<'_>, row: Rect) -> Option<[f32; 2]> {
    let picture = match table.render() {
        Ok(picture) => picture,
        Err(why) => {
            println!("skipped: {why}");
            return None;
        }
    };
    let paper = [246, 243, 236];
    let is_wood = |x: &u32| {
        let [r, g, b, _] = picture.get_pixel(*x, row.center().y as u32).0;
        [r, g, b].iter().zip(paper).any(|(a, b)| a.abs_diff(b) > 40)
    };
    let columns: Vec<u32> = (row.left() as u32..row.right() as u32).filter(is_wood).collect();
    Some([*columns.first()? as f32, *columns.last()? as f32 + 1.0])
}

/// A picture that takes its time: until it is there, the one before stands where the scale of stations now has it.
#[test]
fn the_picture_that_is_there_lies_under_the_scale() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::T);
    strike(&mut table, Key::Minus);
    until(&mut table, "the picture", dryturn_view::Desk::is_drawn);
    let ends = |table: &Table<'_>| {
        let (eye, pane) = (table.state().eye.unwrap(), pane(table, "Piece"));
        [-15.0, 65.0].map(|station| pane.center().x + eye.across(station) as f32)
    };
    for (key, modifiers) in
        [(Key::Minus, Modifiers::NONE), (Key::Comma, Modifiers::SHIFT), (Key::Plus, Modifiers::NONE)]
    {
        until(&mut table, "the picture at rest", |desk| desk.is_drawn() && !desk.session.is_quick());
        table.key_press_modifiers(modifiers, key);
        // One picture of the window, for which no other of the piece can have been drawn.
        table.step();
        let row = pane(&table, "Piece");
        let Some(seen) = wood(&mut table, row) else { return };
        for (seen, end) in seen.into_iter().zip(ends(&table)) {
            let end = end.clamp(row.left(), row.right());
            assert!((seen - end).abs() < 2.0, "{key:?}: {seen}, {end}");
        }
    }
}

#[test]
fn a_point_of_the_piece_is_where_the_window_says_after_everything_is_shown_again() {
    let (_bench, mut table) = held();
    strike(&mut table, Key::N);
    strike(&mut table, Key::F);
    let spot = Spot { station: 40.0, theta: table.state().eye.unwrap().facing, radius: 10.0 };
    let [at, _] = places(&table, &spot);
    assert!((at.y - pane(&table, "Piece").center().y).abs() < 0.5, "{at}");
    table.get_by_label("Piece");
}
