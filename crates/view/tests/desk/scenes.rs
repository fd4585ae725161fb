//! The cursor law in every example job: what is picked on the piece and the same point picked on the skin are one.

use std::path::{Path, PathBuf};

use dryturn_geom::angle;
use dryturn_view::{Known, Spot};
use egui::{Modifiers, Pos2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::common::{Table, click, laid_for, pane, places, until};

/// Every scene file of the example jobs.
fn scenes() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes");
    let inside = |folder: &Path| -> Vec<PathBuf> {
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect()
    };
    let is_scene = |file: &PathBuf| {
        let text = std::fs::read_to_string(file).unwrap_or_default();
        file.extension().is_some_and(|ending| ending == "toml") && text.contains("[blank]")
    };
    let folders = inside(&folder).into_iter().filter(|it| it.is_dir());
    let mut scenes: Vec<PathBuf> = folders.flat_map(|folder| inside(&folder)).filter(is_scene).collect();
    scenes.sort();
    scenes
}

/// A desk for a scene, with the piece after all blocks as fine as it is looked at.
fn fine<'a>(scene: &Path) -> Table<'a> {
    let mut table = laid_for(scene, [1280.0, 800.0]);
    until(&mut table, "the fine piece", |desk| {
        let all = desk.session.opened.as_ref().map(|opened| opened.blocks());
        desk.session.shown.as_ref().is_some_and(|it| Some(it.blocks) == all && !it.is_coarse)
    });
    table
}

/// Picks what is under a place; the answer, and the line that is looked at then.
fn picked(table: &mut Table<'_>, at: Pos2) -> Option<(Known, Option<(usize, u32)>)> {
    let cursor = &mut table.state_mut().session.cursor;
    (cursor.spot, cursor.focus) = (None, None);
    click(table, at, Modifiers::NONE);
    table.state().session.cursor.spot?;
    until(table, "the answer", |desk| desk.session.answer().is_some());
    let session = &table.state().session;
    let line = session.cursor.focus.map(|block| session.opened.as_ref().unwrap().line_of(block));
    Some((session.answer().cloned()?, line))
}

/// The law: what is picked at a place of the piece is the same once it is picked on the skin. Whether it could be held against
/// each other there.
fn is_one(table: &mut Table<'_>, at: Pos2, of: &str) -> bool {
    let Some((piece, made_piece)) = picked(table, at) else { return false };
    says_the_same(table, &piece, of);
    // Under a wall that leans over, or in the bore, lies no skin.
    let outer = piece.ray.solid.first().map_or(0.0, |it| it.outer);
    let covered = table.get_by_label_contains("Map: ").rect();
    let [_, at] = places(table, &piece.spot);
    if piece.spot.radius != outer || covered.expand(2.0).contains(at) || !pane(table, "Skin").shrink(1.0).contains(at) {
        return false;
    }
    let (skin, made_skin) = picked(table, at).unwrap();
    says_the_same(table, &skin, of);
    let off = angle::signed(piece.spot.theta - skin.spot.theta) * piece.spot.radius;
    let told = format!("{of}: {:?} {made_piece:?}, {:?} {made_skin:?}", piece.spot, skin.spot);
    assert!((piece.spot.station - skin.spot.station).abs() < 0.01 && off.abs() < 0.01, "{told}");
    assert_eq!(made_piece, made_skin, "{told}");
    true
}

/// Whatever is said of the point is said of the answer: who made it, the line that is marked, what the controller shows.
fn says_the_same(table: &Table<'_>, known: &Known, of: &str) {
    let session = &table.state().session;
    assert_eq!(session.cursor.focus, known.maker(), "{of}");
    assert_eq!(session.cursor.spot, Some(known.spot), "{of}");
    let Some(maker) = known.maker() else {
        table.get_by_label("tip on it");
        return;
    };
    let opened = session.opened.as_ref().unwrap();
    let (program, line) = opened.line_of(maker);
    table.get_by_label_contains(&format!("in {}:{line}.", opened.job.programs[program].file));
    table.get_by_label("shown as cut");
    let marked = |it: &egui_kittest::Node<'_>| it.accesskit_node().is_selected() == Some(true);
    let lines: Vec<String> =
        table.get_all_by_label_contains("line ").filter(marked).filter_map(|it| it.accesskit_node().label()).collect();
    assert!(lines.len() == 1 && lines[0].starts_with(&format!("line {line}:")), "{of}: {lines:?}, not {line}");
}

#[test]
fn a_point_is_the_same_on_the_piece_and_on_the_skin_of_every_scene() {
    let scenes = scenes();
    assert!(scenes.len() >= 12, "{scenes:?}");
    for scene in scenes {
        let mut table = fine(&scene);
        let piece = pane(&table, "Piece");
        let mut compared = 0;
        for place in 0..18 {
            let [across, down] = [f64::from(place % 6), f64::from(place / 6)];
            let (eye, field) = (table.state().eye.unwrap(), &table.state().session.shown.as_ref().unwrap().field);
            let station = field.ends[0] + (field.ends[1] - field.ends[0]) * (across + 0.5) / 6.0;
            let up = (1.0 - down) * 0.4 * field.radius(station, eye.facing);
            let at = piece.center() + egui::vec2(eye.across(station) as f32, (-eye.scale * up) as f32);
            compared += usize::from(is_one(&mut table, at, &scene.display().to_string()));
        }
        assert!(compared >= 5, "{}: {compared} points", scene.display());
    }
}

/// Points between two rays of a field that are not of one line, and that the eye sees.
fn edges(table: &Table<'_>) -> Vec<Spot> {
    let session = &table.state().session;
    let (field, opened) = (&session.shown.as_ref().unwrap().field, session.opened.as_ref().unwrap());
    let facing = table.state().eye.unwrap().facing;
    let line = |ray: usize| {
        let owner = field.owners[ray];
        dryturn_carve::is_block(owner).then(|| opened.line_of(owner))
    };
    let mut edges = Vec::new();
    for row in 0..field.rows - 1 {
        for column in 0..field.columns {
            let theta = column as f64 * field.turn;
            if angle::signed(theta - facing).abs() > 0.9 {
                continue;
            }
            let [here, along] = [row, row + 1].map(|row| row * field.columns + column);
            let around = row * field.columns + (column + 1) % field.columns;
            for (other, [by_row, by_column]) in [(along, [0.5, 0.0]), (around, [0.0, 0.5])] {
                if line(here) != line(other) {
                    let station = field.station(row) + by_row * field.step;
                    let theta = theta + by_column * field.turn;
                    edges.push(Spot { station, theta, radius: field.radius(station, theta) });
                }
            }
        }
    }
    edges
}

#[test]
fn at_the_edges_between_two_lines_everything_tells_of_the_same_one() {
    let mut table = fine(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel/scene.toml"));
    let edges = edges(&table);
    assert!(edges.len() > 500, "{}", edges.len());
    let mut compared = 0;
    let mut guessed_wrong = 0;
    for edge in edges.iter().step_by(edges.len() / 60) {
        let [at, _] = places(&table, edge);
        compared += usize::from(is_one(&mut table, at, &format!("{edge:?}")));
        let session = &table.state().session;
        let nearest = session.cursor.spot.and_then(|spot| {
            let field = &session.shown.as_ref()?.field;
            Some(field.owners[field.nearest(spot.station, spot.theta)?])
        });
        guessed_wrong += usize::from(nearest != session.answer().map(|known| known.owner));
    }
    assert!(compared >= 30, "{compared}");
    // Else these are no edges, and the grid would have done.
    assert!(guessed_wrong >= 3, "{guessed_wrong}");
}
