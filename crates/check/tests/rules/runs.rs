//! What holds of a whole run: the same for any number of threads, units, unknown places, jobs that are quiet.

use crate::common::{assert_near, found, job, one, run};
use dryturn_check::{CarveError, Proof, RunOptions, Severity, Verdict, prove};

/// A square bar between chuck and center with something for nearly every rule.
const BUSY: &str = "blank = { shape = \"square\", across_flats = 30, length = 100 }
    grid = { pitch = 1 }
    cutter = [{ diameter = 6, flute = 8, shank = 8, stickout = 25, holder = [[30, 20]] }, { diameter = 4 }]
    chuck = { hold = 15, body = { diameter = 80, length = 45 }, jaws = { count = 4, width = 14, length = 22, height = 18 } }
    tailstock = { center = { diameter = 12, quill = 16, extension = 4 }, dimple = 2 }
    [machine]
    reach = { x = [-3, 90], z = [0, 60] }
    start = { x = 50, y = 0, z = 30, a = 0 }";

fn busy_programs() -> Vec<String> {
    let mut helix = "G0 Z24\nX5 A0\nG1 Z13\nF900\nM3 S9000\n".to_owned();
    (1..=600).for_each(|k| helix.push_str(&format!("X{:.3} A{}\n", 5.0 + 0.13 * f64::from(k), 7 * k)));
    helix.push_str("G0 X20 Z8\nZ30\nT2 M6\nG1 Z29\nM3\nX40\n");
    let across = "M3 S9000\nT1 M6\nG0 Z30\nX20 Y-20\nG1 Z-2 F500\nY20 A-90\nG0 X-5 Z-3\nZ40\n".to_owned();
    vec![helix, across]
}

fn told(proof: &Proof) -> String {
    format!("{:?}\n{:#?}\n{:#?}\n{:#?}", proof.verdict, proof.findings, proof.clearances, proof.programs)
}

#[test]
fn a_run_does_not_depend_on_its_threads() {
    let programs = busy_programs();
    let programs: Vec<&str> = programs.iter().map(String::as_str).collect();
    let job = job(BUSY, &programs);
    let with = |threads: usize| prove(&job, &RunOptions { threads, ..RunOptions::default() }).unwrap();
    let one = with(1);
    let rules: std::collections::BTreeSet<&str> = one.findings.iter().map(|finding| finding.rule).collect();
    assert!(rules.len() >= 9, "{rules:?}");
    for threads in [2, 7] {
        let other = with(threads);
        let (other_told, one_told) = (told(&other), told(&one));
        let differs = other_told.lines().zip(one_told.lines()).find(|(a, b)| a != b);
        assert_eq!((differs, other_told.len()), (None, one_told.len()), "{threads} threads");
        assert_eq!(other.carved.left_mm3(), one.carved.left_mm3());
        assert!(other.carved.grid() == one.carved.grid());
    }
}

#[test]
fn findings_of_one_rule_come_in_the_order_of_their_programs_and_lines() {
    let programs = busy_programs();
    let programs: Vec<&str> = programs.iter().map(String::as_str).collect();
    let proof = run(&job(BUSY, &programs));
    for rule in ["rapid-in-blank", "past-axis", "cuts-nothing", "spindle-still", "no-feed"] {
        let at: Vec<_> = proof.findings.iter().filter(|f| f.rule == rule).map(|f| (f.program, f.lines)).collect();
        assert!(at.is_sorted(), "{rule}: {at:?}");
    }
}

const PLAIN: &str = "blank = { diameter = 40, length = 100 }
    grid = { pitch = 1 }
    cutter = [{ diameter = 6, flute = 20, stickout = 50, holder = [[30, 20]] }]
    chuck = { hold = 20, body = { diameter = 80, length = 45 } }
    zero = { x = 10, z = 20, a = 5 }";

#[test]
fn an_inch_program_is_shown_in_inches() {
    let finding = one("rapid-in-blank", PLAIN, &["G20 M3 S9000\nG0 X1 Y0 Z1 A0\nG0 Z-0.1 A0\nG0 Z1\n"]);
    assert_eq!((finding.severity, finding.lines, finding.unit), (Severity::Error, Some((3, 3)), Some("mm")));
    assert_near(finding.value.unwrap(), 2.5, 0.05);
    let at = finding.place.unwrap();
    assert_near(at.station_mm, 35.4, 0.5);
    let shown = at.shown.unwrap();
    assert_near(shown.x, 1.0, 1e-9);
    assert_near(shown.z, -0.1, 1e-9);
    assert_near(shown.a.unwrap(), 0.0, 1e-9);
}

#[test]
fn what_moves_from_an_unknown_place_gives_no_finding() {
    // The first block comes from nowhere and ends deep in the wood; from there on all is known.
    let program = "M3 S9000\nG0 X20 Y0 Z-10 A0\nG0 Z30\nX30\n";
    let proof = run(&job(PLAIN, &[program]));
    let rapids: Vec<_> = proof.findings.iter().filter(|f| f.rule == "rapid-in-blank").collect();
    assert_eq!(rapids.len(), 1, "{rapids:#?}");
    assert_eq!((rapids[0].lines, rapids[0].severity), (Some((3, 3)), Severity::Error));
    assert!(proof.not_checked.iter().any(|row| row.what.contains("unknown places")));
}

#[test]
fn a_wrapped_word_shows_no_rotary_word() {
    let wrapped = format!("{PLAIN}\n[machine]\nrotary = \"Y\"\nwrap_diameter = 40\nstart = {{ x = 0, y = 0, z = 30 }}");
    let quarter = std::f64::consts::PI * 10.0;
    let finding = one("rapid-in-blank", &wrapped, &[&format!("M3 S9000\nG0 Y{quarter:.4}\nX20\nZ-2\nZ30\n")]);
    let at = finding.place.unwrap();
    // θ on top = zero.a − 360·Y / (π · 40).
    let off = (at.angle_deg - (365.0 - 90.0)).abs();
    assert!(off < 4.0, "{at:?}");
    let shown = at.shown.unwrap();
    assert_eq!(shown.a, None);
    assert_near(shown.y, quarter, 1e-3);
}

#[test]
fn a_long_block_shows_where_the_cutter_stood_over_the_place() {
    // Ten turns in one rapid, at a depth; the worst place is met somewhere on the way.
    let program = "M3 S9000\nG0 X20 Y0 Z20 A0\nG1 Z-1 F300\nG0 X60 A3600\nG0 Z30\n";
    let finding = one("rapid-in-blank", PLAIN, &[program]);
    let at = finding.place.unwrap();
    let shown = at.shown.unwrap();
    let turns = (shown.a.unwrap() + 5.0 - at.angle_deg) / 360.0;
    assert!((turns - turns.round()).abs() < 1e-9, "{at:?}");
    assert!((shown.x + 10.0 - at.station_mm).abs() <= 2.01, "{at:?}");
}

/// A job in order: chuck, center, all known.
fn quiet(program: &str) -> Proof {
    let scene = "blank = { diameter = 40, length = 150 }
        grid = { pitch = 1 }
        cutter = [{ diameter = 6, flute = 30, stickout = 45, holder = [[30, 20]] }]
        chuck = { hold = 25, body = { diameter = 80, length = 45 }, jaws = { count = 3, width = 14, length = 22, height = 18 } }
        tailstock = { center = { diameter = 12, quill = 16, extension = 3 }, dimple = 2 }
        machine = { bed = 75, feed_counts = \"linear\", start = { x = 60, y = 0, z = 30, a = 0 } }";
    run(&job(scene, &[&format!("{program}M30\n")]))
}

#[test]
fn good_jobs_are_clear() {
    for program in [
        // Cross holes right through, pecked.
        "M3 S9000\nG0 Z22\nG1 Z0 F200\nG0 Z22\nG1 Z-22\nG0 Z22\nA90\nG1 Z-22\nG0 Z22\nM5\n",
        // Flats with the blank still.
        "M3 S9000\nG0 Z22\nY-25\nG1 Z17 F500\nY25\nG0 Z22\nA120\nG1 Z17\nY-25\nG0 Z22\n",
        // A helix of a hundred turns in one block, in inverse time.
        "M3 S9000\nG0 Z22\nG1 Z19 F300\nG93\nG1 X90 A36000 F0.02\nG94\nG0 Z22\n",
        // Rapids over a finished cylinder at its height and a hair.
        "M3 S9000\nG0 Z22\nG1 Z18 F300\nX90 A3600\nG0 Z18.05\nX60\nG0 Z22\n",
        // Retracts along the wall of a slot it has cut.
        "M3 S9000\nG0 Z22\nG1 Z10 F300\nX80\nG0 Z22\nX60\nG0 Z10\nG1 Z8\nX80\nG0 Z22\n",
        // Zeroed again at a whole turn.
        "M3 S9000\nG0 Z22\nG1 Z18 F300\nX70 A3600 F60\nG92 A0\nX80 A360\nG0 Z22\n",
    ] {
        let proof = quiet(program);
        let loud: Vec<_> = proof.findings.iter().filter(|f| f.severity != Severity::Note).collect();
        assert!(loud.is_empty(), "{program}{loud:#?}");
        assert_eq!(proof.verdict, Verdict::Clear, "{program}");
    }
}

#[test]
fn extents_hold_the_swing_of_an_arc() {
    let proof = quiet("M3 S9000\nG0 Z22\nG1 F500\nG2 X60 Y0 I10 J0\nG0 Z25\n");
    let [x, y, z, turn] = proof.programs[0].extents.unwrap();
    assert_near(x[0], 60.0, 1e-9);
    assert_near(x[1], 80.0, 1e-9);
    assert_near(y[0], -10.0, 1e-9);
    assert_near(y[1], 10.0, 1e-9);
    assert_eq!((z, turn), ([22.0, 30.0], [0.0, 0.0]));
    assert_eq!(proof.programs[0].moving, 3);
}

#[test]
fn no_rule_repeats_itself_over_many_programs_and_cutters() {
    // Two programs, two cutters, the same fault in each: one finding a program and cutter.
    let scene = PLAIN.replace("cutter = [", "cutter = [{ diameter = 4, flute = 20, number = 2 }, ");
    let scene = scene.replace("diameter = 6, flute", "number = 1, diameter = 6, flute");
    let program = "M3 S9000\nT1 M6\nM3\nG0 X20 Y0 Z20 A0\nX20 Z-2\nX30\nZ20\nT2 M6\nM3\nX50\nZ-2\nX60\nZ20\n";
    let found = found("rapid-in-blank", &scene, &[program, &program.replace("Z-2", "Z-4")]);
    let told: Vec<_> = found.iter().map(|f| (f.program.unwrap(), f.cutter.unwrap())).collect();
    assert_eq!(told, [(0, 1), (0, 2), (1, 1), (1, 2)]);
}

#[test]
fn a_run_that_is_told_to_end_ends() {
    let told = std::sync::atomic::AtomicBool::new(false);
    let once_carved = |share: f64| told.store(share >= 1.0, std::sync::atomic::Ordering::Relaxed);
    let options = RunOptions { cancel: Some(&told), progress: Some(&once_carved), ..RunOptions::default() };
    let ended = prove(&job(PLAIN, &["M3 S9000\nG0 X20 Y0 Z20 A0\n"]), &options);
    assert!(matches!(ended, Err(CarveError::Cancelled)));
}
