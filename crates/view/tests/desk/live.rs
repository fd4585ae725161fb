//! Files that change, wherever the scene's files lie, and work that is stopped.

use std::path::Path;

use egui::Key;
use egui_kittest::kittest::Queryable as _;

use crate::common::{Bench, PEG, SCENE, Table, done, laid, laid_for, pane, strike, table, until};

/// The library.
const MACHINE: &str = "format = 1\n[machine]\nbed = 75\n";

/// The scene with its machine in a library of the shop, two folders above.
fn in_a_shop() -> (Bench, std::path::PathBuf) {
    let bench = Bench::new();
    let job = bench.folder.path().join("jobs/peg");
    std::fs::create_dir_all(&job).unwrap();
    let scene = SCENE.replace("format = 1\n", "format = 1\nuse = [\"shop:machine.toml\"]\n");
    for (name, text) in [("scene.toml", scene.as_str()), ("peg.nc", PEG), ("slot.nc", crate::common::SLOT)] {
        std::fs::write(job.join(name), text).unwrap();
    }
    bench.write("shop.toml", "format = 1\n");
    bench.write("machine.toml", MACHINE);
    (bench, job.join("scene.toml"))
}

#[test]
fn a_library_in_another_folder_is_watched() {
    let (bench, scene) = in_a_shop();
    let mut table = laid_for(&scene, [1024.0, 700.0]);
    done(&mut table);
    bench.write("machine.toml", &MACHINE.replace("75", "80"));
    until(&mut table, "the other machine", |desk| {
        desk.session.opened.as_ref().unwrap().job.scene.machine.bed == Some(80.0)
    });
}

#[test]
fn a_library_that_is_missing_is_waited_for() {
    let (bench, scene) = in_a_shop();
    std::fs::remove_file(bench.folder.path().join("machine.toml")).unwrap();
    let mut table = laid_for(&scene, [1024.0, 700.0]);
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    assert!(table.state().session.refused.as_ref().unwrap().contains("machine.toml"));
    bench.write("machine.toml", MACHINE);
    until(&mut table, "the job", |desk| desk.session.opened.is_some());
}

#[test]
fn a_kept_blank_is_watched() {
    let bench = Bench::new();
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/harbor-light/kept.npz");
    let kept = std::fs::read(kept).unwrap();
    let copy = bench.folder.path().join("kept.npz");
    std::fs::write(&copy, &kept).unwrap();
    let blank = "blank = { shape = \"kept\", file = \"kept.npz\", material = \"cherry\" }";
    bench.write(
        "scene.toml",
        &SCENE.replace("blank = { diameter = 30, length = 80, material = \"hard maple\" }", blank),
    );
    let mut table = laid(&bench, [1024.0, 700.0]);
    until(&mut table, "the job", |desk| desk.session.opened.is_some());
    std::fs::write(&copy, &kept[..kept.len() / 2]).unwrap();
    until(&mut table, "the refusal", |desk| desk.session.refused.is_some());
    assert!(table.state().session.refused.as_ref().unwrap().contains("kept.npz"));
    std::fs::write(&copy, &kept).unwrap();
    until(&mut table, "the job again", |desk| desk.session.refused.is_none());
}

#[test]
fn what_takes_long_is_stopped_and_the_rest_goes_on() {
    let bench = Bench::new();
    // Fine enough that its proof is not there at once.
    bench.write("scene.toml", &SCENE.replace("pitch = 0.5", "pitch = 0.05"));
    let mut table = laid(&bench, [1024.0, 700.0]);
    until(&mut table, "the job", |desk| desk.session.opened.is_some());
    strike(&mut table, Key::Escape);
    assert!(!table.state().session.is_proving());
    table.get_by_label_contains("not proved: ");
    strike(&mut table, Key::Home);
    until(&mut table, "the blank", |desk| {
        desk.session.shown.as_ref().is_some_and(|shown| shown.blocks == 0) && !desk.session.is_busy()
    });
    assert!(!table.state().session.is_proved);
    bench.write("scene.toml", SCENE);
    until(&mut table, "the proof of what was saved", |desk| desk.session.is_proved);
}

#[test]
fn escape_leaves_the_measure_and_nothing_else() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    strike(&mut table, Key::X);
    strike(&mut table, Key::K);
    let cut = table.state().settings.cut;
    table.state_mut().session.cursor.from = Some(dryturn_view::Spot::default());
    strike(&mut table, Key::Escape);
    assert_eq!((table.state().session.cursor.from, table.state().settings.cut), (None, cut));
}

#[test]
fn the_finding_that_is_chosen_stays_so_through_a_cure_and_a_file_that_is_saved() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    let chosen = |table: &crate::common::Table<'_>| {
        let session = &table.state().session;
        let finding = session.cursor.finding?;
        session.proof.as_ref()?.findings.get(finding).map(|it| (it.rule, it.worst_line))
    };
    let index =
        table.state().session.proof.as_ref().unwrap().findings.iter().position(|it| !it.cures.is_empty()).unwrap();
    table.state_mut().session.choose(index);
    done(&mut table);
    let (rule, line) = chosen(&table).unwrap();
    table.get_all_by_label_contains("Try ").next().unwrap().click();
    until(&mut table, "the cure proved", |desk| desk.session.is_proved && !desk.session.edits.is_empty());
    assert_ne!(chosen(&table), Some((rule, line)));
    strike(&mut table, Key::B);
    until(&mut table, "the job as it was", |desk| desk.session.is_proved && desk.session.edits.is_empty());
    assert_eq!(chosen(&table), Some((rule, line)));
    bench.write("peg.nc", &PEG.replace("M3 S12000", "(one)\n(two)\n(three)\n(four)\n(five)\nM3 S12000"));
    until(&mut table, "the other lines", |desk| !desk.session.is_proved);
    until(&mut table, "their proof", |desk| desk.session.is_proved);
    assert_eq!(chosen(&table), Some((rule, line.map(|line| line + 5))));
    // What is left on purpose does not come back.
    strike(&mut table, Key::Home);
    strike(&mut table, Key::R);
    until(&mut table, "the reading", |desk| !desk.session.is_proved);
    until(&mut table, "the proof again", |desk| desk.session.is_proved);
    assert_eq!(table.state().session.cursor.finding, None);
}

#[test]
fn the_piece_and_what_is_written_over_it_are_of_one_moment() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    until(&mut table, "the picture", dryturn_view::Desk::is_drawn);
    table.get_by_label("Piece after the last block");
    table.key_press(Key::Home);
    table.step();
    // The picture is still that of the end, and says so, however long the new one takes.
    table.get_by_label("Piece after the last block · before the first block is on its way");
    until(&mut table, "the picture of the blank", |desk| {
        desk.is_drawn() && desk.session.shown.as_ref().is_some_and(|shown| shown.blocks == 0)
    });
    table.get_by_label("Piece before the first block");
}

/// The pixels of the piece, once it is drawn as it stands; `None` where nothing is rendered.
fn piece(table: &mut Table<'_>) -> Option<Vec<u8>> {
    until(table, "the picture at rest", |desk| desk.is_drawn() && !desk.session.is_quick());
    for _ in 0..4 {
        table.step();
    }
    until(table, "the picture of it", |desk| desk.is_drawn());
    let area = pane(table, "Piece");
    let picture = table.render().ok()?;
    let (left, right) = (4 * area.left().ceil() as usize, 4 * area.right().floor() as usize);
    let rows = picture.as_raw().chunks_exact(4 * picture.width() as usize);
    let rows = rows.skip(area.top().ceil() as usize).take(area.height().floor() as usize - 1);
    Some(rows.flat_map(|row| &row[left..right]).copied().collect())
}

/// A longer cutter stands there as soon as it is saved, not only once the run has been gone on with.
#[test]
fn a_cutter_is_drawn_as_it_was_saved() {
    let bench = Bench::new();
    let mut table = table(&bench, [1024.0, 700.0]);
    done(&mut table);
    strike(&mut table, Key::Home);
    (0..3).for_each(|_| strike(&mut table, Key::ArrowRight));
    let short = piece(&mut table);
    bench.write("scene.toml", &SCENE.replace("stickout = 14", "stickout = 24"));
    until(&mut table, "the longer cutter", |desk| {
        desk.session.opened.as_ref().unwrap().job.scene.cutters[0].stickout == Some(24.0)
    });
    done(&mut table);
    let saved = piece(&mut table);
    strike(&mut table, Key::ArrowRight);
    strike(&mut table, Key::ArrowLeft);
    let gone_back = piece(&mut table);
    if let (Some(short), Some(saved), Some(gone_back)) = (short, saved, gone_back) {
        let differ = |one: &[u8], other: &[u8]| one.iter().zip(other).filter(|(a, b)| a != b).count();
        assert!(differ(&short, &saved) > 1000 && differ(&saved, &gone_back) < 40, "{}", differ(&saved, &gone_back));
    }
}
