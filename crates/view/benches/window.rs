//! How long a job of 200 000 blocks takes to be seen: the first picture, any block, a frame; and its memory.
//!
//! `cargo bench -p dryturn-view` on an idle machine; the program is made in code. No window is opened.

#![expect(clippy::print_stdout, reason = "a benchmark tells what it measured")]
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot go on is none")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use common::{Bench, Table};
use dryturn_view::Desk;
use egui_kittest::Harness;

/// Blocks of the program.
const BLOCKS: u32 = 200_000;
/// Blocks that are gone to.
const VISITS: u32 = 40;
/// The window is drawn so often though nothing is new, as while the pointer rests on it.
const SELDOM: Duration = Duration::from_millis(100);

fn main() {
    println!("200 000 blocks on ⌀60 × 200; ms, median / worst of {VISITS} where two stand");
    println!(
        "pitch  the blank  all coarse  all fine  picture of all  any block  the same, fine  a frame laid out  a picture, moving  at rest  MB, most / at the end"
    );
    for pitch in [0.5, 0.25, 0.1] {
        println!("{pitch:>5}  {}", row(pitch));
    }
}

fn row(pitch: f64) -> String {
    forget_most();
    let bench = Bench::new();
    bench.write("scene.toml", &scene(pitch));
    bench.write("helix.nc", &helix());
    let started = Instant::now();
    let builder = Harness::builder().with_size([1280.0, 800.0]).with_step_dt(0.02);
    let mut table = builder.build_ui_state(|ui, desk: &mut Desk| desk.ui(ui), common::desk_on(&bench.file(), 0));
    let mut row = String::new();
    let all = |desk: &Desk| desk.session.opened.as_ref().map(|opened| opened.blocks());
    let is_all = |desk: &Desk, blocks: Option<u32>| blocks.is_some() && blocks == all(desk);
    let [piece, coarse, picture, fine] = all_waited(
        &mut table,
        started,
        [
            &|desk: &Desk| desk.session.shown.is_some(),
            &|desk: &Desk| is_all(desk, desk.session.shown.as_ref().map(|it| it.blocks)),
            &|desk: &Desk| is_all(desk, desk.session.picture.as_ref().or(desk.drawn()).and_then(|it| it.blocks)),
            &|desk: &Desk| desk.session.shown.as_ref().is_some_and(|it| !it.is_coarse),
        ],
    );
    waited(&mut table, started, |desk| desk.session.is_proved && !desk.session.is_busy());
    let visits = (1..=VISITS).map(|visit| {
        let block = (u64::from(visit) * 7_919_993 % u64::from(BLOCKS)) as u32;
        visited(&mut table, block, true)
    });
    let visits: Vec<f64> = visits.collect();
    let settled: Vec<f64> = (1..=VISITS / 4).map(|visit| visited(&mut table, visit * 17_377, false)).collect();
    let frames: Vec<f64> = (0..VISITS)
        .map(|_| {
            let from = Instant::now();
            table.step();
            from.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    let moving: Vec<f64> = (0..VISITS / 2).map(|_| painted(&mut table, true)).collect();
    let resting: Vec<f64> = (0..VISITS / 4).map(|_| painted(&mut table, false)).collect();
    let _ = write!(row, "{piece:>9.0}  {coarse:>10.0}  {fine:>8.0}  {picture:>14.0}");
    for times in [visits, settled, frames, moving, resting] {
        let (median, worst) = spread(times);
        let _ = write!(row, "  {median:>6.1} / {worst:.1}");
    }
    let _ = write!(row, "  {:>5} / {}", memory("VmHWM:"), memory("VmRSS:"));
    row
}

/// Milliseconds until the piece is that after so many blocks; nothing is drawn meanwhile.
fn visited(table: &mut Table<'_>, block: u32, is_quick: bool) -> f64 {
    let from = Instant::now();
    let session = &mut table.state_mut().session;
    session.go(block, is_quick);
    while session.shown.as_ref().is_none_or(|it| it.blocks != block) {
        session.poll();
        std::thread::sleep(Duration::from_micros(200));
    }
    from.elapsed().as_secs_f64() * 1e3
}

/// Milliseconds from a look from elsewhere until its picture is there.
fn painted(table: &mut Table<'_>, is_moving: bool) -> f64 {
    if let Some(eye) = &mut table.state_mut().eye {
        eye.facing += 0.1;
    }
    if is_moving {
        table.key_press(egui::Key::CloseBracket);
    }
    let from = Instant::now();
    table.step();
    while table.state().session.picture.is_none() {
        table.state_mut().session.poll();
        assert_eq!(table.state().session.unpainted, None, "nothing draws");
        std::thread::sleep(Duration::from_micros(300));
    }
    from.elapsed().as_secs_f64() * 1e3
}

/// Milliseconds until something holds.
fn waited(table: &mut Table<'_>, from: Instant, holds: impl Fn(&Desk) -> bool) -> f64 {
    let [time] = all_waited(table, from, [&holds]);
    time
}

/// Milliseconds until each of some things first held; the window is drawn when there is something new, as it is on a screen.
fn all_waited<const COUNT: usize>(
    table: &mut Table<'_>,
    from: Instant,
    things: [&dyn Fn(&Desk) -> bool; COUNT],
) -> [f64; COUNT] {
    let mut drawn = Instant::now();
    let mut times = [None; COUNT];
    loop {
        let is_new = table.state_mut().session.poll();
        assert_eq!(table.state().session.unpainted, None, "nothing draws");
        let now = from.elapsed().as_secs_f64() * 1e3;
        for (time, holds) in times.iter_mut().zip(&things) {
            *time = time.or_else(|| holds(table.state()).then_some(now));
        }
        if times.iter().all(Option::is_some) {
            return times.map(Option::unwrap_or_default);
        }
        if is_new || drawn.elapsed() > SELDOM {
            table.step();
            drawn = Instant::now();
        }
        std::thread::sleep(Duration::from_micros(500));
    }
}

/// What the system says of this process's memory, MB; a dash where it says nothing.
fn memory(key: &str) -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kilobytes =
        status.lines().find_map(|line| line.strip_prefix(key)?.split_whitespace().next()?.parse::<u64>().ok());
    kilobytes.map_or_else(|| "–".to_owned(), |kilobytes| (kilobytes / 1000).to_string())
}

/// Has the system count the most memory anew, where it can.
fn forget_most() {
    // Elsewhere the most is that of all rows so far.
    let _ = std::fs::write("/proc/self/clear_refs", "5");
}

fn spread(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() - 1])
}

fn scene(pitch: f64) -> String {
    format!(
        "format = 1\nblank = {{ diameter = 60, length = 200, material = \"hard maple\" }}\nprogram = [{{ file = \"helix.nc\" }}]\n\
         cutter = [{{ shape = \"ball\", diameter = 6 }}]\ngrid = {{ pitch = {pitch} }}\n"
    )
}

/// A finishing helix whose depth waves around and along.
fn helix() -> String {
    let mut text = String::from("G21 G90 G94\nM3 S18000\nG0 Z40\nG0 X2 A0\nG1 Z30 F600\n");
    for block in 1..BLOCKS - 6 {
        let along = f64::from(block) / f64::from(BLOCKS);
        let turn = f64::from(block) * 1.2;
        let depth = 27.0 + 1.5 * (turn.to_radians() * 5.0).sin() * (along * 40.0).cos();
        let _ = writeln!(text, "X{:.4} Z{depth:.4} A{turn:.2}", 2.0 + 196.0 * along);
    }
    text.push_str("G0 Z40\nM30\n");
    text
}
