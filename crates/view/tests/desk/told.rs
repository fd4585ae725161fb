//! What the window tells: whole, however long it is, and before it closes.

use egui::{Event, Key, Modifiers, ViewportCommand, ViewportEvent, ViewportId};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::common::{Bench, Table, click, done, laid, places, settled, strike, table, until};
use dryturn_view::Spot;

const SIZE: [f32; 2] = [1024.0, 700.0];

#[test]
fn a_long_note_takes_the_lines_it_needs_and_leaves_by_escape() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    let foot = |table: &Table<'_>| table.get_all_by_role(egui::accesskit::Role::Status).next().unwrap().rect();
    let before = foot(&table).height();
    let long = format!("the settings in {} are not all in force; the end", "/a/very/long/path".repeat(12));
    table.state_mut().session.notes.push(long.clone());
    table.step();
    table.step();
    assert!(foot(&table).height() > before + 10.0);
    let whole = table.get_by_label_contains(&long).rect();
    assert!(whole.bottom() <= table.ctx.content_rect().bottom() + 0.5, "{whole:?}");
    // The panes make room.
    let run = table.get_by_label("Run").rect();
    assert!(run.bottom() <= whole.top(), "{run:?} {whole:?}");
    strike(&mut table, Key::Escape);
    assert!(table.query_by_label_contains(&long).is_none());
    assert_eq!(foot(&table).height(), before);
}

#[test]
fn what_is_wrong_is_told_whole_to_whoever_does_not_see_it() {
    let bench = Bench::new();
    bench.write("peg.nc", &crate::common::PEG.replace("G0 X40", &format!("({}) G0 XX40", "long ".repeat(20))));
    let mut table = laid(&bench, SIZE);
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    let why = table.state().session.refused.clone().unwrap();
    let told = table.get_by_label_contains("peg.nc:3");
    assert_eq!(told.accesskit_node().value().unwrap(), why);
    assert!(told.rect().right() <= table.ctx.content_rect().right(), "{:?}", told.rect());
}

/// All words of the point can be brought into sight, however much is measured, by keys alone.
#[test]
fn beside_a_measure_the_other_words_are_reached() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 560.0]);
    let theta = table.state().eye.unwrap().facing;
    for (station, modifiers) in [(55.0, Modifiers::NONE), (40.0, Modifiers::SHIFT)] {
        let [_, at] = places(&table, &Spot { station, theta, radius: 10.0 });
        click(&mut table, at, modifiers);
        settled(&mut table);
    }
    crate::common::keep(&mut table, "measured-small");
    let room = table.get_by_label("What is known of the point").rect();
    let is_seen = |table: &Table<'_>, label: &str| {
        table.query_by_label_contains(label).is_some_and(|it| room.expand(1.0).contains_rect(it.rect()))
    };
    assert!(is_seen(&table, "From the first point") && !is_seen(&table, "Go to that moment"));
    table.get_by_label("What is known of the point").focus();
    (0..2).for_each(|_| table.step());
    let blocks = table.state().session.cursor.blocks;
    for _ in 0..8 {
        strike(&mut table, Key::ArrowDown);
    }
    (0..10).for_each(|_| table.step());
    crate::common::keep(&mut table, "measured-scrolled");
    assert!(is_seen(&table, "Go to that moment"));
    assert_eq!(table.state().session.cursor.blocks, blocks);
    (0..8).for_each(|_| strike(&mut table, Key::ArrowUp));
    (0..10).for_each(|_| table.step());
    assert!(!is_seen(&table, "Go to that moment"));
    // Who goes there by Tab sees it.
    strike(&mut table, Key::Tab);
    (0..12).for_each(|_| table.step());
    assert!(is_seen(&table, "Go to that moment"));
}

/// Asks the window to close, as its key and its frame do; what it answers.
fn close(table: &mut Table<'_>) -> Vec<ViewportCommand> {
    let root = table.input_mut().viewports.entry(ViewportId::ROOT).or_default();
    root.events.push(ViewportEvent::Close);
    table.step();
    table.input_mut().viewports.entry(ViewportId::ROOT).or_default().events.clear();
    asked(table)
}

fn asked(table: &Table<'_>) -> Vec<ViewportCommand> {
    table.output().viewport_output[&ViewportId::ROOT].commands.clone()
}

/// Strikes a key, and draws once.
fn strike_once(table: &mut Table<'_>, key: Key, modifiers: Modifiers) {
    table.event(Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers });
    table.step();
}

/// A desk that writes a mesh until the file `hold` is gone.
fn writing<'a>() -> (Bench, Table<'a>) {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    bench.write("hold", "");
    strike_once(&mut table, Key::W, Modifiers::SHIFT);
    let begun = bench.folder.path().join("peg.part");
    until(&mut table, "the mesh", |desk| desk.session.is_writing() && begun.exists());
    (bench, table)
}

fn let_go(bench: &Bench) {
    std::fs::remove_file(bench.folder.path().join("hold")).unwrap();
}

#[test]
fn the_window_closes_once_the_mesh_is_written() {
    let (bench, mut table) = writing();
    assert_eq!(close(&mut table), [ViewportCommand::CancelClose]);
    table.get_by_label_contains("the window closes once the mesh is written");
    let_go(&bench);
    // In the very picture in which that is told.
    while table.state().session.is_writing() {
        assert_eq!(asked(&table).iter().filter(|it| **it == ViewportCommand::Close).count(), 0);
        std::thread::sleep(std::time::Duration::from_millis(5));
        table.step();
    }
    assert!(asked(&table).contains(&ViewportCommand::Close));
    assert_eq!(table.state().session.notes.last().unwrap(), "wrote peg.stl");
}

#[test]
fn closed_twice_it_gives_the_mesh_up_and_leaves_no_half_file() {
    let (bench, mut table) = writing();
    close(&mut table);
    assert_eq!(close(&mut table), []);
    drop(table);
    assert!(!bench.folder.path().join("peg.part").exists());
}

#[test]
fn a_mesh_that_is_stopped_or_fails_keeps_the_window_open() {
    let (bench, mut table) = writing();
    close(&mut table);
    strike(&mut table, Key::Escape);
    assert!(!table.state().session.is_writing());
    let_go(&bench);
    (0..5).for_each(|_| table.step());
    assert_eq!(asked(&table), []);
    let (bench, mut table) = writing();
    bench.write("full", "the disk is full");
    close(&mut table);
    let_go(&bench);
    until(&mut table, "the failure", |desk| !desk.session.is_writing());
    assert_eq!(table.state().session.notes.last().unwrap(), "the disk is full");
    assert_eq!(asked(&table), []);
}

#[test]
fn with_nothing_being_written_it_closes_at_once() {
    let bench = Bench::new();
    let mut table = table(&bench, SIZE);
    assert_eq!(close(&mut table), []);
    strike_once(&mut table, Key::Q, Modifiers::COMMAND);
    assert!(asked(&table).contains(&ViewportCommand::Close));
}

/// A finding that is chosen by a key is shown with its cure, however many there are.
#[test]
fn the_finding_that_is_chosen_is_seen_in_the_list() {
    let scene = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/choir-stand/scene.toml");
    let mut table = crate::common::laid_for(&scene, SIZE);
    until(&mut table, "the proof", |desk| desk.session.is_proved);
    let findings = table.state().session.proof.as_ref().unwrap().findings.clone();
    for _ in 0..findings.len() {
        strike(&mut table, Key::N);
        (0..10).for_each(|_| table.step());
        let text = &findings[table.state().session.cursor.finding.unwrap()].text;
        let room = table.get_by_label("What was found").rect().expand(1.0);
        let rows: Vec<egui::Rect> = table.get_all_by_label_contains(text).map(|it| it.rect()).collect();
        assert!(rows.iter().any(|row| room.contains_rect(*row)), "{text}: {rows:?} in {room:?}");
    }
}

#[test]
fn the_caution_stands_with_what_was_found() {
    let bench = Bench::new();
    let mut table = laid(&bench, [1280.0, 800.0]);
    done(&mut table);
    assert_eq!(table.query_all_by_label(dryturn_report::CAUTION).count(), 1);
}

#[test]
fn what_is_seen_last_cannot_be_hidden() {
    let bench = Bench::new();
    let mut table = laid(&bench, [1280.0, 800.0]);
    done(&mut table);
    [Key::Num1, Key::Num2, Key::Num3, Key::Num4].into_iter().for_each(|key| strike(&mut table, key));
    let desk = table.state();
    assert!(desk.settings.words && desk.settings.shown == [false; 3]);
    assert!(desk.session.notes.iter().any(|note| note.contains("so it stays")), "{:?}", desk.session.notes);
    strike(&mut table, Key::Num2);
    strike(&mut table, Key::Num4);
    assert!(!table.state().settings.words && table.state().settings.shown[1]);
}
