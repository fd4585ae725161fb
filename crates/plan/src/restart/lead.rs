//! The lines before the line that is taken up.

use std::fmt::Write;

use dryturn_program::listing::AXES;
use dryturn_program::{Modal, PathControl, Plane, Spindle, ToolOffset};
use dryturn_scene::{Job, SYSTEM_NAMES};

use super::place::{Taken, commanded, safe_height};
use crate::measure::trimmed;

/// Feed straight down where no limit of the cutter is known, mm/min.
const PLUNGE: f64 = 300.0;

/// The lines, and how many there are.
pub(super) fn text(job: &Job, taken: &Taken) -> (String, u32) {
    let mut text = String::new();
    if taken.has_percent {
        text.push_str("%\n");
    }
    let mut line = |words: &str| {
        let _ = writeln!(text, "{words}");
    };
    remarks(job, taken).iter().for_each(|remark| line(&format!("({})", crate::writer::plain(remark))));
    let modal = &taken.modal;
    line(&format!("{} G17 G90 G94 {}", if modal.inch { "G20" } else { "G21" }, system(modal)));
    switches(modal, taken.cutter).iter().for_each(|words| line(words));
    approach(job, taken).iter().for_each(|words| line(words));
    modes(taken).iter().for_each(|words| line(words));
    let lines = text.lines().count() as u32;
    (text, lines)
}

/// The coordinate system in force.
pub(super) fn system(modal: &Modal) -> &'static str {
    SYSTEM_NAMES[usize::from(modal.system.saturating_sub(1)).min(8)]
}

fn remarks(job: &Job, taken: &Taken) -> Vec<String> {
    let file = &job.programs[taken.at.program].file;
    let cutter = taken.cutter.map_or("no cutter".to_owned(), |number| format!("cutter {number}"));
    let system = system(&taken.modal);
    vec![
        format!("takes up {file} at line {}", taken.at.line),
        format!("written and proved by dryturn {}", env!("CARGO_PKG_VERSION")),
        format!("the zeros must be those of the program before, the rotary axis too, words are those of {system}"),
        "reset the controller first: no offset of G92 may be left".to_owned(),
        format!("{cutter} in the spindle"),
        "first run in air, a hand at the stop".to_owned(),
        "a simulation proves neither the machine nor the set-up".to_owned(),
    ]
}

/// What is said of cutter, spindle and coolant.
fn switches(modal: &Modal, cutter: Option<u32>) -> Vec<String> {
    let selected = modal.selected.filter(|&number| Some(number) != cutter).map(|number| format!("T{number}"));
    let length = match modal.tool_offset {
        ToolOffset::ByHand => None,
        ToolOffset::None => Some("G49".to_owned()),
        ToolOffset::Of(number) => Some(format!("G43 H{number}")),
    };
    let speed = modal.speed.map(|speed| format!("S{speed}"));
    let turning = match modal.spindle {
        Spindle::Off => None,
        Spindle::Clockwise => Some("M3".to_owned()),
        Spindle::CounterClockwise => Some("M4".to_owned()),
    };
    let coolant = [modal.mist.then(|| "M7".to_owned()), modal.flood.then(|| "M8".to_owned())];
    [selected, length, speed, turning].into_iter().chain(coolant).flatten().collect()
}

/// Up, over, and straight down.
fn approach(job: &Job, taken: &Taken) -> Vec<String> {
    let unit = if taken.modal.inch { 25.4 } else { 1.0 };
    let origin = taken.modal.origin;
    let word = |word: usize, value: f64| {
        format!("{}{}", char::from(AXES[word]), number(value, if word < 3 { unit } else { 1.0 }, origin[word]))
    };
    let safe = match safe_height(job, taken) {
        // A height in round numbers, if it is not where the tip stood.
        safe if safe > taken.place[2] => {
            (((safe - origin[2]) / unit * 1e3 - 1e-6).ceil() / 1e3).mul_add(unit, origin[2])
        }
        safe => safe,
    };
    let over: String =
        commanded(job).filter(|&at| at != 2).map(|at| format!(" {}", word(at, taken.place[at]))).collect();
    let mut lines = vec![format!("G0 {}", word(2, safe)), format!("G0{over}")];
    let down = word(2, taken.place[2]);
    if taken.place[2] < safe {
        let cutter = taken.cutter.and_then(|number| job.scene.cutters.iter().find(|cutter| cutter.number == number));
        let plunge = cutter.and_then(|cutter| cutter.limits.plunge).unwrap_or(PLUNGE);
        lines.push(format!("G1 {down} F{}", trimmed(plunge / unit, 3)));
    }
    if taken.needs_rapid {
        lines.push(format!("G0 {down}"));
    }
    lines
}

/// The modes that the line was written under.
fn modes(taken: &Taken) -> Vec<String> {
    let modal = &taken.modal;
    let displaced: String = (0..6)
        .filter(|&word| taken.displaced[word])
        .map(|word| format!(" {}{}", char::from(AXES[word]), number(taken.shown[word], 1.0, 0.0)))
        .collect();
    let displaced = (!displaced.is_empty()).then(|| format!("G92{displaced}"));
    let plane = match modal.plane {
        Plane::Xy => None,
        Plane::Zx => Some("G18".to_owned()),
        Plane::Yz => Some("G19".to_owned()),
    };
    let feed = if modal.inverse_time { Some("G93".to_owned()) } else { taken.feed.map(|feed| format!("F{feed}")) };
    let given = |on: bool, word: &str| on.then(|| word.to_owned());
    let rest = [given(modal.arc_absolute, "G90.1"), given(modal.retract_to_r, "G99"), given(modal.incremental, "G91")];
    let limits = [path_control(modal), given(!modal.overrides, "M49")];
    [displaced, plane, feed].into_iter().chain(limits).chain(rest).flatten().collect()
}

/// How corners are taken.
fn path_control(modal: &Modal) -> Option<String> {
    let unit = if modal.inch { 25.4 } else { 1.0 };
    match modal.path_control {
        PathControl::Unsaid => None,
        PathControl::ExactPath => Some("G61".to_owned()),
        PathControl::ExactStop => Some("G61.1".to_owned()),
        PathControl::Blend(tolerances) => {
            let words = ['P', 'Q'].into_iter().zip(tolerances);
            let words = words.filter_map(|(letter, mm)| Some(format!(" {letter}{}", number(mm?, unit, 0.0))));
            Some(words.fold("G64".to_owned(), |code, word| code + &word))
        }
    }
}

/// The number of a word that is read back as the very same place, in as few digits as that takes where it can be had.
fn number(place: f64, unit: f64, origin: f64) -> String {
    let value = (place - origin) / unit;
    let texts = (0..=12).map(|decimals| trimmed(value, decimals));
    let is_same = |text: &String| text.parse::<f64>().is_ok_and(|read| read * unit + origin == place);
    texts.into_iter().find(is_same).unwrap_or_else(|| format!("{value}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_back_as_they_were() {
        let mm = |place| number(place, 1.0, 0.0);
        assert_eq!([mm(54.5), mm(-0.0), mm(8730.0), number(0.1 + 0.2, 1.0, 0.2)], ["54.5", "0", "8730", "0.1"]);
        for value in [1.58 * 25.4, 25.4 / 3.0, 0.1 + 0.2] {
            let text = number(value, 25.4, 0.0);
            assert!((text.parse::<f64>().unwrap() * 25.4 - value).abs() < 1e-14, "{text}");
        }
    }
}
