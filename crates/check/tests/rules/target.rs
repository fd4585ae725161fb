//! `gouge`, `leftover`, `blank-too-small`.

use crate::common::{assert_finding, assert_near, job_with, place, run};
use dryturn_check::{Finding, Proof, RunOptions, Severity, prove};

/// Turns the stations 17 to 63 of a bar of ⌀40 × 120 down to a radius of 15 with a cutter of ⌀6.
const TURN: &str = "M3 S9000\nG0 Z40\nG0 X20\nG1 Z15 F600\nG1 A360\nG1 X60 A5160\nA5520\nG0 Z40\n";

/// The piece that makes, as a profile.
const PIECE: &str = "0,20\n17,20\n17,15\n63,15\n63,20\n110,20\n";

fn scene(target: &str, cutter: &str) -> String {
    format!(
        "format = 1
        blank = {{ diameter = 40, length = 120 }}
        chuck = {{ hold = 10 }}
        grid = {{ pitch = 1 }}
        cutter = [{{ diameter = 6, {cutter} }}]
        program = [{{ file = \"1.nc\", cutter = 1 }}]
        [machine]
        start = {{ x = 20, y = 0, z = 60, a = 0 }}
        [target]
        {target}"
    )
}

fn proof(target: &str, profile: &str) -> Proof {
    let scene = scene(&format!("file = \"p.csv\"\n{target}"), "flute = 20");
    run(&job_with(&scene, &[TURN], &[("p.csv", profile)]))
}

fn beside(proof: &Proof) -> Vec<&Finding> {
    proof.findings.iter().filter(|f| ["gouge", "leftover", "blank-too-small"].contains(&f.rule)).collect()
}

#[track_caller]
fn one(target: &str, profile: &str, rule: &str, severity: Severity, value: f64) -> Finding {
    let proof = proof(target, profile);
    let found = beside(&proof);
    assert_eq!(found.len(), 1, "{found:#?}");
    let finding = found[0];
    assert_eq!((finding.rule, finding.severity), (rule, severity), "{finding:#?}");
    assert_near(finding.value.expect("a value"), value, 0.002);
    assert!(finding.text.ends_with('.') && finding.cure.ends_with('.'), "{finding:#?}");
    finding.clone()
}

#[track_caller]
fn silent(target: &str, profile: &str) -> Proof {
    let proof = proof(target, profile);
    let found = beside(&proof);
    assert!(found.is_empty(), "{found:#?}");
    proof
}

#[test]
fn a_piece_like_its_target() {
    let proof = silent("", PIECE);
    let comparison = proof.target.unwrap();
    assert!(comparison.deepest_gouge_mm < 0.001 && comparison.thickest_leftover_mm < 0.001, "{comparison:?}");
    // The blank's end in the chuck is not compared, and neither is what lies beyond the target.
    assert_eq!(comparison.span, [0.0, 110.0]);
    let compared = comparison.gap.iter().filter(|gap| gap.is_finite()).count();
    assert_eq!(compared * 120, comparison.gap.len() * 110);
    assert!(comparison.patches.is_empty());
}

#[test]
fn a_radius_cut_too_deep() {
    let finding = one("", &PIECE.replace(",15", ",15.2"), "gouge", Severity::Error, 0.2);
    assert_eq!((finding.lines, finding.cutter), (Some((4, 7)), Some(1)));
    let (station, _, radius) = place(&finding);
    assert!((17.0..63.0).contains(&station));
    assert_near(radius, 15.0, 1e-4);
    let shown = finding.place.unwrap().shown.unwrap();
    assert_near(shown.z, 15.0, 1e-6);
    silent("", &PIECE.replace(",15", ",15.045"));
    silent("gouge = 0.25", &PIECE.replace(",15", ",15.2"));
}

#[test]
fn wood_left_on_a_radius() {
    let finding = one("", &PIECE.replace(",15", ",14.6"), "leftover", Severity::Warning, 0.4);
    assert_eq!((finding.lines, finding.cutter), (Some((4, 7)), Some(1)));
    silent("", &PIECE.replace(",15", ",14.72"));
    silent("allowance = 0.15", &PIECE.replace(",15", ",14.6"));
    silent("leftover = 0.45", &PIECE.replace(",15", ",14.6"));
}

#[test]
fn a_shoulder_is_judged_across_it_whatever_the_pitch() {
    let shoulder = |station: f64| PIECE.replace("63,", &format!("{station},"));
    // Five millimetres along a ray, a tenth of one across.
    let finding = one("", &shoulder(62.9), "gouge", Severity::Error, 0.1);
    let (station, _, radius) = place(&finding);
    assert_near(station, 63.0, 0.002);
    assert!((15.0..=20.0).contains(&radius));
    silent("", &shoulder(62.955));
    one("", &shoulder(62.94), "gouge", Severity::Error, 0.06);
    silent("", &shoulder(63.29));
    one("", &shoulder(63.32), "leftover", Severity::Warning, 0.32);
    one("", &shoulder(63.7), "leftover", Severity::Warning, 0.7);
}

#[test]
fn a_low_shoulder_is_found_between_the_rays() {
    // A step of 0.6 mm at a pitch of 1 mm, 0.1 mm out of place.
    let low = "0,20\n17,20\n17,15\n40,15\n40,15.6\n63,15.6\n63,20\n110,20\n";
    let program =
        "M3 S9000\nG0 Z40\nG0 X20\nG1 Z15 F600\nG1 A360\nG1 X37 A2400\nA2760\nG1 Z15.6\nG1 X60 A5520\nA5880\nG0 Z40\n";
    let found = |low: &str| {
        let scene = scene("file = \"p.csv\"", "flute = 20");
        let proof = run(&job_with(&scene, &[program], &[("p.csv", low)]));
        beside(&proof).into_iter().map(|finding| (finding.rule, finding.value.unwrap())).collect::<Vec<_>>()
    };
    assert_eq!(found(low), []);
    let off = found(&low.replace("40,", "39.9,"));
    assert_eq!(off.len(), 1);
    assert_near(off[0].1, 0.1, 0.002);
}

/// Rounds the corner at the foot of both shoulders with its own radius.
const BALL: &str = "shape = \"ball\", flute = 20";

fn with_ball(target: &str) -> Vec<Finding> {
    // A pass is half a millimetre from the next: cusps of 0.01 mm.
    let program = "M3 S9000\nG0 Z40\nG0 X20\nG1 Z15 F600\nG1 A360\nG1 X60 A29160\nA29520\nG0 Z40\n";
    let scene = scene("file = \"p.csv\"", BALL).replace("pitch = 1", "pitch = 0.25");
    let proof = run(&job_with(&scene, &[program], &[("p.csv", target)]));
    beside(&proof).into_iter().cloned().collect()
}

#[test]
fn corners_that_no_cutter_reaches_are_told_apart_from_wood_left_by_mistake() {
    let corners = with_ball(PIECE);
    // The ball's groove leaves its radius in both corners, and its sides lean out below its equator.
    assert_eq!(corners.len(), 2, "{corners:#?}");
    for corner in &corners {
        assert_eq!((corner.rule, corner.severity), ("leftover", Severity::Note), "{corner:#?}");
        // Halfway round the corner the wood is r − r / √2 from both faces.
        assert_near(corner.value.unwrap(), 3.0 - 3.0 / 2f64.sqrt(), 0.05);
    }
    let mistakes = with_ball(&PIECE.replace("17,", "14,"));
    let severe = mistakes.iter().filter(|finding| finding.severity == Severity::Warning).count();
    assert_eq!((severe, mistakes.len()), (1, 2), "{mistakes:#?}");
}

#[test]
fn a_blank_too_small_for_its_target() {
    let finding = one(
        "",
        "0,20\n17,20\n17,15\n63,15\n63,20\n80,20\n80,20.4\n110,20.4\n",
        "blank-too-small",
        Severity::Error,
        0.4,
    );
    assert_eq!((finding.program, finding.lines), (None, None));
    silent("", "0,20\n17,20\n17,15\n63,15\n63,20\n80,20\n80,20.04\n110,20.04\n");
    // The blank ends at station 110.
    let longer = "0,20\n17,20\n17,15\n63,15\n63,20\n112.5,20\n";
    one("", longer, "blank-too-small", Severity::Error, 2.5);
    silent("span = [0, 109]", longer);
    silent("", "0,20\n17,20\n17,15\n63,15\n63,20\n110.04,20\n");
}

#[test]
fn the_dimple_of_the_live_center_is_a_mark_and_no_fault() {
    let tailstock = "tailstock = { center = { diameter = 12, quill = 16, extension = 3 }, dimple = 2 }";
    let proof = |profile: &str| {
        let scene = scene("file = \"p.csv\"", "flute = 20").replace("chuck =", &format!("{tailstock}\nchuck ="));
        run(&job_with(&scene, &[TURN], &[("p.csv", profile)]))
    };
    let whole = proof(PIECE);
    let found = beside(&whole);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].rule, found[0].severity), ("blank-too-small", Severity::Note));
    // Its apex lies 2 mm within the end, the first row beyond that half a millimetre further out.
    assert_near(found[0].value.unwrap(), 1.5, 0.002);
    // A blank that is too thin at that end is still told, as an error.
    let thick = proof(&PIECE.replace("110,20", "100,20\n100,20.4\n110,20.4"));
    let errors: Vec<&Finding> = beside(&thick).into_iter().filter(|f| f.severity == Severity::Error).collect();
    assert_eq!(errors.len(), 1, "{errors:#?}");
    assert_near(errors[0].value.unwrap(), 0.4, 0.002);
    assert!(beside(&proof(&PIECE.replace("110,20", "108,20"))).is_empty());
}

#[test]
fn the_program_after_which_it_is_compared() {
    let deeper = "M3 S9000\nG0 Z40\nG0 X40\nG1 Z10 F600\nG1 A7200\nG0 Z40\nM30\n";
    let turn = format!("{TURN}M30\n");
    let found = |after: &str| {
        let scene = scene(&format!("file = \"p.csv\"\n{after}"), "flute = 20")
            .replace("cutter = 1 }]", "cutter = 1 }, { file = \"2.nc\" }]");
        let proof = run(&job_with(&scene, &[&turn, deeper], &[("p.csv", PIECE)]));
        beside(&proof).len()
    };
    assert_eq!((found("after = 1"), found("after = 2"), found("")), (0, 1, 1));
}

/// A prism along the axis as an OBJ text: so many flats, a corner at θ = 0, so far to the corners.
fn prism(sides: usize, corner: f64, [from, to]: [f64; 2]) -> String {
    let mut text = String::new();
    for station in [from, to] {
        for k in 0..sides {
            let angle = std::f64::consts::TAU * k as f64 / sides as f64;
            text += &format!("v {station} {} {}\n", -corner * angle.sin(), corner * angle.cos());
        }
    }
    let all = |offset: usize| (1..=sides).map(|k| (k + offset).to_string()).collect::<Vec<_>>();
    let mut back = all(0);
    back.reverse();
    text += &format!("f {}\nf {}\n", back.join(" "), all(sides).join(" "));
    for k in 1..=sides {
        let next = k % sides + 1;
        text += &format!("f {k} {next} {} {}\n", next + sides, k + sides);
    }
    text
}

fn with_prism(target: &str, text: &str) -> Vec<Finding> {
    let scene = scene(&format!("file = \"p.obj\"\nspan = [20, 60]\n{target}"), "flute = 20");
    let proof = run(&job_with(&scene, &[TURN], &[("p.obj", text)]));
    beside(&proof).into_iter().cloned().collect()
}

#[test]
fn facets_of_a_mesh_widen_the_tolerance_by_their_own_error() {
    // A round of 36 facets with its corners on the cylinder lies 0.057 mm inside it midway.
    assert_eq!(with_prism("leftover = 0.02", &prism(36, 15.0, [0.0, 100.0])), []);
    let thick = with_prism("leftover = 0.02", &prism(36, 14.9, [0.0, 100.0]));
    assert_eq!(thick.len(), 1);
    assert!(thick[0].text.contains("0.02 mm allowed, and 0.057 mm for the facets of the mesh"), "{}", thick[0].text);
    assert_finding(&thick[0], Severity::Warning, (4, 6), 0.1 + 14.9 * (1.0 - 5f64.to_radians().cos()), 0.001);
    // The flats of a hexagon are meant: nothing is added to the tolerance.
    let hexagon = with_prism("leftover = 0.02", &prism(6, 15.0, [0.0, 100.0]));
    assert!(!hexagon.is_empty() && hexagon.iter().all(|finding| !finding.text.contains("facets")), "{hexagon:#?}");
}

#[test]
fn any_number_of_threads_says_the_same() {
    let off = PIECE.replace("63,", "62.9,").replace("0,20\n17", "0,20.4\n16");
    let scene = scene("file = \"p.csv\"", "flute = 20");
    let job = job_with(&scene, &[TURN], &[("p.csv", &off)]);
    let bits = |threads: usize| {
        let options = RunOptions { threads, ..RunOptions::default() };
        let proof = prove(&job, &options).expect("the run ends");
        let comparison = proof.target.expect("a target");
        let maps = [comparison.gap, comparison.over_target].concat();
        let maps: Vec<u32> = maps.into_iter().map(f32::to_bits).collect();
        (maps, comparison.gouge_mm3.to_bits(), comparison.leftover_mm3.to_bits(), comparison.patches, proof.findings)
    };
    let one = bits(1);
    assert!(one.3.len() >= 2, "{:?}", one.3);
    for threads in [2, 3] {
        assert!(bits(threads) == one, "{threads} threads");
    }
}

#[test]
fn volumes_and_maps_are_those_of_the_closed_forms() {
    // A ring 0.2 mm too deep and one 0.4 mm too thick.
    let off = "0,20\n17,20\n17,15.2\n40,15.2\n40,14.6\n63,14.6\n63,20\n110,20\n";
    let proof = proof("", off);
    let comparison = proof.target.as_ref().unwrap();
    let ring = |outer: f64, inner: f64, length: f64| std::f64::consts::PI * (outer * outer - inner * inner) * length;
    assert_near(comparison.gouge_mm3, ring(15.2, 15.0, 23.0), 1e-3);
    assert_near(comparison.leftover_mm3, ring(15.0, 14.6, 23.0), 1e-3);
    assert_near(comparison.deepest_gouge_mm, 0.2, 1e-5);
    assert_near(comparison.thickest_leftover_mm, 0.4, 1e-5);
    let grid = proof.carved.grid();
    for (station, expected) in [(30.0, -0.2), (50.0, 0.4), (80.0, 0.0)] {
        let row = ((station - grid.station_first) / grid.station_step).round() as usize;
        for map in [&comparison.gap, &comparison.over_target] {
            assert_near(f64::from(map[row * grid.angles + 7]), expected, 1e-5);
        }
    }
    let found: Vec<_> = beside(&proof).iter().map(|finding| (finding.rule, finding.severity)).collect();
    assert_eq!(found, [("gouge", Severity::Error), ("leftover", Severity::Warning)]);
}

#[test]
fn wood_in_a_bore_and_a_wall_cut_away_have_no_end_of_the_piece_in_them() {
    // The target is a tube of 10 to 13 mm around the whole turn; the piece is solid there.
    let tube = |inner: f64, outer: f64| {
        let (walls, hole) = (prism(72, outer, [0.0, 100.0]), prism(72, inner, [-1.0, 101.0]));
        // The hole's faces turned inside out take it away.
        let faces = hole.lines().filter_map(|line| line.strip_prefix("f ")).map(|face| {
            let corners: Vec<usize> =
                face.split(' ').map(|corner| corner.parse::<usize>().unwrap() + 144).rev().collect();
            format!("f {}\n", corners.iter().map(usize::to_string).collect::<Vec<_>>().join(" "))
        });
        let corners: String =
            hole.lines().filter(|line| line.starts_with('v')).map(|line| format!("{line}\n")).collect();
        let (all, rest) =
            (walls.lines().filter(|line| line.starts_with('v')), walls.lines().filter(|line| line.starts_with('f')));
        let lines = |lines: &mut dyn Iterator<Item = &str>| lines.map(|line| format!("{line}\n")).collect::<String>();
        let (mut all, mut rest) = (all, rest);
        format!("{}{corners}{}{}", lines(&mut all), lines(&mut rest), faces.collect::<String>())
    };
    let filled = with_prism("", &tube(10.0, 15.0));
    assert_eq!(filled.len(), 1, "{filled:#?}");
    assert_eq!(filled[0].rule, "leftover");
    // The middle of the bore is 10 mm from its wall, less what the facets cut off.
    assert!((9.9..10.0).contains(&filled[0].value.unwrap()), "{:?}", filled[0].value);
}

#[test]
fn a_blank_from_a_mesh_is_carved_like_the_same_from_its_sizes() {
    let run_on = |blank: &str| {
        let scene =
            scene("file = \"p.csv\"\nspan = [20, 60]", "flute = 20").replace("diameter = 40, length = 120", blank);
        run(&job_with(&scene, &[TURN], &[("p.csv", PIECE), ("b.obj", &prism(8, 20.0, [-7.0, 113.0]))]))
    };
    let across = 40.0 * (std::f64::consts::PI / 8.0).cos();
    let sizes = run_on(&format!("across_flats = {across}, sides = 8, turned = 22.5, length = 120"));
    let mesh = run_on("file = \"b.obj\"");
    assert_near(mesh.carved.blank_mm3(), sizes.carved.blank_mm3(), 1e-3);
    assert_near(mesh.programs[0].removed_mm3, sizes.programs[0].removed_mm3, 1e-3);
    let told = |proof: &Proof| proof.findings.iter().map(|finding| finding.text.clone()).collect::<Vec<_>>();
    assert_eq!(told(&mesh), told(&sizes));
    let comparison = mesh.target.unwrap();
    assert!(comparison.deepest_gouge_mm < 0.001, "{comparison:?}");
}
