//! `dryturn view`: a real window on a screen that nobody sees, with a hand at mouse and keys.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use tiny_skia::Pixmap;

use crate::workshop::{Workshop, skipped};

/// Set where a window must open.
const REQUIRED: &str = "DRYTURN_REQUIRE_WINDOW";
/// Longer nothing takes.
const PATIENCE: Duration = Duration::from_secs(240);
/// After so long a key is struck once more.
const AGAIN: Duration = Duration::from_secs(5);
/// A screen that stays the same for so long is kept as a picture.
const RESTS: Duration = Duration::from_millis(400);

/// A screen without a display.
struct Screen {
    server: Child,
    display: String,
    /// Where the server keeps what is on it.
    memory: tempfile::TempDir,
}

impl Screen {
    /// Starts one; `None`, with the reason told, where there is none to be had.
    fn new() -> Option<Screen> {
        let missing = ["Xvfb", "xdotool"].into_iter().find(|name| {
            Command::new(name).arg("-version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_err()
        });
        if let Some(name) = missing {
            assert!(std::env::var_os(REQUIRED).is_none(), "a window is required, and {name} is not installed");
            skipped(&format!("{name} is not installed"));
            return None;
        }
        let memory = tempfile::tempdir().unwrap();
        let mut server = Command::new("Xvfb")
            // Without the reset that follows the last window closed: whoever comes then is turned away.
            .args(["-displayfd", "1", "-screen", "0", "1300x820x24", "-nolisten", "tcp", "-noreset", "-fbdir"])
            .arg(memory.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut number = String::new();
        BufReader::new(server.stdout.take().unwrap()).read_line(&mut number).unwrap();
        Some(Screen { server, display: format!(":{}", number.trim()), memory })
    }

    fn hand(&self, words: &str) -> String {
        let output =
            Command::new("xdotool").args(words.split_whitespace()).env("DISPLAY", &self.display).output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    }

    /// Keeps what is on the screen as a picture, for people to look at. The server itself writes its screen into a file, so that
    /// no other program is needed; something must be on it.
    fn keep(&self, name: &str) {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("view");
        fs::create_dir_all(&folder).unwrap();
        let seen = || fs::read(self.memory.path().join("Xvfb_screen0")).unwrap();
        let (mut last, started) = (seen(), Instant::now());
        // What was asked for last is on the screen a moment later.
        loop {
            sleep(RESTS);
            let now = seen();
            if std::mem::replace(&mut last, now.clone()) == now || started.elapsed() > AGAIN {
                break;
            }
        }
        let picture = dump(&last);
        assert!(picture.pixels().iter().any(|pixel| *pixel != picture.pixels()[0]), "{name}: the screen is empty");
        fs::write(folder.join(format!("{name}.png")), picture.encode_png().unwrap()).unwrap();
    }
}

/// A screen as the server writes it: the format of `xwd`, version 7 (XWDFile.h of the X.Org Foundation), 32 bits a pixel.
fn dump(bytes: &[u8]) -> Pixmap {
    let word = |place: usize| u32::from_be_bytes(bytes[4 * place..4 * place + 4].try_into().unwrap());
    let [head, version, depth, width, height] = [0, 1, 3, 4, 5].map(word);
    let [order, bits, row, colors] = [7, 11, 12, 19].map(word);
    assert_eq!((version, depth, bits), (7, 24, 32));
    let pixels = &bytes[(head + 12 * colors) as usize..];
    let pixel = |place: u32| {
        let at = (place / width * row + place % width * 4) as usize;
        let bytes: [u8; 4] = pixels[at..at + 4].try_into().unwrap();
        let color = if order == 0 { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) };
        let [_, red, green, blue] = color.to_be_bytes();
        [red, green, blue, 255]
    };
    let rgba = (0..width * height).flat_map(pixel).collect();
    Pixmap::from_vec(rgba, tiny_skia::IntSize::from_wh(width, height).unwrap()).unwrap()
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// The window of a scene.
struct Window<'a> {
    screen: &'a Screen,
    program: Child,
    workshop: &'a Workshop,
}

impl<'a> Window<'a> {
    /// Opens one and waits until it is there.
    fn open(screen: &'a Screen, workshop: &'a Workshop, scene: &str) -> Window<'a> {
        let mut command = workshop.command(&format!("view {scene}"));
        let program = command
            .env("DISPLAY", &screen.display)
            .env_remove("WAYLAND_DISPLAY")
            .env("XDG_RUNTIME_DIR", workshop.path("."))
            .env("DRYTURN_SETTINGS", workshop.path("settings/view.json"))
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut window = Window { screen, program, workshop };
        window.wait("the window", |it| !it.id().is_empty());
        window
    }

    /// Its number on the screen; nothing before it is mapped, and only a mapped one can take the keys.
    fn id(&self) -> String {
        self.screen.hand("search --onlyvisible --name dryturn").lines().next().unwrap_or_default().to_owned()
    }

    /// Strikes a key in it. No window manager gives a window the keys here, so it is done each time.
    fn strike(&self, key: &str) {
        self.screen.hand(&format!("windowfocus {} key {key}", self.id()));
    }

    fn wait(&mut self, what: &str, is_there: impl Fn(&Window<'_>) -> bool) {
        let started = Instant::now();
        while !is_there(self) {
            if let Some(code) = self.program.try_wait().unwrap() {
                let mut told = String::new();
                let mut stderr = self.program.stderr.take().unwrap();
                std::io::Read::read_to_string(&mut stderr, &mut told).unwrap();
                panic!("{what}: the window closed by itself, {code}\n{told}");
            }
            assert!(started.elapsed() < PATIENCE, "{what} does not come");
            sleep(Duration::from_millis(100));
        }
    }

    fn pictures(&self) -> Vec<PathBuf> {
        let files = fs::read_dir(self.workshop.path(".")).unwrap().map(|entry| entry.unwrap().path());
        let mut pictures: Vec<PathBuf> = files.filter(|it| it.extension().is_some_and(|end| end == "png")).collect();
        pictures.sort();
        pictures
    }

    /// Writes what is seen by the key for it, again and again until it is what is waited for; gives that picture.
    fn still(&mut self, what: &str, is_it: impl Fn(&Pixmap) -> bool) -> Pixmap {
        let started = Instant::now();
        loop {
            assert!(started.elapsed() < PATIENCE, "{what}: no such picture comes");
            let before = self.pictures();
            self.strike("w");
            let struck = Instant::now();
            self.wait(what, |it| it.pictures().len() > before.len() || struck.elapsed() > AGAIN);
            let file = self.pictures().into_iter().find(|it| !before.contains(it));
            let picture = file.and_then(|file| Pixmap::decode_png(&fs::read(&file).unwrap()).ok());
            if let Some(picture) = picture.filter(&is_it) {
                return picture;
            }
        }
    }

    /// Closes it by its key; its exit code.
    fn close(mut self) -> i32 {
        self.strike("ctrl+q");
        let started = Instant::now();
        while self.program.try_wait().unwrap().is_none() {
            assert!(started.elapsed() < PATIENCE, "the window does not close");
            sleep(Duration::from_millis(50));
        }
        let output = self.program.wait_with_output().unwrap();
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert!(!stderr.contains("panicked"), "{stderr}");
        output.status.code().unwrap()
    }
}

/// Share of the pixels in which two pictures differ.
fn change(one: &Pixmap, other: &Pixmap) -> f64 {
    if (one.width(), one.height()) != (other.width(), other.height()) {
        return 1.0;
    }
    let pairs = one.pixels().iter().zip(other.pixels());
    pairs.filter(|(a, b)| a != b).count() as f64 / one.pixels().len() as f64
}

const SCENES: [&str; 7] =
    ["choir-stand", "coat-peg", "harbor-light", "kite-reel", "marble-lift", "vane-cap", "winch-handle"];

#[test]
fn every_scene_opens_is_gone_through_and_written() {
    let Some(screen) = Screen::new() else { return };
    for scene in SCENES {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes").join(scene);
        let workshop = Workshop::copy_of(&folder);
        for picture in workshop.files().keys().filter(|name| name.ends_with(".png")) {
            fs::remove_file(workshop.path(picture)).unwrap();
        }
        let mut window = Window::open(&screen, &workshop, "scene.toml");
        let piece = window.still("the piece", |it| it.pixels().iter().any(|pixel| pixel.alpha() > 0));
        screen.keep(&format!("window-{scene}"));
        // Up the strip of the run to its beginning; then somewhere on the piece.
        screen.hand("mousemove 60 740 mousedown 1");
        for y in [720, 690, 660, 630, 600] {
            screen.hand(&format!("mousemove 60 {y}"));
            sleep(Duration::from_millis(60));
        }
        screen.hand("mouseup 1");
        window.strike("Home");
        screen.hand("mousemove 430 220 click 1");
        window.still("the blank in place of the piece", |it| change(&piece, it) > 0.01);
        screen.keep(&format!("window-{scene}-before"));
        window.strike("l");
        assert_eq!(window.close(), 0, "{scene}");
        assert!(workshop.read("settings/view.json").contains("\"dark\": true"), "{scene}");
    }
}

/// So fine that nobody has its mesh at once.
#[test]
fn closed_while_a_mesh_is_written_it_waits_and_closed_again_it_leaves_no_part_of_it() {
    let Some(screen) = Screen::new() else { return };
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/choir-stand"));
    let mut window = Window::open(&screen, &workshop, "scene.toml --pitch 0.1 --threads 1");
    window.still("the piece", |it| it.pixels().iter().any(|pixel| pixel.alpha() > 0));
    window.strike("shift+w");
    window.strike("ctrl+q");
    sleep(AGAIN);
    assert!(window.program.try_wait().unwrap().is_none() && !window.id().is_empty());
    screen.keep("window-waits-for-its-mesh");
    assert_eq!(window.close(), 0);
    let is_mesh = |name: &String| name.ends_with(".stl") || name.ends_with(".part");
    let left: Vec<String> = workshop.files().into_keys().filter(is_mesh).collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Nothing happens after the last key, so nothing but the setting itself can have it kept.
#[test]
fn what_is_set_is_kept_though_nothing_more_happens() {
    let Some(screen) = Screen::new() else { return };
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel"));
    let mut window = Window::open(&screen, &workshop, "scene.toml --pitch 1");
    window.still("the piece", |it| it.pixels().iter().any(|pixel| pixel.alpha() > 0));
    window.strike("m");
    window.strike("l");
    let kept = |it: &Window<'_>| fs::read_to_string(it.workshop.path("settings/view.json")).unwrap_or_default();
    window.wait("the setting", |it| kept(it).contains("\"dark\": true"));
    assert_eq!(window.close(), 0);
}

#[test]
fn without_a_display_it_says_what_to_do() {
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel"));
    let mut command = workshop.command("view scene.toml");
    let output =
        command.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY").env_remove("WAYLAND_SOCKET").output().unwrap();
    let run = crate::workshop::Run::of(output);
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("no window can be opened") && run.stderr.contains("dryturn still"), "{}", run.stderr);
    // Where it was noticed in the source of a library helps nobody.
    assert!(!run.stderr.contains(".rs:"), "{}", run.stderr);
}

#[test]
fn without_a_library_of_the_system_it_says_which() {
    let Some(screen) = Screen::new() else { return };
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel"));
    for name in ["libxkbcommon-x11.so.0", "libxkbcommon-x11.so"] {
        // Found first, and no library.
        fs::write(workshop.path(name), "").unwrap();
    }
    let mut command = workshop.command("view scene.toml");
    command.env("DISPLAY", &screen.display).env_remove("WAYLAND_DISPLAY").env("LD_LIBRARY_PATH", workshop.path("."));
    let run = crate::workshop::Run::of(command.output().unwrap());
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("libxkbcommon-x11") && !run.stderr.contains("panicked"), "{}", run.stderr);
}

#[test]
fn without_a_driver_it_says_what_to_do() {
    let Some(screen) = Screen::new() else { return };
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel"));
    let mut command = workshop.command("view scene.toml");
    command.env("DISPLAY", &screen.display).env_remove("WAYLAND_DISPLAY");
    for name in ["VK_ICD_FILENAMES", "VK_DRIVER_FILES", "LIBGL_DRIVERS_PATH", "__EGL_VENDOR_LIBRARY_FILENAMES"] {
        command.env(name, workshop.path("none"));
    }
    let run = crate::workshop::Run::of(command.output().unwrap());
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("driver for Vulkan or GL"), "{}", run.stderr);
}

#[test]
fn an_interface_of_drivers_that_there_is_not_is_refused_with_those_that_there_are() {
    let workshop = Workshop::copy_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes/kite-reel"));
    let mut command = workshop.command("view scene.toml");
    let run = crate::workshop::Run::of(command.env("WGPU_BACKEND", "nonsense").output().unwrap());
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("`nonsense`") && run.stderr.contains("vulkan"), "{}", run.stderr);
}

#[test]
fn what_is_no_scene_is_told_where_it_was_typed() {
    let workshop = Workshop::with(&[("part.nc", "G21\nM30\n")]);
    let run = workshop.expect(2, "view part.nc");
    assert!(run.stderr.contains("not a scene file"), "{}", run.stderr);
    let run = workshop.expect(2, "view none.toml");
    assert!(run.stderr.contains("none.toml"), "{}", run.stderr);
}
