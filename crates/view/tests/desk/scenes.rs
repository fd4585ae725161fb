//! The cursor law in every example job: what is picked on the piece and the same point picked on the skin are one.

use std::path::{Path, PathBuf};

use dryturn_geom::angle;
use egui::{Modifiers, Pos2};
use egui_kittest::kittest::Queryable as _;

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

/// Picks what is under a place; station, angle, radius and the line that made it.
fn picked(table: &mut Table<'_>, at: Pos2) -> Option<(dryturn_view::Spot, Option<(usize, u32)>)> {
    let cursor = &mut table.state_mut().session.cursor;
    (cursor.spot, cursor.focus) = (None, None);
    click(table, at, Modifiers::NONE);
    let session = &table.state().session;
    let line = session.cursor.focus.map(|block| session.opened.as_ref().unwrap().line_of(block));
    Some((session.cursor.spot?, line))
}

#[test]
fn a_point_is_the_same_on_the_piece_and_on_the_skin_of_every_scene() {
    let scenes = scenes();
    assert!(scenes.len() >= 12, "{scenes:?}");
    for scene in scenes {
        let mut table = laid_for(&scene, [1280.0, 800.0]);
        until(&mut table, "the fine piece", |desk| {
            let all = desk.session.opened.as_ref().map(|opened| opened.blocks());
            desk.session.shown.as_ref().is_some_and(|it| Some(it.blocks) == all && !it.is_coarse)
        });
        let (piece, skin) = (pane(&table, "Piece"), pane(&table, "Skin"));
        let covered = table.get_by_label_contains("Map: ").rect();
        let mut compared = 0;
        for place in 0..18 {
            let [across, down] = [f64::from(place % 6), f64::from(place / 6)];
            let (eye, field) = (table.state().eye.unwrap(), &table.state().session.shown.as_ref().unwrap().field);
            let station = field.ends[0] + (field.ends[1] - field.ends[0]) * (across + 0.5) / 6.0;
            let up = (1.0 - down) * 0.4 * field.radius(station, eye.facing);
            let at = piece.center() + egui::vec2(eye.across(station) as f32, (-eye.scale * up) as f32);
            let Some((on_piece, made_piece)) = picked(&mut table, at) else { continue };
            let [_, at] = places(&table, &on_piece);
            if covered.expand(2.0).contains(at) || !skin.shrink(1.0).contains(at) {
                continue;
            }
            let (on_skin, made_skin) = picked(&mut table, at).unwrap();
            let off = angle::signed(on_piece.theta - on_skin.theta) * on_piece.radius;
            let told = format!("{}: {on_piece:?} {made_piece:?}, {on_skin:?} {made_skin:?}", scene.display());
            assert!((on_piece.station - on_skin.station).abs() < 0.01 && off.abs() < 0.01, "{told}");
            assert_eq!(made_piece, made_skin, "{told}");
            compared += 1;
        }
        assert!(compared >= 5, "{}: {compared} points", scene.display());
    }
}
