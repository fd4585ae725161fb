//! `pushed-off`, `thin-neck`.

use std::f64::consts::PI;

use crate::common::{assert_near, job, job_of, one, place, run, silent};
use dryturn_check::Severity;

/// A walnut rod in a chuck, so much of it free, and a flat cutter of 6 whose stickout nobody knows.
fn rod(diameter: f64, length: f64, more: &str) -> String {
    format!(
        "blank = {{ diameter = {diameter}, length = {}, material = \"black walnut\" }}
        grid = {{ pitch = 0.5 }}
        machine = {{ start = {{ x = 0, y = 0, z = 60, a = 0 }} }}
        chuck = {{ hold = 20 }}
        cutter = [{{ diameter = 6, teeth = 2 }}]
        {more}",
        length + 20.0
    )
}

/// Rings, each given by its station and the height of the tip.
fn rings(rings: &[(f64, f64)]) -> String {
    let ring = |(turn, (x, z)): (usize, &(f64, f64))| {
        format!("G0 X{x}\nG1 Z{z} F40\nG1 A{} F3600\nG0 Z30\n", 360 * (turn + 1))
    };
    format!("M3 S6000\nG0 Z30\n{}", rings.iter().enumerate().map(ring).collect::<String>())
}

const TAILSTOCK: &str = "tailstock = { center = { diameter = 8, quill = 12, extension = 3 } }";

/// A neck of ⌀2 at station 10, and a ring at 70 that is cut after it.
const NECK_FIRST: [(f64, f64); 2] = [(10.0, 1.0), (70.0, 4.0)];

#[test]
fn a_ring_beyond_a_neck() {
    let (scene, first) = (rod(12.0, 80.0, ""), rings(&NECK_FIRST));
    let (pushed, neck) = (one("pushed-off", &scene, &[&first]), one("thin-neck", &scene, &[&first]));
    assert_eq!((pushed.severity, pushed.lines, pushed.blocks), (Severity::Error, Some((8, 9)), 2));
    assert!(pushed.text.contains("cutter not counted"), "{}", pushed.text);
    // Both blocks push too far; the ring at the neck the most.
    assert_eq!(pushed.worst_line, Some(9));
    assert!(
        pushed.text.contains(" at the least, ") && pushed.text.ends_with("; 0.3 mm are allowed."),
        "{}",
        pushed.text
    );
    assert_eq!((neck.severity, neck.lines), (Severity::Error, Some((9, 9))));
    assert!(neck.value.unwrap() < 1.0);
    // The lever is longest at the near end of the neck.
    let (station, _, radius) = place(&neck);
    assert!((7.0..7.5).contains(&station) && (radius - 1.0).abs() < 1e-3, "{neck:?}");
    // The greatest force, from the stress 32 M/π d³ that the strength of 101 MPa is held against.
    let force = 101.0 / neck.value.unwrap() / (32.0 / (PI * 8.0)) / (70.0 - station);
    assert!((1.0..5.0).contains(&force), "{force}");
    // It bends neck and rod: (63³ − 57³)/3EI of one and the rest of 70³ of the other; twist of the neck adds a little.
    let of = |diameter: f64| 3.0 * 11_600.0 * PI / 64.0 * diameter.powi(4);
    let bends = 64_854.0 / of(2.0) + (343_000.0 - 64_854.0) / of(12.0);
    // The neck breaks before: the spring is told up to there, and no farther.
    let share = pushed.value.unwrap() / (force * bends * neck.value.unwrap());
    assert!((1.0..1.06).contains(&share), "{share}");
    assert!(pushed.text.contains(", at which it breaks; "), "{}", pushed.text);
    // Cut last, the neck has nothing to carry.
    let last = rings(&[NECK_FIRST[1], NECK_FIRST[0]]);
    silent("pushed-off", &scene, &[&last]);
    silent("thin-neck", &scene, &[&last]);
}

#[test]
fn a_neck_that_is_sure_to_break() {
    let neck = one("thin-neck", &rod(12.0, 80.0, ""), &[&rings(&[(10.0, 0.5), (70.0, 4.0)])]);
    assert_eq!((neck.severity, neck.lines), (Severity::Error, Some((9, 9))));
    // The same with a center: nothing bends the neck like that.
    silent("thin-neck", &rod(12.0, 80.0, TAILSTOCK), &[&rings(&[(10.0, 1.5), (70.0, 4.0)])]);
    // Thick enough, and thick enough for a factor that is asked for.
    silent("thin-neck", &rod(12.0, 80.0, ""), &[&rings(&[(10.0, 1.6), (70.0, 4.0)])]);
    let careful = rod(12.0, 80.0, "checks = { safety = 4 }");
    assert_eq!(one("thin-neck", &careful, &[&rings(&[(10.0, 1.6), (70.0, 4.0)])]).severity, Severity::Warning);
}

/// A single block that turns the rod down from the holding outward: what it has made thin bears what it cuts next.
#[test]
fn a_neck_that_one_block_makes_and_loads() {
    let outward = |z: f64| format!("M3 S6000\nG0 Z30\nX10\nG1 Z{z} F40\nG1 X70 A{} F60\n", 360 * 20);
    let neck = one("thin-neck", &rod(12.0, 80.0, ""), &[&outward(1.0)]);
    assert_eq!((neck.severity, neck.lines), (Severity::Error, Some((5, 5))));
    // It is thinnest first where the block begins.
    let (station, ..) = place(&neck);
    assert!((7.0..20.0).contains(&station), "{neck:?}");
    silent("thin-neck", &rod(12.0, 80.0, ""), &[&outward(4.0)]);
}

/// Four flats 1 mm over the axis leave a square of the side 2, which is weakest over its corners: s³/6√2 beside the π d³/32
/// of a round.
#[test]
fn a_neck_that_is_not_round() {
    let flat = |quarter: u32| format!("G0 Y10\nZ1\nA{}\nG1 Y-10 F600\nG0 Z30\n", 90 * quarter);
    let flats: String = (0..4).map(flat).collect();
    let square = format!("M3 S6000\nG0 Z30\nX10\n{flats}G0 Y0\nX70\nG1 Z4 F40\nG1 A630 F3600\nG0 Z30\n");
    let scene = rod(12.0, 80.0, "");
    let [square, round] =
        [square, rings(&NECK_FIRST)].map(|program| one("thin-neck", &scene, &[&program]).value.unwrap());
    assert_near(square / round, (8.0 / (6.0 * 2f64.sqrt())) / (PI * 8.0 / 32.0), 0.03);
}

#[test]
fn a_slender_rod() {
    let ring = rings(&[(140.0, 4.0)]);
    let allowed = |spring: f64| format!("checks = {{ spring = {spring} }}");
    let pushed = one("pushed-off", &rod(12.0, 150.0, &allowed(0.1)), &[&ring]);
    assert_eq!((pushed.severity, pushed.lines, pushed.unit), (Severity::Warning, Some((5, 5)), Some("mm")));
    assert_near(pushed.value.unwrap(), 0.16, 0.02);
    assert_eq!(one("pushed-off", &rod(12.0, 150.0, &allowed(0.01)), &[&ring]).severity, Severity::Error);
    // Thicker, held by a center, allowed, or of nobody knows what.
    silent("pushed-off", &rod(20.0, 150.0, &allowed(0.1)), &[&rings(&[(140.0, 9.0)])]);
    silent("pushed-off", &rod(12.0, 150.0, &format!("{TAILSTOCK}\n{}", allowed(0.1))), &[&ring]);
    silent("pushed-off", &rod(12.0, 150.0, ""), &[&ring]);
    silent(
        "pushed-off",
        &rod(12.0, 150.0, &allowed(0.01))
            .replace("black walnut", "mystery")
            .replace("material = \"mystery\"", "material = { density = 600 }"),
        &[&ring],
    );
}

/// What a thin cutter adds is told too.
#[test]
fn a_cutter_that_bends() {
    let scene = rod(12.0, 40.0, "checks = { spring = 0.02 }");
    let ring = rings(&[(20.0, 4.0)]);
    silent("pushed-off", &scene, &[&ring]);
    let long = scene.replace("teeth = 2", "teeth = 2, flute = 20, stickout = 80");
    let pushed = one("pushed-off", &long, &[&ring]);
    // F (L − a/2)³/3EI, of high-speed steel, flutes at 0.8 of their diameter up to 20.
    let of = |diameter: f64| 3.0 * 210_000.0 * PI / 64.0 * diameter.powi(4);
    let bends = 8000.0 / of(4.8) + (512_000.0 - 8000.0) / of(6.0);
    assert!((1.0..4.0).contains(&(pushed.value.unwrap() / bends)), "{pushed:?}");
    assert!(pushed.text.contains("wood and cutter"), "{}", pushed.text);
}

#[test]
fn the_tab_of_a_part() {
    let scene = |parts: &str| {
        format!("format = 1\n{}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\nparts = {{ {parts} }}", rod(12.0, 80.0, ""))
    };
    let tabs = |parts: &str, program: &str| {
        let findings = run(&job_of(&scene(parts), &[program])).findings;
        findings.into_iter().filter(|finding| finding.rule == "thin-neck").collect::<Vec<_>>()
    };
    let ring = rings(&[(70.0, 4.0), (10.0, 1.5)]);
    let found = tabs("min_tab = 5", &ring);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].severity, found[0].lines), (Severity::Warning, Some((9, 9))));
    assert_near(found[0].value.unwrap(), 3.0, 0.01);
    assert!((7.0..13.0).contains(&place(&found[0]).0));
    assert_eq!(tabs("min_tab = 2.9", &ring), []);
    // Where parting is meant a neck is: what it carries is not told. What is not parted has to bear its cuts all the same.
    assert_eq!(tabs("", &rings(&NECK_FIRST)), []);
    let slender = rings(&[(10.0, 3.2), (70.0, 1.0)]);
    assert_eq!(tabs("", &slender).len(), 0);
    let heavy = scene("").replace(
        "\"black walnut\"",
        "{ density = 600, cutting = [400, 900], modulus = 11600, bending = 101, shear = 9.4 }",
    );
    let found = run(&job_of(&heavy, &[&slender])).findings.into_iter().filter(|finding| finding.rule == "thin-neck");
    let stations: Vec<f64> = found.map(|finding| place(&finding).0).collect();
    assert!(stations.iter().any(|station| (5.0..20.0).contains(station)), "{stations:?}");
    assert!(stations.iter().all(|station| *station < 60.0), "{stations:?}");
    // A tab that is to stay has to bear what is cut beyond it, as any neck.
    let kept = tabs("min_tab = 1.9", &rings(&NECK_FIRST));
    assert_eq!((kept.len(), kept[0].severity, kept[0].lines), (1, Severity::Error, Some((9, 9))));
    assert_eq!(tabs("min_tab = 1.9", &rings(&[NECK_FIRST[1], NECK_FIRST[0]])), []);
    // The end of the rod is no tab, however thin.
    assert_eq!(tabs("min_tab = 5", &rings(&[(77.0, 1.5), (70.0, 4.0)])), []);
}

/// Of wood that is cut through while it holds what is cut no stress is told: there is none to tell.
#[test]
fn what_is_cut_through_breaks_before() {
    let neck = one("thin-neck", &rod(12.0, 80.0, ""), &[&rings(&[(40.0, 0.0)])]);
    assert!(
        neck.text.ends_with("is cut away to nothing while it holds what is cut: it breaks before."),
        "{}",
        neck.text
    );
    assert_eq!(neck.severity, Severity::Error);
}

/// What is parted has to keep its place no longer. What is yet to be has, and all beside it.
#[test]
fn parting_off_may_spring() {
    let scene = |parts: &str| {
        let rod = rod(12.0, 80.0, "checks = { spring = 0.005 }");
        format!("format = 1\n{rod}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\n{parts}")
    };
    let pushed = |parts: &str, program: &str| {
        let findings = run(&job_of(&scene(parts), &[program])).findings;
        findings.into_iter().filter(|finding| finding.rule == "pushed-off").collect::<Vec<_>>()
    };
    let lines = |parts: &str, program: &str| {
        pushed(parts, program).iter().map(|finding| finding.lines.expect("lines")).collect::<Vec<_>>()
    };
    // The first ring leaves less than a quarter, and meets the whole rod.
    let groove = rings(&[(60.0, 2.9), (60.0, 1.0)]);
    assert_eq!((lines("parts = {}", &groove), lines("", &groove)), (vec![(4, 5)], vec![(4, 8)]));
    let [meets, leaves] = ["parts = {}", ""].map(|parts| pushed(parts, &rings(&[(60.0, 2.9)]))[0].value.unwrap());
    assert!(meets > 0.005 && meets < leaves, "{meets} {leaves}");
    assert!(!pushed("parts = {}", &rings(&[(40.0, 1.0), (60.0, 4.0)])).is_empty());
    // A ring that goes to the axis but for a stub: of it as much is told as is cut while more than a quarter holds.
    let deep = rings(&[(60.0, 1.0)]);
    assert_eq!((lines("parts = {}", &deep), lines("", &deep)), (vec![(4, 4)], vec![(4, 5)]));
    let tighter = job_of(&scene("parts = {}").replace("0.005", "0.003"), &[&deep]);
    let told = run(&tighter).findings.into_iter().find(|finding| finding.rule == "pushed-off").expect("it springs");
    assert_eq!(told.lines, Some((4, 5)));
    // A groove wider than the cutter is parted once it is anywhere.
    let wide = rings(&[(60.0, 1.0), (63.0, 1.0)]);
    assert!(lines("parts = {}", &wide).iter().all(|lines| lines.1 <= 5));
    assert_eq!(lines("", &wide), [(4, 9)]);
}

/// A motion as so many lines of equal length: from station 190 to 10 while the blank turns so often.
fn in_lines(count: u32, turns: f64, height: f64) -> String {
    let line = |k: u32| {
        let share = f64::from(k) / f64::from(count);
        format!("X{:.4} A{:.4}\n", 190.0 - 180.0 * share, 360.0 * turns * share)
    };
    format!("M3 S12000\nG0 Z30\nX190\nG1 Z{height} F60\nF600\n{}G0 Z30\n", (1..=count).map(line).collect::<String>())
}

/// A slot along the rod, a long groove and facing, from the free end inward: where the cutter stands the rod springs by what is
/// cut behind it, not by what is yet to be cut, and what is thin bears what comes after it. How many lines say so does not
/// matter, to a twentieth.
#[test]
fn a_motion_is_the_same_in_any_number_of_lines() {
    for holding in ["", TAILSTOCK] {
        let scene = rod(16.0, 200.0, &format!("checks = {{ safety = 300, spring = 100 }}\n{holding}"));
        for (name, turns, height) in [("slot", 0.0, 2.0), ("groove", 6.0, 5.0), ("facing", 60.0, 5.5)] {
            let told = |count: u32| {
                let proof = run(&job(&scene, &[&in_lines(count, turns, height)]));
                let spring = proof.told.loads.spring.expect("a spring").range[1];
                let necks = proof.findings.iter().filter(|found| found.rule == "thin-neck");
                [spring, necks.filter_map(|found| found.value).fold(f64::INFINITY, f64::min)]
            };
            let [one, seven, fifty] = [1, 7, 50].map(told);
            for k in 0..2 {
                let off = [one, seven].map(|some| (some[k] / fifty[k] - 1.0).abs());
                assert!(off.iter().all(|off| *off < 0.05), "{name}, {holding}: {one:?} {seven:?} {fifty:?}");
            }
        }
    }
}

/// The way that a program goes on from such a neck: a slot or a helix beyond it, in so many lines.
fn beyond(turns: f64, height: f64, count: u32) -> String {
    let line = |k: u32| {
        let share = f64::from(k) / f64::from(count);
        format!("X{:.4} A{:.4}\n", 75.0 - 50.0 * share, 1440.0 + 360.0 * turns * share)
    };
    format!("G0 X75 A1440\nG1 Z{height} F40\nF1500\n{}G0 Z30\n", (1..=count).map(line).collect::<String>())
}

/// A neck that is sunk spirally and not turned clean, one with wood left standing on one side, one that a helical groove makes:
/// its weakest section is told, however many lines say what is cut beyond it.
#[test]
fn a_neck_that_is_not_clean_is_as_weak_in_any_number_of_lines() {
    let necks = [
        ("sunk spirally", "G1 Z6 F40\nF3600\nZ1 A720\n"),
        ("with remains", "G1 Z1 F40\nA300 F3600\n"),
        ("grooved", "X30\nG1 Z2 F40\nF3600\nX6 A1440\n"),
    ];
    for (name, neck) in necks {
        for (turns, height) in [(0.0, 2.0), (10.0, 3.0)] {
            let told = |count: u32| {
                let beyond = beyond(turns, height, count);
                let program = format!("M3 S6000\nG0 Z30\nX10\n{neck}G0 Z30\n{beyond}");
                let proof =
                    run(&job(&rod(12.0, 80.0, &format!("checks = {{ safety = 6 }}\n{TAILSTOCK}")), &[&program]));
                let necks = proof.findings.iter().filter(|found| found.rule == "thin-neck");
                necks.filter_map(|found| found.value).fold(f64::INFINITY, f64::min)
            };
            let [one, seven, fifty] = [1, 7, 50].map(told);
            let off = [one, seven].map(|some| (some / fifty - 1.0).abs());
            assert!(off.iter().all(|off| *off < 0.05), "{name}, {turns}: {one} {seven} {fifty}");
        }
    }
}

/// Of a neck that is sunk over two turns and ends anywhere, the weakest section is that at the edge of what the last turn took: there
/// torque meets the corner of a step. Told by the section with the least wood it would be half as weak.
#[test]
fn the_section_with_the_least_wood_need_not_be_the_weakest() {
    let twisted = "{ density = 600, cutting = [15, 25], modulus = 11600, shear = 9.4 }";
    let scene = rod(12.0, 80.0, "").replace("\"black walnut\"", twisted);
    let program = format!("M3 S6000\nG0 Z30\nX10\nG1 Z6 F40\nF3600\nZ1 A720\nG0 Z30\n{}", beyond(0.0, 2.0, 1));
    let neck = one("thin-neck", &scene, &[&program]);
    assert!(place(&neck).0 < 8.0 && neck.value.unwrap() < 1.1, "{neck:?}");
}

/// What pushes too far for sure and what breaks are told of a slot beyond a neck, in however many lines it is cut.
#[test]
fn what_breaks_is_told_in_any_number_of_lines() {
    let told = |count: u32| {
        let line = |k: u32| format!("X{:.4}\n", 75.0 - 71.0 * f64::from(k) / f64::from(count));
        let slot: String = (1..=count).map(line).collect();
        let program = format!("{}G0 X75\nG1 Z5 F40\nF600\n{slot}G0 Z30\n", rings(&[(10.0, 1.0)]));
        let pushed = one("pushed-off", &rod(12.0, 80.0, ""), &[&program]);
        (pushed.severity, pushed.text.contains(", at which it breaks; "))
    };
    assert_eq!([1, 7, 50].map(told), [(Severity::Error, true); 3]);
}

/// In one line from the free end inward the slot lies beyond the cutter: what bends under it is the whole round, by
/// F s³/3EI (any handbook), and a little more where the cutter stands and by twisting.
#[test]
fn a_slot_bends_what_it_has_not_reached() {
    let proof = run(&job(&rod(16.0, 200.0, "checks = { spring = 100 }"), &[&in_lines(1, 0.0, 2.0)]));
    let moments = &proof.told.series.moments;
    let start = moments.iter().find(|moment| moment.block == 3).expect("the slot").time_s;
    let mut looked = 0;
    for moment in moments.iter().filter(|moment| (3.0..12.0).contains(&(moment.time_s - start))) {
        // 600 mm/min from 190 inward.
        let station = 190.0 - 10.0 * (moment.time_s - start);
        let main = moment.force.expect("a force")[1];
        let bends = main.hypot(0.6 * main) * station.powi(3) / (3.0 * 11_600.0 * PI / 64.0 * 16f64.powi(4));
        let ratio = moment.spring.expect("a spring")[1] / bends;
        // Strokes of 6 mm are told as one.
        assert!((0.92..1.3).contains(&ratio), "{station}: {ratio}");
        looked += 1;
    }
    assert!(looked > 50, "{looked}");
}
