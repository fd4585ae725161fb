//! Strokes made up by hand.

use dryturn_carve::Stroke;
use dryturn_check::load::{Grain, Load, Loads};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

pub(crate) fn job(machine: &str, blank: &str, cutter: &str, program: &str) -> Job {
    let text = format!(
        "format = 1
        blank = {{ diameter = 50, length = 120, {blank} }}
        cutter = [{{ {cutter} }}]
        program = [{{ file = \"1.nc\", cutter = 1 }}]
        machine = {{ start = {{ x = 20, y = 0, z = 20, a = 0 }}, {machine} }}"
    );
    let folder = tempfile::tempdir().expect("a folder for the job");
    std::fs::write(folder.path().join("1.nc"), program).expect("the program is written");
    let scene = Scene::parse(&text, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)));
    Job::read(scene, JobOptions::default()).unwrap_or_else(|error| panic!("{}", error.render(false)))
}

const FLAT: &str = "diameter = 6";
const MAPLE: &str = "material = \"hard maple\"";

/// Block 0 as one stroke that takes a minute's seconds as asked.
fn load_of(job: &Job, seconds: Option<f64>, volume: f64, depth: f64, left: f64) -> Option<Load> {
    let asked = |_| seconds;
    let stroke =
        Stroke { block: 0, last: 0, share: (0.0, 1.0), volume_mm3: volume, depth_mm: depth, left_mm3: left * volume };
    Loads::new(job, &asked).of(&stroke)
}

#[track_caller]
fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-6 * expected.abs().max(1.0), "{value} is not {expected}");
}

/// A groove 6 wide and 2 deep along 50 mm in 3 s: 12 000 mm³/min, 5.0 and 8.0 W at 25 and 40 N/mm² if its chips are thick.
#[test]
fn a_groove_along_the_axis() {
    let job = job("", MAPLE, FLAT, "M3 S5000\nG1 X70 F1000\n");
    let load = load_of(&job, Some(3.0), 600.0, 2.0, 0.5).unwrap();
    near(load.engagement.width, 6.0);
    near(load.engagement.arc, std::f64::consts::PI);
    near(load.engagement.rate.unwrap(), 200.0);
    near(load.engagement.speed.unwrap(), 50.0 / 3.0);
    near(load.engagement.feed_per_tooth.unwrap(), 0.1);
    near(load.engagement.chip_mean.unwrap(), 0.2 / std::f64::consts::PI);
    assert_eq!((load.engagement.is_climb, load.engagement.grain), (None, Grain::Along));
    near(load.power.unwrap()[0], 5.0);
    // Chips of 0.0637 mm on the mean: 1.7268 times the force.
    near(load.power.unwrap()[1], 8.0 * (2.0 - (0.2 / std::f64::consts::PI - 0.05) / 0.05));
    assert_eq!((load.station, load.radius, load.seconds), (45.0, 21.0, Some(3.0)));
    let forces = load.forces.unwrap();
    assert!(forces.main[0] < forces.main[1] && forces.axial[0] > 0.0 && forces.torque[0] > 0.0);
}

/// Clockwise with the wood on the right is climbing; with the other hand, or the wood on the other side, it is not.
#[test]
fn climbing_by_hand_and_side() {
    let climbs = |hand: &str, left: f64| {
        let job = job("", MAPLE, FLAT, &format!("{hand} S9000\nG1 X70 F1000\n"));
        load_of(&job, Some(3.0), 300.0, 2.0, left).unwrap().engagement.is_climb
    };
    assert_eq!((climbs("M3", 0.0), climbs("M3", 1.0)), (Some(true), Some(false)));
    assert_eq!((climbs("M4", 0.0), climbs("M4", 1.0)), (Some(false), Some(true)));
    assert_eq!(climbs("M3", 0.52), None);
}

#[test]
fn what_cannot_be_told_is_not() {
    let program = "M3 S9000\nG1 X70 F1000\n";
    let known = job("", MAPLE, FLAT, program);
    let without_feed = load_of(&known, None, 300.0, 2.0, 0.0).unwrap();
    assert_eq!((without_feed.power, without_feed.forces, without_feed.engagement.speed), (None, None, None));
    near(without_feed.engagement.width, 3.0);
    assert!(load_of(&known, Some(0.0), 300.0, 2.0, 0.0).unwrap().power.is_none());
    let no_speed = job("", MAPLE, FLAT, "M3\nG1 X70 F1000\n");
    let load = load_of(&no_speed, Some(3.0), 300.0, 2.0, 0.0).unwrap();
    assert_eq!((load.forces, load.engagement.feed_per_tooth), (None, None));
    // The rate alone makes power; chips that nobody knows may be thin.
    near(load.power.unwrap()[1], 2.0 * 40.0 * 0.1);
    let by_hand = job("spindle_speed = 9000", MAPLE, FLAT, "M3\nG1 X70 F1000\n");
    assert!(load_of(&by_hand, Some(3.0), 300.0, 2.0, 0.0).unwrap().forces.is_some());
    let board = job("", "material = \"tooling board\"", FLAT, program);
    let load = load_of(&board, Some(3.0), 300.0, 2.0, 0.0).unwrap();
    assert!(load.power.is_none() && load.forces.is_none() && load.engagement.chip_mean.is_some());
    for (volume, depth) in [(0.0, 2.0), (300.0, 0.0), (f64::NAN, 2.0), (300.0, f64::NAN)] {
        assert!(load_of(&known, Some(3.0), volume, depth, 0.0).is_none());
    }
}

/// A point has no width where it touches; a speed of nothing and a stop make no chips.
#[test]
fn nothing_to_divide_by() {
    let point = "diameter = 6, shape = \"vee\", angle = 60";
    let stands = job("", MAPLE, point, "M3 S0\nG1 X70 F1000\n");
    let load = load_of(&stands, Some(3.0), 10.0, 1.0, 0.5).unwrap();
    assert_eq!(load.forces, None);
    assert!(load_of(&stands, Some(3.0), 10.0, 1e-320, 0.5).is_none_or(|load| load.engagement.width.is_finite()));
}

#[test]
fn a_plunge_by_its_own_rule() {
    let job = job("", MAPLE, FLAT, "M3 S9000\nG1 Z15 F300\n");
    let hole = std::f64::consts::PI * 9.0 * 5.0;
    let load = load_of(&job, Some(1.0), hole, 5.0, 0.5).unwrap();
    assert!(load.engagement.is_plunge);
    near(load.engagement.width, 6.0);
    near(load.engagement.arc, std::f64::consts::TAU);
    near(load.engagement.chip_mean.unwrap(), 5.0 * 60.0 / 18_000.0);
    assert_eq!((load.engagement.is_climb, load.engagement.grain), (None, Grain::Across));
    assert_eq!(load.forces.unwrap().axial, [0.0, 0.0]);
}

/// Of 20 mm down in 4 s the last 5 go through wood: a hole of 28.27 mm² at 5 mm/s, as if it had begun on the wood. A slope
/// for longer than the cutter is wide is in wood all the way, for all that is told.
#[test]
fn a_plunge_from_a_height_is_as_strong_as_one_from_the_wood() {
    let hole = std::f64::consts::PI * 9.0 * 5.0;
    let plunge = |words: &str, seconds: f64| {
        let job = job("", MAPLE, FLAT, &format!("M3 S9000\nG1 {words} F300\n"));
        load_of(&job, Some(seconds), hole, 5.0, 0.5).unwrap()
    };
    let (high, low) = (plunge("Z0", 4.0), plunge("Z15", 1.0));
    near(high.engagement.width, 6.0);
    near(high.engagement.rate.unwrap(), hole);
    assert_eq!((high.share, high.seconds), ((0.75, 1.0), Some(1.0)));
    assert_eq!((high.power, high.forces.unwrap().thrust), (low.power, low.forces.unwrap().thrust));
    // Its tip stands at 2.5 in the middle of the wood, the middle of which is at 5.
    near(high.radius, 5.0);
    assert_eq!(plunge("X30 Z0", 4.0).share, (0.0, 1.0));
}

/// The tip rises along the axis: against the grain.
#[test]
fn uphill_and_downhill() {
    let grain = |words: &str| {
        let job = job("", MAPLE, FLAT, &format!("M3 S9000\nG1 {words} F1000\n"));
        load_of(&job, Some(3.0), 300.0, 2.0, 0.0).unwrap().engagement.grain
    };
    assert_eq!(grain("X70 Z25"), Grain::Uphill);
    assert_eq!(grain("X10 Z25"), Grain::Uphill);
    assert_eq!(grain("X70 Z15"), Grain::Downhill);
    assert_eq!(grain("X70"), Grain::Along);
    assert_eq!(grain("X21 A90"), Grain::Across);
}
