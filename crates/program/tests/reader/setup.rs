//! The set-up that a program of the corpus asks for.

use dryturn_program::{NotUnderstood, Setup};

/// All words at zero and everything taken, changed by the lines `;! key = value` of the program. An unknown key fails
/// the test.
pub(crate) fn of(source: &[u8]) -> Setup {
    let mut setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
    let text = String::from_utf8_lossy(source);
    for line in text.lines().filter_map(|line| line.strip_prefix(";!")) {
        let (key, value) = line.split_once('=').expect("key = value");
        set(&mut setup, key.trim(), value.trim());
    }
    setup
}

fn set(setup: &mut Setup, key: &str, value: &str) {
    let words: Vec<&str> = key.split_whitespace().collect();
    let on = value == "yes";
    match words[..] {
        ["start"] => setup.start = places(value),
        ["machine", "zero"] => setup.machine_zero = places(value),
        ["origin", number] => {
            setup.origins[number.parse::<usize>().unwrap() - 1] = places(value).map(Option::unwrap);
        }
        ["cutter"] => setup.cutter = Some(value.parse().unwrap()),
        ["stickout", number] => {
            setup.stickouts.insert(number.parse().unwrap(), value.parse().unwrap());
        }
        ["diameter", number] => {
            setup.diameters.insert(number.parse().unwrap(), value.parse().unwrap());
        }
        ["parameter", number] => {
            setup.parameters.insert(number.parse().unwrap(), value.parse().unwrap());
        }
        ["m6", "ignored"] => setup.m6_ignored = on,
        ["block", "delete"] => setup.block_delete = on,
        ["arc", "slack"] => setup.arc_slack_mm = value.parse().unwrap(),
        ["arcs"] => setup.arcs = on,
        ["inverse", "time"] => setup.inverse_time = on,
        ["line", "limit"] => setup.line_limit = value.parse().unwrap(),
        ["dwell"] => setup.dwell_milliseconds = value == "ms",
        ["lenient"] => setup.lenient = on,
        ["blocks"] => setup.max_blocks = value.parse().unwrap(),
        ["steps"] => setup.max_steps = value.parse().unwrap(),
        ["depth"] => setup.max_depth = value.parse().unwrap(),
        ["expressions"] => setup.expressions = on,
        ["subprograms"] => setup.subprograms = on,
        ["canned"] => setup.canned = on,
        ["tool", "length"] => setup.tool_length = on,
        ["drops"] => setup.drops.push(value.parse().unwrap()),
        ["compensation"] => setup.compensation = on,
        ["not", "understood"] => {
            setup.not_understood = Some(match value {
                "stops" => NotUnderstood::Stops,
                _ => NotUnderstood::Ignores,
            });
        }
        _ => panic!("no key {key}"),
    }
}

/// Up to six numbers; the rest is 0; `?` is unknown.
fn places(value: &str) -> [Option<f64>; 6] {
    let mut places = [Some(0.0); 6];
    for (place, word) in places.iter_mut().zip(value.split_whitespace()) {
        *place = word.parse().ok();
    }
    places
}
