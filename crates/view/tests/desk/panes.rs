//! The panes, by clicks and keys.

use std::path::Path;

use crate::common::{self, Bench, click, keep, laid, pane, settled, strike, table, until};
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 800.0];

#[test]
fn it_opens_with_the_piece_and_what_was_found() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    for name in ["Piece", "Skin", "Run"] {
        let rect = pane(&table, name);
        assert!(rect.width() > 500.0 && rect.height() > 100.0, "{name}: {rect:?}");
    }
    let desk = table.state();
    assert!(desk.session.proof.as_ref().unwrap().findings.iter().any(|it| it.rule.contains("hits")));
    assert_eq!(desk.session.cursor.blocks, desk.session.opened.as_ref().unwrap().blocks());
    keep(&mut table, "opened");
}

#[test]
fn all_panes_share_one_scale_of_stations() {
    let bench = Bench::new();
    let table = table(&bench, SIZE);
    let [piece, skin, run] = ["Piece", "Skin", "Run"].map(|name| pane(&table, name));
    assert_eq!(piece.x_range(), skin.x_range());
    // Beside the way of the cutter the run has its lanes.
    assert!(run.left() == piece.left() && run.right() > piece.right() + 100.0, "{run:?}");
}

#[test]
fn keys_go_through_the_program() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let at = |table: &common::Table<'_>| table.state().session.cursor.blocks;
    strike(&mut table, Key::Home);
    assert_eq!(at(&table), 0);
    strike(&mut table, Key::ArrowRight);
    strike(&mut table, Key::ArrowRight);
    assert_eq!(at(&table), 2);
    strike(&mut table, Key::ArrowLeft);
    assert_eq!(at(&table), 1);
    strike(&mut table, Key::PageDown);
    let opened = table.state().session.opened.clone().unwrap();
    // The first block of the next cutter is looked at, and has run.
    let looked_at = |table: &common::Table<'_>| {
        let focus = table.state().session.cursor.focus.unwrap();
        assert_eq!(focus + 1, at(table));
        (opened.job.cutter_index(focus), focus.checked_sub(1).map(|before| opened.job.cutter_index(before)))
    };
    assert_eq!(looked_at(&table), (Some(1), Some(Some(0))));
    strike(&mut table, Key::ArrowRight);
    strike(&mut table, Key::PageUp);
    assert_eq!(looked_at(&table), (Some(1), Some(Some(0))));
    strike(&mut table, Key::PageUp);
    assert_eq!(looked_at(&table), (Some(0), None));
    strike(&mut table, Key::PageUp);
    assert_eq!(at(&table), 0);
    strike(&mut table, Key::PageDown);
    assert_eq!(at(&table), 1);
    strike(&mut table, Key::End);
    assert_eq!(at(&table), opened.blocks());
}

#[test]
fn the_piece_is_that_of_the_moment() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let radius = |table: &common::Table<'_>| table.state().session.shown.as_ref().unwrap().field.radius(40.0, 1.0);
    assert!((radius(&table) - 10.0).abs() < 1e-3);
    strike(&mut table, Key::Home);
    settled(&mut table);
    assert!((radius(&table) - 15.0).abs() < 1e-3);
    let spot = table.state().session.cursor.spot.unwrap();
    assert!(spot.station == 40.0 && (spot.radius - 15.0).abs() < 1e-3, "{spot:?}");
    table.get_by_label_contains("line 1: G21 G17");
    keep(&mut table, "before");
}

#[test]
fn the_run_is_dragged() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let run = pane(&table, "Run");
    let at = |share: f32| run.left_top() + vec2(200.0, run.height() * share);
    table.drag_at(at(0.9));
    table.step();
    let late = table.state().session.cursor.blocks;
    table.hover_at(at(0.05));
    table.step();
    table.drop_at(at(0.05));
    table.step();
    let early = table.state().session.cursor.blocks;
    assert!(early < late, "{early} {late}");
    settled(&mut table);
    // A click brings the point under the tip before the eye.
    click(&mut table, at(0.45), Modifiers::NONE);
    let (eye, cursor) = (table.state().eye.unwrap(), table.state().session.cursor);
    let off = dryturn_geom::angle::signed(cursor.spot.unwrap().theta - eye.facing);
    assert!(off.abs() < 1.3 && cursor.blocks != early, "{off} {cursor:?}");
}

#[test]
fn a_finding_takes_everything_to_its_place() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::N);
    settled(&mut table);
    let session = &table.state().session;
    let findings = &session.proof.as_ref().unwrap().findings;
    let first = dryturn_report::cost_order(findings)[0];
    let finding = findings[first].clone();
    assert_eq!(session.cursor.finding, Some(first));
    let place = finding.place.unwrap();
    assert_eq!(session.cursor.spot.unwrap().station, place.station_mm);
    let opened = session.opened.as_ref().unwrap();
    let focus = opened.line_of(session.cursor.focus.unwrap());
    assert_eq!(Some(focus.1), finding.worst_line);
    assert_eq!(Some(focus.0), finding.program);
    table.get_by_label(&finding.cure);
    keep(&mut table, "finding");
}

#[test]
fn a_cure_is_tried_and_put_back() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let stops = |table: &common::Table<'_>| {
        let findings = &table.state().session.proof.as_ref().unwrap().findings;
        findings.iter().filter(|it| it.rule == "holder-hits" || it.rule == "cutter-hits").count()
    };
    let before = stops(&table);
    assert!(before > 0);
    let index =
        table.state().session.proof.as_ref().unwrap().findings.iter().position(|it| !it.cures.is_empty()).unwrap();
    table.state_mut().session.choose(index);
    settled(&mut table);
    let file = std::fs::read(bench.file()).unwrap();
    table.get_all_by_label_contains("Try ").next().unwrap().click();
    until(&mut table, "the cure proved", |desk| desk.session.is_proved && !desk.session.edits.is_empty());
    assert!(stops(&table) < before);
    table.get_by_label_contains("Nothing is left to cure.");
    assert_eq!(std::fs::read(bench.file()).unwrap(), file);
    keep(&mut table, "tried");
    table.get_by_label("Put back").click();
    until(&mut table, "the job as it was", |desk| desk.session.is_proved && desk.session.edits.is_empty());
    assert_eq!(stops(&table), before);
}

#[test]
fn a_saved_file_is_read_again_and_the_view_kept() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::Plus);
    let eye = table.state().eye;
    bench.write("peg.nc", &common::PEG.replace("Z10 F300", "Z9 F300"));
    until(&mut table, "the new groove", |desk| {
        let shown = desk.session.shown.as_ref().unwrap();
        (shown.field.radius(40.0, 1.0) - 9.0).abs() < 1e-3
    });
    assert_eq!(table.state().eye, eye);
}

#[test]
fn what_is_wrong_with_the_scene_is_shown_with_its_caret() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    bench.write("scene.toml", &common::SCENE.replace("diameter = 30,", "dimeter = 30,"));
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    let why = table.state().session.refused.clone().unwrap();
    assert!(why.contains("dimeter") && why.contains('^'), "{why}");
    table.get_by_label("The scene cannot be read");
    assert!(table.state().session.shown.is_some());
    // Where the words are hidden it stands beside the pictures too, not over them.
    strike(&mut table, Key::Num4);
    let told = table.get_by_label("The scene cannot be read").rect();
    assert!(told.left() > pane(&table, "Run").right(), "{told:?}");
    strike(&mut table, Key::Num4);
    until(&mut table, "the faded picture", |desk| desk.session.picture.is_none());
    std::thread::sleep(std::time::Duration::from_millis(500));
    table.step();
    keep(&mut table, "refused");
    bench.write("scene.toml", common::SCENE);
    until(&mut table, "the scene as it was", |desk| desk.session.refused.is_none() && desk.session.is_proved);
}

#[test]
fn a_scene_that_never_could_be_read_is_told_too() {
    let bench = Bench::new();
    bench.write("peg.nc", "G21 G90\nG1 X F100\n");
    let mut table = laid(&bench, SIZE);
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    keep(&mut table, "never");
    bench.write("peg.nc", common::PEG);
    until(&mut table, "the job", |desk| desk.session.is_proved);
}

#[test]
fn panes_are_hidden_and_come_back() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let before = pane(&table, "Run").height();
    strike(&mut table, Key::Num2);
    assert!(table.query_by_label("Skin").is_none());
    assert!(pane(&table, "Run").height() > before + 40.0);
    strike(&mut table, Key::Num2);
    assert_eq!(pane(&table, "Run").height(), before);
    strike(&mut table, Key::Num4);
    assert!(pane(&table, "Piece").width() > 1000.0);
}

#[test]
fn the_keys_are_shown_and_leave_again() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    strike(&mut table, Key::Questionmark);
    table.get_by_label("next finding");
    keep(&mut table, "keys");
    strike(&mut table, Key::Escape);
    assert!(!table.state().is_helping);
}

#[test]
fn it_is_laid_out_from_small_to_large_in_the_light_and_in_the_dark() {
    for (name, size, dark) in [("small", [1024.0, 700.0], true), ("large", [2560.0, 1440.0], false)] {
        let bench = Bench::new();
        let mut table = table(&bench, size);
        table.state_mut().settings.dark = dark;
        table.state_mut().session.set_map("cut-by-cutter");
        strike(&mut table, Key::P);
        settled(&mut table);
        std::thread::sleep(std::time::Duration::from_millis(800));
        table.step();
        table.step();
        for pane_name in ["Piece", "Skin", "Run"] {
            assert!(pane(&table, pane_name).height() > 80.0, "{pane_name} at {size:?}");
        }
        keep(&mut table, name);
    }
}

#[test]
fn the_skin_goes_round_and_round() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let skin = pane(&table, "Skin");
    let pick = |table: &mut common::Table<'_>| {
        click(table, skin.center() + vec2(40.0, 0.0), Modifiers::NONE);
        table.state().session.cursor.spot.unwrap()
    };
    let before = pick(&mut table);
    // One turn and a quarter downward, in steps that stay on the pane.
    for _ in 0..5 {
        let from = skin.center_top() + vec2(0.0, 0.3 * skin.height());
        table.drag_at(from);
        table.step();
        table.hover_at(from + vec2(0.0, 0.25 * skin.height()));
        table.step();
        table.drop_at(from + vec2(0.0, 0.25 * skin.height()));
        table.step();
    }
    let after = pick(&mut table);
    let down = table.state().eye.unwrap().down();
    let turned = dryturn_geom::angle::signed(before.theta - after.theta - down * 0.25 * std::f64::consts::TAU);
    assert!(turned.abs() < 0.02, "{before:?} {after:?}");
    assert!((before.station - after.station).abs() < 0.2, "{before:?} {after:?}");
}

#[test]
fn panes_are_made_larger_by_mouse_and_by_keys() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let before = pane(&table, "Skin");
    let edge = table.get_by_label("Edge under the piece").rect().center();
    table.drag_at(edge);
    table.step();
    table.hover_at(edge - vec2(0.0, 60.0));
    table.step();
    table.drop_at(edge - vec2(0.0, 60.0));
    table.step();
    let dragged = pane(&table, "Skin");
    assert!(dragged.height() > before.height() + 40.0, "{before:?} {dragged:?}");
    table.get_by_label("Edge under the skin").focus();
    table.step();
    strike(&mut table, Key::ArrowUp);
    let struck = pane(&table, "Skin");
    assert!(struck.height() < dragged.height() - 8.0, "{dragged:?} {struck:?}");
    assert_eq!(table.state().session.cursor.blocks, table.state().session.opened.as_ref().unwrap().blocks());
}

#[test]
fn what_is_seen_stays_in_sight_when_the_window_becomes_smaller() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let seen = |table: &common::Table<'_>| {
        let (eye, pane) = (table.state().eye.unwrap(), pane(table, "Piece"));
        [-0.5, 0.5].map(|side| eye.station_at(side * f64::from(pane.width())))
    };
    let before = seen(&table);
    table.state_mut().settings.zoom = Some(1.9);
    for _ in 0..4 {
        table.step();
    }
    let after = seen(&table);
    assert!((before[0] - after[0]).abs() < 0.5 && (before[1] - after[1]).abs() < 0.5, "{before:?} {after:?}");
}

#[test]
fn findings_stand_and_are_stepped_through_in_the_order_of_the_report() {
    let scene = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/choir-stand/scene.toml");
    let mut table = common::laid_for(&scene, SIZE);
    until(&mut table, "the proof", |desk| desk.session.is_proved);
    let findings = table.state().session.proof.as_ref().unwrap().findings.clone();
    let told: Vec<&str> = dryturn_report::by_cost(&findings).iter().map(|finding| finding.text.as_str()).collect();
    assert!(told.len() > 2 && told[0] != findings[0].text, "{told:?}");
    let tops = told.iter().map(|text| {
        let all: Vec<f32> = table.get_all_by_label_contains(text).map(|it| it.rect().top()).collect();
        all.into_iter().fold(f32::MAX, f32::min)
    });
    assert!(tops.collect::<Vec<f32>>().is_sorted(), "{told:?}");
    for text in told {
        strike(&mut table, Key::N);
        let chosen = table.state().session.cursor.finding.unwrap();
        assert_eq!(findings[chosen].text, text);
    }
}

#[test]
fn in_a_very_large_window_text_is_larger_until_one_chooses() {
    let bench = Bench::new();
    let mut table = table(&bench, [3840.0, 2160.0]);
    table.step();
    let zoom = |table: &common::Table<'_>| table.ctx.zoom_factor();
    assert_eq!((zoom(&table), table.state().settings.zoom), (1.75, None));
    table.key_press_modifiers(Modifiers::COMMAND, Key::Minus);
    table.step();
    table.step();
    assert!((zoom(&table) - 1.75 / 1.1).abs() < 1e-3, "{}", zoom(&table));
    table.key_press_modifiers(Modifiers::COMMAND, Key::Num0);
    table.step();
    table.step();
    assert_eq!((zoom(&table), table.state().settings.zoom), (1.75, None));
}

#[test]
fn what_has_the_keyboard_is_framed() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let finding = table.state().session.proof.as_ref().unwrap().findings[0].text.clone();
    // As the theme marks it, by daylight.
    let mark = [158, 66, 8];
    for label in ["line 6: ".to_owned(), finding, "Map: ".to_owned()] {
        let node = table.get_all_by_label_contains(&label).next().unwrap();
        let rect = node.rect();
        node.focus();
        table.step();
        table.step();
        let picture = match table.render() {
            Ok(picture) => picture,
            Err(why) => return println!("skipped: {why}"),
        };
        let edge = (rect.left() as u32 + 20..rect.right() as u32 - 20).map(|x| {
            let [r, g, b, _] = picture.get_pixel(x, rect.top() as u32 + 2).0;
            [r, g, b]
        });
        let marked = edge.filter(|color| *color == mark).count();
        assert!(marked as f32 > 0.6 * (rect.width() - 40.0), "{label}: {marked} of {}", rect.width());
    }
}

#[test]
fn the_page_of_keys_is_as_wide_as_its_words() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    strike(&mut table, Key::Questionmark);
    let page = table.get_by_label("Keys").rect().union(table.get_by_label("these keys").rect());
    assert!(page.width() < 760.0, "{page:?}");
    assert!(table.get_by_label("close the window").rect().bottom() < 690.0);
}

#[test]
fn in_large_text_the_page_of_keys_is_gone_through_by_keys() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    table.state_mut().settings.zoom = Some(2.0);
    let blocks = table.state().session.cursor.blocks;
    strike(&mut table, Key::Questionmark);
    let foot = table.ctx.content_rect().bottom();
    let is_seen = |table: &common::Table<'_>, words: &str| {
        table.query_by_label_contains(words).is_some_and(|it| it.rect().top() > 0.0 && it.rect().bottom() < foot)
    };
    let ends = |table: &common::Table<'_>| (is_seen(table, "one block on"), is_seen(table, "space presses it."));
    assert_eq!(ends(&table), (true, false));
    for (key, expected) in
        [(Key::PageDown, (false, true)), (Key::PageUp, (true, false)), (Key::ArrowDown, (false, true))]
    {
        for _ in 0..40 {
            strike(&mut table, key);
        }
        (0..10).for_each(|_| table.step());
        assert_eq!(ends(&table), expected, "{key:?}");
    }
    assert_eq!(table.state().session.cursor.blocks, blocks);
}
