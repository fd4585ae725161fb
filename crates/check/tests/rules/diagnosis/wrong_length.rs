//! `wrong-length`.

use crate::common::{job_with, one, run, silent};
use dryturn_check::Severity;

fn scene() -> String {
    "blank = { diameter = 40, length = 120 }
        grid = { pitch = 1 }
        controller = { tool_length = \"table\" }
        cutter = [{ number = 1, diameter = 6, stickout = 40 }, { number = 2, diameter = 4, stickout = 30 }]
        machine = { start = { x = 50, y = 0, z = 100, a = 0 } }"
        .to_owned()
}

const TWO: &str =
    "M3 S9000\nG43 H1\nG0 Z30\nG1 Z18 F300\nA360\nG0 Z30\nM5\nT2 M6\nM3\nG43 H2\nG0 Z30\nX70\nG1 Z18\nA720\nG0 Z30\n";

#[test]
fn the_length_of_another_cutter() {
    let finding = one("wrong-length", &scene(), &[&TWO.replace("H2", "H1")]);
    assert_eq!((finding.severity, finding.program, finding.lines), (Severity::Error, Some(0), Some((10, 10))));
    assert_eq!(
        finding.text,
        "The length of cutter 1 is used, but cutter 2 is in the spindle; its tip stands 10.00 mm higher than Z says."
    );
    assert_eq!((finding.value, finding.unit), (Some(10.0), Some("mm")));
    // The tip hangs ten millimetres higher than the word says.
    let at = finding.place.unwrap();
    assert_eq!((finding.cutter, at.station_mm, at.radius_mm, at.shown.unwrap().z), (Some(2), 70.0, 40.0, 30.0));
    silent("wrong-length", &scene(), &[TWO]);
    // The cutter in the spindle is meant where no number is given.
    silent("wrong-length", &scene(), &[&TWO.replace("G43 H2", "G43")]);
}

#[test]
fn with_its_own_length_the_piece_fits() {
    // Two rings; under the wrong length the second is cut in air.
    let rings = "station,radius\n40,20\n46.99,20\n47,18\n53,18\n53.01,20\n67.99,20\n68,18\n72,18\n72.01,20\n80,20\n";
    let target = format!(
        "format = 1\n{}\ntarget = {{ file = \"rings.csv\" }}\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]\n",
        scene()
    );
    let found = |program: &str| {
        let proof = run(&job_with(&target, &[program], &[("rings.csv", rings)]));
        proof.findings.into_iter().filter(|finding| finding.rule == "wrong-length").collect::<Vec<_>>()
    };
    let wrong = found(&TWO.replace("H2", "H1"));
    assert_eq!(wrong.len(), 1, "{wrong:#?}");
    assert!(wrong[0].text.contains("with its own length it would leave"), "{}", wrong[0].text);
    assert_eq!(found(TWO), []);
}

#[test]
fn a_cutter_changed_under_the_length_of_the_one_before() {
    let finding = one("wrong-length", &scene(), &[&TWO.replace("G43 H2\n", "")]);
    assert_eq!((finding.severity, finding.lines), (Severity::Error, Some((12, 12))));
    // Moves along and across until the new length is called do no harm.
    silent("wrong-length", &scene(), &[&TWO.replace("G43 H2\n", "G0 X60\nG43 H2\n")]);
}

#[test]
fn cutters_zeroed_by_hand_have_no_length() {
    let by_hand = TWO.replace("G43 H1\n", "").replace("G43 H2\n", "");
    silent("wrong-length", &scene(), &[&by_hand]);
}
