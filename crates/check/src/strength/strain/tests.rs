use std::fmt::Write as _;

use dryturn_carve::carve_recorded;
use dryturn_scene::{JobOptions, LoadOptions, Scene};

use super::*;
use crate::bodies;

/// A rod of walnut, ⌀18, 470 mm of it free between chuck and center, and one cutter.
const ROD: &str = "format = 1
    blank = { diameter = 18, length = 500, material = \"black walnut\" }
    chuck = { hold = 30 }
    machine = { start = { x = 0, y = 0, z = 60, a = 0 } }
    tailstock = { center = { diameter = 10, quill = 12, extension = 3 } }
    grid = { pitch = 0.5 }
    cutter = [{ diameter = 6 }]
    program = [{ file = \"waist.nc\", cutter = 1 }]";

/// The wood of a rod at the moments of a program.
fn woods(program: &str) -> Vec<Wood> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("waist.nc"), program).unwrap();
    let scene = Scene::parse(ROD, "scene.toml", folder.path(), LoadOptions::default()).unwrap();
    let job = Job::read(scene, JobOptions::default()).unwrap();
    let (stock, cutters) = (job.scene.stock(), bodies::carve_cutters(&job.scene));
    let grid = Grid::over(&stock, job.scene.grid.pitch);
    let work = dryturn_carve::Job { stock: &stock, dimple: None, cutters: &cutters, motions: &job };
    let (_, course) = carve_recorded(&work, &grid, &[], &RunOptions { threads: 1, ..RunOptions::default() }).unwrap();
    let held = Held::of(&job.scene, &grid).unwrap();
    (0..course.moments().len()).map(|moment| Wood::new(&held, held.sections(&course, moment), None)).collect()
}

/// Rings of ⌀9 from station 250 to 270.
fn waist() -> String {
    let rings = [253.0, 258.0, 263.0, 267.0].iter().enumerate();
    rings.fold("M3 S18000\nG0 Z40\n".to_owned(), |mut program, (turn, x)| {
        writeln!(program, "G0 X{x}\nG1 Z4.5 F300\nG1 A{} F3600\nG0 Z40", 360 * (turn + 1)).unwrap();
        program
    })
}

/// 8 N in the middle of the waist push the rod 0.135 mm aside before it is cut (E I and the clamped–pinned bar of any
/// handbook), and 0.303 mm after (the same bar with a length of another second moment, by the force method).
#[test]
fn a_waist_through_what_is_carved() {
    let woods = woods(&waist());
    let [before, after] = [&woods[0], &woods[woods.len() - 1]].map(|wood| 8.0 * wood.bar.flexibility(260.0));
    assert!((before / 0.135 - 1.0).abs() < 0.02, "{before}");
    assert!((after / 0.303 - 1.0).abs() < 0.02, "{after}");
}
