//! The same cut on machines that are set up otherwise.

use dryturn_check::load::Load;

use crate::carved::loads;
use crate::strokes::job;

/// How a machine's words stand to the cut: the words along the axis, across it and about it, each with the sign by which the same
/// cut is written there.
struct Setting {
    machine: &'static str,
    along: (char, f64),
    across: (char, f64),
    turning: (char, f64),
}

/// Every setting that a right-handed machine can be turned into about Z, and each with a rotary word that counts the other way.
const SETTINGS: [Setting; 8] = [
    Setting { machine: "", along: ('X', 1.0), across: ('Y', 1.0), turning: ('A', 1.0) },
    Setting { machine: "turns = \"reversed\"", along: ('X', 1.0), across: ('Y', 1.0), turning: ('A', -1.0) },
    Setting { machine: "chuck_on = \"+x\"", along: ('X', -1.0), across: ('Y', -1.0), turning: ('A', -1.0) },
    Setting {
        machine: "chuck_on = \"+x\", turns = \"reversed\"",
        along: ('X', -1.0),
        across: ('Y', -1.0),
        turning: ('A', 1.0),
    },
    Setting { machine: "along = \"y\", rotary = \"B\"", along: ('Y', 1.0), across: ('X', -1.0), turning: ('B', 1.0) },
    Setting {
        machine: "along = \"y\", rotary = \"B\", turns = \"reversed\"",
        along: ('Y', 1.0),
        across: ('X', -1.0),
        turning: ('B', -1.0),
    },
    Setting {
        machine: "along = \"y\", rotary = \"B\", chuck_on = \"+y\"",
        along: ('Y', -1.0),
        across: ('X', 1.0),
        turning: ('B', -1.0),
    },
    Setting {
        machine: "along = \"y\", rotary = \"B\", chuck_on = \"+y\", turns = \"reversed\"",
        along: ('Y', -1.0),
        across: ('X', 1.0),
        turning: ('B', 1.0),
    },
];

impl Setting {
    /// A helix from beyond the free end inward, a pass along the axis beside the top and a slope.
    fn loads(&self, spindle: &str) -> Vec<Load> {
        let word = |(letter, sign): (char, f64), value: f64| format!("{letter}{}", sign * value);
        let [along, across, turning] =
            [self.along, self.across, self.turning].map(|it| move |value: f64| word(it, value));
        let program = format!(
            "{spindle} S18000\nG0 Z40\n{} {} {}\nG1 Z22 F3000\nG93 {} {} F0.9\nG94 G0 Z40\n{} {}\nZ20\nG1 {} F900\n\
             {} {} Z18 F900\nG0 Z40\n",
            along(123.0),
            across(0.0),
            turning(0.0),
            along(90.0),
            turning(3960.0),
            along(125.0),
            across(7.0),
            along(70.0),
            along(40.0),
            across(9.0),
        );
        let job = job(self.machine, "material = \"black walnut\"", "diameter = 6, flute = 20", &program);
        loads(&job, 0.5).into_iter().filter(|load| !load.rapid).collect()
    }
}

/// What must not depend on the setting: where and how it cuts, and what that pulls with.
fn told(load: &Load) -> ([f64; 2], Option<bool>, Vec<f64>) {
    let (power, forces) = (load.power.expect("a power"), load.forces.expect("forces"));
    let pulls = [power, forces.main, forces.thrust, forces.axial, forces.torque].concat();
    ([load.station, load.radius], load.engagement.is_climb, pulls)
}

#[test]
fn the_same_cut_pulls_alike_on_every_machine() {
    for spindle in ["M3", "M4"] {
        let reference: Vec<_> = SETTINGS[0].loads(spindle).iter().map(told).collect();
        let sided = reference.iter().filter(|(_, is_climb, _)| is_climb.is_some()).count();
        assert!(sided > 10 && reference.len() > sided, "{sided} of {}", reference.len());
        for setting in &SETTINGS[1..] {
            let machine = setting.machine;
            let found: Vec<_> = setting.loads(spindle).iter().map(told).collect();
            assert_eq!(found.len(), reference.len(), "{machine}");
            for ((place, is_climb, pulls), expected) in found.iter().zip(&reference) {
                assert_eq!(*is_climb, expected.1, "{machine}, {spindle} at {place:?}");
                let pairs = place.iter().zip(&expected.0).chain(pulls.iter().zip(&expected.2));
                for (value, expected) in pairs {
                    assert!(
                        (value - expected).abs() <= 1e-3 * expected.abs().max(0.01),
                        "{machine}: {value}, {expected}"
                    );
                }
            }
        }
    }
}
