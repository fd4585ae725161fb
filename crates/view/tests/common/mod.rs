//! A job on a desk, without a window.

#![allow(dead_code, reason = "not every test needs all of it")]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use dryturn_carve::{Band, PREPARED, UNTOUCHED};
use dryturn_check::{KEPT, Proof, Rule};
use dryturn_render::Finish;
use dryturn_report::{Key, KeyScale};
use dryturn_scene::{Job, LoadOptions, Scene, Seen};
use dryturn_surface::Mesh;
use dryturn_view::{Desk, Going, Held, Host, MapName, MapOf, Read, Session, Settings, Spot};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

/// A peg in a chuck: a groove around it, a slot along it by a second cutter, and a last cut whose holder meets the jaws.
pub(crate) const SCENE: &str = "\
format = 1
title = \"A peg\"
blank = { diameter = 30, length = 80, material = \"hard maple\" }
chuck = { hold = 15, body = { diameter = 60, length = 30 }, jaws = { count = 3, width = 10, length = 15, height = 12 } }
program = [{ file = \"peg.nc\" }, { file = \"slot.nc\" }]
grid = { pitch = 0.5 }
[[cutter]]
diameter = 6
flute = 12
stickout = 14
holder = [[30, 20]]
[[cutter]]
number = 2
name = \"small\"
diameter = 4
";
/// The groove, and the cut beside the jaws.
pub(crate) const PEG: &str = "\
G21 G17 G90 G94
M3 S12000
G0 X40 Y0 Z20 A0
G1 Z10 F300
G1 A360 F900
G0 Z20
X6
G1 Z12 F300
G0 Z20
M5
M30
";
/// The slot.
pub(crate) const SLOT: &str = "G21 G90 G94\nT2 M6\nM3 S12000\nG0 X20 Y0 Z20 A0\nG1 Z12 F300\nX30\nG0 Z20\nM30\n";

/// The title of a peg whose chuck is drawn, and how far that reaches from the axis, mm.
pub(crate) const HELD: &str = "A peg in its chuck";
pub(crate) const REACH: f64 = 40.0;

/// A folder with a scene.
pub(crate) struct Bench {
    pub(crate) folder: tempfile::TempDir,
}

impl Bench {
    pub(crate) fn new() -> Bench {
        let bench = Bench { folder: tempfile::tempdir().unwrap() };
        for (name, text) in [("scene.toml", SCENE), ("peg.nc", PEG), ("slot.nc", SLOT)] {
            bench.write(name, text);
        }
        bench
    }

    pub(crate) fn write(&self, name: &str, text: &str) {
        std::fs::write(self.folder.path().join(name), text).unwrap();
    }

    pub(crate) fn file(&self) -> PathBuf {
        self.folder.path().join("scene.toml")
    }
}

/// What the command does, as little of it as the window can do with.
struct Plain(PathBuf);

impl Host for Plain {
    fn file(&self) -> PathBuf {
        self.0.clone()
    }

    fn read(&self) -> Read {
        let (rules, seen) = (Rule::names(), Seen::default());
        let options =
            LoadOptions { rules: Some(&rules), kept: Some(KEPT), seen: Some(&seen), ..LoadOptions::default() };
        let scene = Scene::load(&self.0, options).map_err(|error| error.render(false));
        Read { scene, files: seen.files() }
    }

    fn title(&self, job: &Job) -> String {
        job.scene.title.clone().unwrap_or_default()
    }

    fn cutter(&self, job: &Job, index: u16) -> String {
        job.scene.cutters[usize::from(index)].number.to_string()
    }

    fn room(&self, _: &Job) -> Result<u64, String> {
        Ok(1 << 30)
    }

    fn beyond_room(&self, _: &Job) -> String {
        "it takes too much".to_owned()
    }

    fn held(&self, scene: &Scene) -> Vec<Held> {
        let is_drawn = scene.title.as_deref() == Some(HELD);
        let chuck = || Held {
            name: "chuck".to_owned(),
            finish: Finish::of("steel", false),
            turns: true,
            mesh: Mesh::turned(&[[-45.0, REACH], [-15.0, REACH]], 0.02),
        };
        is_drawn.then(chuck).into_iter().collect()
    }

    fn finish(&self, scene: &Scene) -> Finish {
        Finish::of(scene.blank.material.as_ref().map_or("", |it| it.name.as_str()), true)
    }

    fn maps(&self, _: &Job, _: Option<&Proof>) -> Vec<MapName> {
        [("remaining-radius", "Remaining radius", "mm"), ("cut-by-cutter", "Cutter that cut last", "")]
            .map(|(name, title, unit)| MapName { name, title, unit, is_beside_target: false })
            .to_vec()
    }

    fn map(&self, of: &MapOf<'_>, band: &Band<'_>) -> Vec<f32> {
        let rows = band.rows().filter(|row| row % of.every == 0);
        let rays = rows.flat_map(|row| band.row(row).step_by(of.every));
        rays.map(|dexel| match (of.name, dexel.cut_by()) {
            ("remaining-radius", _) => dexel.radius(),
            (_, UNTOUCHED | PREPARED) => f32::NAN,
            (_, block) => of.job.cutter_index(block).map_or(f32::NAN, f32::from),
        })
        .collect()
    }

    fn key(&self, name: &str, _: &Job, numbers: &[f32]) -> Key {
        let told = numbers.iter().map(|it| f64::from(*it)).filter(|it| !it.is_nan());
        let (least, greatest) = told.fold((f64::MAX, f64::MIN), |(a, b), it| (a.min(it), b.max(it)));
        let scale = match name {
            "remaining-radius" => KeyScale::Rising { least, greatest },
            _ => KeyScale::Named(vec![(0, "1".to_owned()), (1, "2 small".to_owned())]),
        };
        Key { title: name.to_owned(), scale }
    }

    fn save_mesh(&self, _: &Job, _: u32, cancel: &AtomicBool) -> Result<String, String> {
        let (begun, held) = (self.0.with_file_name("peg.part"), self.0.with_file_name("hold"));
        if held.exists() {
            std::fs::write(&begun, "half of it").unwrap();
        }
        while held.exists() && !cancel.load(Ordering::Relaxed) {
            std::thread::sleep(Duration::from_millis(5));
        }
        let _ = std::fs::remove_file(begun);
        match std::fs::read_to_string(self.0.with_file_name("full")) {
            Ok(why) => Err(why),
            Err(_) => Ok("peg.stl".to_owned()),
        }
    }

    fn save_picture(&self, _: &str, [width, height]: [u32; 2], rgba: &[u8]) -> Result<String, String> {
        assert_eq!(rgba.len(), 4 * (width * height) as usize);
        Ok("peg.png".to_owned())
    }
}

/// A desk for a scene.
pub(crate) fn desk(file: &Path) -> Desk {
    desk_on(file, 2)
}

/// A desk for a scene, on so many threads; 0 for one for each core.
pub(crate) fn desk_on(file: &Path, threads: usize) -> Desk {
    let going = Going { threads, memory: 1 << 30, lenient: false };
    let host = Arc::new(Plain(file.to_owned()));
    Desk::new(Session::new(host, going, None, Arc::new(|| ())), Settings::default())
}

pub(crate) type Table<'a> = Harness<'a, Desk>;

/// The desk laid out at this size, once all is done.
pub(crate) fn table<'a>(bench: &Bench, size: [f32; 2]) -> Table<'a> {
    let mut table = laid(bench, size);
    done(&mut table);
    table
}

/// Waits until nothing is under way any more.
pub(crate) fn done(table: &mut Table<'_>) {
    until(table, "the proof", |desk| {
        let shown = desk.session.shown.as_ref().is_some_and(|shown| shown.blocks == desk.session.cursor.blocks);
        shown && desk.session.is_proved && !desk.session.is_busy()
    });
}

/// The desk laid out, before anything is done.
pub(crate) fn laid<'a>(bench: &Bench, size: [f32; 2]) -> Table<'a> {
    laid_for(&bench.file(), size)
}

/// The desk laid out for a scene that lies somewhere.
pub(crate) fn laid_for<'a>(scene: &Path, size: [f32; 2]) -> Table<'a> {
    let builder = Harness::builder().with_size(size).with_step_dt(0.1).wgpu();
    builder.build_ui_state(|ui, desk: &mut Desk| desk.ui(ui), desk(scene))
}

/// Steps until something holds; it must within a minute.
pub(crate) fn until(table: &mut Table<'_>, what: &str, holds: impl Fn(&Desk) -> bool) {
    let started = Instant::now();
    loop {
        table.step();
        if holds(table.state()) {
            table.step();
            return;
        }
        assert!(started.elapsed() < Duration::from_secs(60), "{what} does not come");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Waits for what the piece and the point under the cursor are.
pub(crate) fn settled(table: &mut Table<'_>) {
    until(table, "the piece at the cursor", |desk| {
        let shown = desk.session.shown.as_ref().is_some_and(|shown| shown.blocks == desk.session.cursor.blocks);
        let known = desk.session.cursor.spot.is_none() || desk.session.answer().is_some();
        shown && known && !desk.session.is_quick()
    });
}

/// Where a point of the piece is on the screen, in its own pane and on the skin.
pub(crate) fn places(table: &Table<'_>, spot: &Spot) -> [egui::Pos2; 2] {
    let eye = table.state().eye.unwrap();
    let [x, y, _] = eye.seen(eye.point(spot.station, spot.theta, spot.radius));
    let skin = pane(table, "Skin");
    let off = dryturn_geom::angle::signed(spot.theta - eye.facing) * eye.down();
    let down = off / std::f64::consts::TAU * f64::from(skin.height());
    [
        pane(table, "Piece").center() + egui::vec2(x as f32, y as f32),
        skin.center() + egui::vec2(eye.across(spot.station) as f32, down as f32),
    ]
}

/// Where a pane is.
pub(crate) fn pane(table: &Table<'_>, name: &str) -> egui::Rect {
    table.get_by_label(name).rect()
}

/// A click at a place; every event is a frame of its own, and what takes over 0.8 s is no click any more.
pub(crate) fn click(table: &mut Table<'_>, at: egui::Pos2, modifiers: egui::Modifiers) {
    table.hover_at(at);
    table.step();
    for pressed in [true, false] {
        let button = egui::PointerButton::Primary;
        table.event_modifiers(egui::Event::PointerButton { pos: at, button, pressed, modifiers }, modifiers);
        table.step();
    }
    table.step();
}

/// Strikes a key.
pub(crate) fn strike(table: &mut Table<'_>, key: egui::Key) {
    table.key_press(key);
    table.step();
    table.step();
}

/// Keeps a picture of the whole desk beside the tests, for people to look at; nothing where nothing draws.
pub(crate) fn keep(table: &mut Table<'_>, name: &str) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("view");
    std::fs::create_dir_all(&folder).unwrap();
    match table.render() {
        Ok(picture) => picture.save(folder.join(format!("{name}.png"))).unwrap(),
        Err(why) => println!("no picture {name}: {why}"),
    }
}
