//! `wound-up`.

use crate::common::{assert_finding, assert_near, found, one, silent};
use dryturn_check::Severity;

fn scene(machine: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 40 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6 }}]
        [machine]
        {machine}
        start = {{ x = 10, y = 0, z = 50, a = 0 }}"
    )
}

#[test]
fn a_program_that_ends_wound_up_tells_where_the_word_stands() {
    let finding = one("wound-up", &scene(""), &["M3 S9000\nG1 Z19 F300\nA2520\nG0 Z50\n"]);
    assert_finding(&finding, Severity::Note, (4, 4), 7.0, 1e-9);
    assert_eq!(finding.unit, Some("turns"));
    assert_eq!(finding.text, "A stands at 2520° (7 turns) at the end.");
    let part = one("wound-up", &scene("rotary = \"B\"\nturns = \"reversed\""), &["G0 B-8730\n"]);
    assert_eq!(part.text, "B stands at -8730° (-24.25 turns) at the end.");
    silent("wound-up", &scene(""), &["G0 A719\n"]);
    silent("wound-up", &scene(""), &["G0 A2520\nA0\n"]);
}

#[test]
fn turns_count_from_the_words_zero_and_not_from_the_start() {
    let wound = scene("").replace("a = 0", "a = 3600");
    silent("wound-up", &wound, &["G0 A360\n"]);
    let finding = one("wound-up", &wound, &["G0 A3720\n"]);
    assert_eq!(finding.text, "A stands at 3720° (10.33 turns) at the end.");
    // Zeroed again at the end, it stands at nought.
    silent("wound-up", &scene(""), &["G0 A2520\nG92 A0\n"]);
    let again = found("wound-up", &scene(""), &["G0 A2520\nG92 A0\n", "G0 A5040\n"]);
    let told: Vec<_> = again.iter().map(|f| (f.program.unwrap(), f.value.unwrap())).collect();
    assert_eq!(told, [(1, 14.0)], "{again:#?}");
}

#[test]
fn the_second_program_goes_on_where_the_first_ended() {
    let found = found("wound-up", &scene(""), &["G0 A1080\n", "G0 A1440\nX20\n"]);
    let told: Vec<_> = found.iter().map(|f| (f.program.unwrap(), f.value.unwrap())).collect();
    assert_eq!(told, [(0, 3.0), (1, 4.0)]);
}

#[test]
fn turning_back_for_more_than_five_minutes() {
    let back = |turns: u32, move_back: &str| format!("G0 A{}\n{move_back}\n", turns * 360);
    // 3600°/min: ten turns a minute.
    let finding = one("wound-up", &scene(""), &[&back(60, "G0 A0")]);
    assert_finding(&finding, Severity::Warning, (2, 2), 6.0, 1e-9);
    assert!(finding.text.contains("60 turns") && finding.text.contains("6.0 minutes"), "{}", finding.text);
    silent("wound-up", &scene(""), &[&back(50, "G0 A0")]);
    silent("wound-up", &scene("rapid = { a = 7200 }"), &[&back(60, "G0 A0")]);
    // A feed that counts degrees where nothing else moves is slower still.
    assert_near(one("wound-up", &scene(""), &[&back(20, "G1 A0 F1000")]).value.unwrap(), 7.2, 1e-6);
    silent("wound-up", &scene(""), &[&back(20, "G1 A0 F1500")]);
    assert_near(one("wound-up", &scene(""), &[&back(20, "G93 G1 A0 F0.125")]).value.unwrap(), 8.0, 1e-6);
    // Winding on is not turning back, nor is a pass that cuts.
    assert_eq!(one("wound-up", &scene(""), &["G0 A36000\n"]).severity, Severity::Note);
    silent("wound-up", &scene(""), &["G0 A36000\nM3 S9000\nG1 Z19 F300\nG93 G1 X20 A0 F0.1\n"]);
}

#[test]
fn numbers_of_32_bits_run_out() {
    // From 524288 on they step by 1/16 degree, which is 0.0218 mm at a radius of 20.
    let step = 0.0625f64.to_radians() * 20.0;
    let found = found("wound-up", &scene(""), &["G0 A720000\n"]);
    let warning = found.iter().find(|finding| finding.severity == Severity::Warning).unwrap();
    assert_finding(warning, Severity::Warning, (1, 1), step, 1e-9);
    assert_eq!(found.len(), 2);
    assert_eq!(one("wound-up", &scene(""), &["G0 A500000\n"]).severity, Severity::Note);
    let wide = format!("controller = {{ numbers = \"f64\" }}\n{}", scene(""));
    assert_eq!(one("wound-up", &wide, &["G0 A720000\n"]).severity, Severity::Note);
}

#[test]
fn a_linear_word_that_turns_the_blank_does_not_wind_up() {
    let wrapped = scene("rotary = \"Y\"\nwrap_diameter = 40");
    silent("wound-up", &wrapped, &["G0 Y9000\nG1 Y0 F100\n"]);
}
