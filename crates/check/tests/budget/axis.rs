//! A rotary axis that does not lie as it should, one with play, and a blank that is bent and off centre.

use crate::wood::{Wood, carved, job, near};

/// A rod of ⌀50 × 330 on a machine.
fn rod<T>(machine: &str, cutter: &str, program: &str, look: impl FnOnce(&Wood<'_>) -> T) -> T {
    let scene = format!(
        "blank = {{ diameter = 50, length = 330 }}
        cutter = [{{ {cutter}, flute = 40 }}]
        [machine]
        start = {{ x = 0, y = 0, z = 60, a = 0 }}
        {machine}"
    );
    carved(&job(&scene, &[("cutter = 1", program)]), look)
}

const FLAT: &str = "diameter = 6";
const BALL: &str = "shape = \"ball\", diameter = 6";
/// 0.5 mm over 300, as mm a 100.
const HALF: f64 = 0.5 / 3.0;

/// A way a machine stands.
struct Stand {
    /// What the scene says of it.
    keys: &'static str,
    /// The word along the axis, and what a station is times to give it.
    along: (char, f64),
    /// The word that turns the blank.
    rotary: char,
}

impl Stand {
    /// The word that brings the cutter to a station.
    fn at(&self, station: f64) -> String {
        format!("{}{}", self.along.0, self.along.1 * station)
    }
}

const STANDS: [Stand; 3] = [
    Stand { keys: "", along: ('X', 1.0), rotary: 'A' },
    Stand { keys: "chuck_on = \"+x\"", along: ('X', -1.0), rotary: 'A' },
    Stand { keys: "along = \"y\"\nrotary = \"B\"", along: ('Y', 1.0), rotary: 'B' },
];

#[test]
fn an_axis_that_rises_makes_a_taper() {
    for stand in STANDS {
        let (near_end, far_end, keys, letter) = (stand.at(0.0), stand.at(330.0), stand.keys, stand.rotary);
        let program = format!("M3 S9000\nG0 {near_end} Z40\nG1 Z20 F500\n{far_end} {letter}39600\nG0 Z40\n");
        rod(&format!("rise = {HALF}\n{keys}"), FLAT, &program, |wood| {
            // The last turn over a spot, which is the deepest, comes with the tip up to a turn's 3 mm farther on.
            let diameter = |station: f64| wood.round(station).iter().sum::<f64>();
            near(diameter(15.0) - diameter(315.0), 1.0, 2e-3);
            near(diameter(15.0), 2.0 * 20.0 - 0.01 * HALF * (15.0 + 18.0), 1e-3);
        });
    }
}

#[test]
fn an_axis_that_leans_aside_turns_lines_and_not_the_size() {
    for stand in STANDS {
        let (keys, letter) = (format!("skew = {HALF}\n{}", stand.keys), stand.rotary);
        let line = format!("M3 S9000\nG0 {} Z40\nG1 Z20 F500\n{}\nG0 Z40\n", stand.at(0.0), stand.at(330.0));
        rod(&keys, BALL, &line, |wood| {
            let at = |station: f64| wood.deepest(station, 0.0, 4.0);
            for station in [1.0, 100.0, 300.0] {
                near(at(station), (0.01 * HALF * station / 23.0).atan().to_degrees(), 2e-3);
            }
            near(at(300.0) - at(1.0), 1.2, 0.05);
        });
        let ring = format!("M3 S9000\nG0 {} Z40\nG1 Z20 F500\n{letter}360\nG0 Z40\n", stand.at(300.0));
        rod(&keys, BALL, &ring, |wood| {
            wood.is_round(300.0, 0.5f64.hypot(23.0) - 3.0);
            near(wood.round(300.0)[1] - 20.0, 0.005, 5e-4);
        });
    }
}

/// A spoon cut along the axis by an arc of X and Z: where the axis rises it lies deeper by as much as it rises there.
#[test]
fn arcs_are_led_by_the_axis_too() {
    let spoon = "M3 S9000\nG0 X260 Z40\nG1 Z24 F500\nG18 G2 X300 Z24 I20 K40\nG0 Z40\n";
    let depth = |machine: &str, station: f64| rod(machine, BALL, spoon, |wood| wood.radius(station, 0.0));
    for station in [270.0, 280.0, 290.0] {
        // The contact lies aside from under the tip by the slope of the arc, so its rise is that of the tip's station.
        let level = depth("rise = 0", station);
        let sink = level - depth(&format!("rise = {HALF}"), station);
        near(sink, 0.01 * HALF * station, 4e-3);
        assert!(level < 24.0);
    }
}

#[test]
fn a_zero_touched_off_on_wood_is_true_where_it_is_touched() {
    let scene = |station: u32| {
        format!(
            "blank = {{ diameter = 50, length = 330 }}
            cutter = [{{ diameter = 6 }}]
            zero = {{ z = {{ touch = {{ station = {station} }} }} }}
            machine = {{ rise = {HALF}, start = {{ x = 0, y = 0, z = 40, a = 0 }} }}"
        )
    };
    let ring = "M3 S9000\nG0 X300 Z10\nG1 Z-5 F500\nA360\nG0 Z10\n";
    let radius = |station: u32| carved(&job(&scene(station), &[("cutter = 1", ring)]), |wood| wood.round(300.0)[1]);
    near(radius(300), 20.0, 1e-3);
    near(radius(100), 20.0 - 0.01 * HALF * 200.0, 1e-3);
}

/// Pits at A30 on three lines: the first met turning on, the second turning back, the third turning on again.
const LINES: &str = "M3 S9000\nG0 X20 Z40\nG1 A30 F500\nZ22\nZ40\nA60\nX40\nA30\nZ22\nZ40\nA0\nX60\nA30\nZ22\nG0 Z40\n";

#[test]
fn play_sets_every_second_line_aside() {
    for (play, told) in [(0.1, 0.044), (0.2, 0.087), (0.5, 0.218)] {
        rod(&format!("backlash = {play}"), BALL, LINES, |wood| {
            let at = |station: f64| wood.deepest(station, 30.0, 4.0);
            near(at(20.0), 30.0, 2e-3);
            near(at(60.0), 30.0, 2e-3);
            near(at(40.0) - at(20.0), play, 3e-3);
            near((at(40.0) - at(20.0)).to_radians() * 25.0, told, 2e-3);
        });
    }
}

#[test]
fn play_is_felt_by_the_way_the_job_turns_first() {
    // The same the other way round: now the line that turns on is the one set aside, and on a machine wired the other way.
    let back = LINES.replace("A30", "A-30").replace("A60", "A-60");
    for (keys, place) in [("", -30.0), ("\nturns = \"reversed\"", 30.0)] {
        rod(&format!("backlash = 0.5{keys}"), BALL, &back, |wood| {
            let at = |station: f64| wood.deepest(station, place, 4.0);
            near(at(20.0), place, 2e-3);
            near(at(40.0) - at(20.0), 0.5 * place.signum(), 3e-3);
        });
    }
    // A turn back within the play moves nothing.
    let within = "M3 S9000\nG0 X20 Z40\nG1 A30 F500\nA29.8\nZ22\nG0 Z40\n";
    rod("backlash = 0.5", BALL, within, |wood| near(wood.deepest(20.0, 30.0, 4.0), 30.0, 2e-3));
}

#[test]
fn a_job_that_turns_one_way_feels_no_play() {
    let helix = "M3 S9000\nG0 X20 Z40\nG1 Z20 F500\nX60 A7200\nA7560\nG0 Z40\n";
    let radii = |keys: &str| {
        rod(keys, BALL, helix, |wood| {
            (0..200).map(|k| wood.radius(30.0 + 0.1 * f64::from(k), 7.0 * f64::from(k))).collect::<Vec<_>>()
        })
    };
    assert_eq!(radii("backlash = 0.5"), radii(""));
}

/// 50 square, bent by 1.2 and held 0.8 off: midway its nearest flat is 25 − 2 from the axis.
#[test]
fn a_bent_square_that_is_held_off_centre_leaves_less_all_round() {
    let turned = |radius: f64| {
        let scene = "blank = { shape = \"square\", across_flats = 50, length = 300, runout = { z = -0.8 }, \
                     bow = { amount = 1.2, angle = 180 } }
            cutter = [{ diameter = 12, flute = 40 }]
            machine = { start = { x = 0, y = 0, z = 60, a = 0 } }";
        let program = format!("M3 S9000\nG0 X100 Z60\nG1 Z{radius} F500\nX200 A7200\nA7560\nG0 Z60\n");
        carved(&job(scene, &[("cutter = 1", &program)]), |wood| wood.round(150.0))
    };
    let [least, most] = turned(23.0);
    near(least, 23.0, 1e-3);
    near(most, 23.0, 1e-3);
    let [least, most] = turned(23.1);
    near(2.0 * least, 46.0, 1e-3);
    near(most, 23.1, 1e-3);
}
