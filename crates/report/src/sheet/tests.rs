use super::*;
use crate::sample;
use dryturn_scene::LoadOptions;

fn scene(text: &str) -> Scene {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("p.nc"), "").unwrap();
    let whole = format!(
        "format = 1\nprogram = [{{ file = \"p.nc\", cutter = 1 }}]\ncutter = [{{ diameter = 3, stickout = 18 }}]\n{text}"
    );
    Scene::parse(&whole, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)))
}

const HELD: &str = "blank = { diameter = 50, length = 90 }
[chuck]
hold = 12
body = { diameter = 80, length = 40 }
jaws = { count = 3, width = 10, length = 12, height = 18 }
[tailstock]
center = { angle = 60, diameter = 12, quill = 16, extension = 3 }
body = { width = 40, above = 36, length = 70 }
[zero]
x = 3
";

#[test]
fn the_page_asks_for_nothing_and_keeps_to_its_policy() {
    let page = sheet(&sample::run(), &scene(HELD)).unwrap();
    assert!(
        page.contains("default-src 'none'; style-src 'sha256-") && page.contains(&format!("<style>{STYLE}</style>"))
    );
    for word in ["<script", "http:", "https:", "@import", "url(", "src=", " style=\""] {
        let page = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn what_is_written_in_a_scene_stays_text() {
    let mut run = sample::run();
    run.title = "<script>alert(1)</script> & \u{202e}".to_owned();
    run.programs[0].file = "\"><svg onload=x>.nc".to_owned();
    run.findings[0].text = "<b>bold</b>".to_owned();
    let page = sheet(&run, &scene(HELD)).unwrap();
    assert!(!page.contains("<script") && !page.contains("<svg onload") && !page.contains("<b>bold"), "{page}");
    assert!(!page.contains('\u{202e}'));
}

/// Every number of the page is one of the report's.
#[test]
fn it_tells_what_the_report_holds() {
    let page = sheet(&sample::run(), &scene(HELD)).unwrap().replace('\u{a0}', " ");
    for told in [
        "■ Stop: do not run it yet",
        "1 error, 0 warnings, 0 notes",
        "The holder meets the chuck body while the groove is cut.",
        "Set the cutter out 2.4 mm further.",
        "flat, ⌀ 3",
        "over 20.35 mm",
        "Put in cutter 1: flat, ⌀ 3, 18 mm out of the holder.",
        "A reads 0°.",
        "Run groove.nc.",
        "A goes from 0° to 4320°.",
        "3.3 min a piece",
        "A ends at 4320°, wound up by 12 turns.",
        "turns it back in 1.2 min. Or zero A where it stands",
        "⌀ 51 mm at the least",
        "51 mm across its flats at the least",
        "90 mm: 12 mm in the jaws, 78 mm beyond",
        "A zero, or a blank that slips",
        "edges step at radius 25 by 0.44 mm",
        "X may be off",
        "−3.12 mm … +50 mm or more",
        "± 2.75 mm",
        "cutter 1, groove.nc:12, at station 3 mm, 24.5 mm over the axis",
        "Jog A by +10: the top of the blank goes toward Y+.",
        "Jog X by +10: the cutter goes away from the holding.",
        "the live center:</b> no tailstock is described",
        "hand at the stop",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
}

#[test]
fn an_axis_off_a_whole_turn_is_not_to_be_zeroed() {
    let mut run = sample::run();
    let ready = run.preparation.as_mut().unwrap();
    let mut change = ready.changes[0];
    let shown = change.shown.as_mut().unwrap();
    shown.a = Some(8730.0);
    change.wound_deg = shown.a;
    (change.line, change.cutter) = (40, 2);
    ready.changes.push(change);
    let two = "[[cutter]]\nnumber = 1\ndiameter = 3\n[[cutter]]\nnumber = 2\ndiameter = 6\n";
    let text = HELD.replace("[zero]", &format!("{two}[zero]"));
    let scene = scene_without_cutters(&text);
    let page = sheet(&run, &scene).unwrap().replace('\u{a0}', " ");
    assert!(page.contains("… before line 40 of groove.nc cutter 2 comes in"), "{page}");
    assert!(
        page.contains("A stands at 8730°: lock it or home it. Do not zero A here: the program counts on from there.")
    );
}

fn scene_without_cutters(text: &str) -> Scene {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("p.nc"), "").unwrap();
    let whole = format!("format = 1\nprogram = [{{ file = \"p.nc\", cutter = 1 }}]\n{text}");
    Scene::parse(&whole, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)))
}

/// Ways the blank turns and the words run, on every kind of machine.
#[test]
fn ways_to_jog_are_those_of_the_machine() {
    let checks =
        |machine: &str| ready::checks(&sample::run(), &scene(&format!("{HELD}[machine]\n{machine}"))).join(" ");
    let plus = checks("chuck_on = \"+x\"\nturns = \"reversed\"");
    assert!(plus.contains("Jog X by +10: the cutter goes toward the holding."), "{plus}");
    assert!(plus.contains("Jog A by +10: the top of the blank goes toward Y−."), "{plus}");
    let along_y = checks("along = \"y\"\nrotary = \"B\"");
    assert!(along_y.contains("Jog Y by +10: the cutter goes away from the holding."), "{along_y}");
    assert!(along_y.contains("Jog B by +10: the top of the blank goes toward X−."), "{along_y}");
    // The top of a blank goes with the cutter that a wrapped word would have moved the other way.
    let wrapped = checks("rotary = \"Y\"\nwrap_diameter = 50");
    assert!(wrapped.contains("Jog Y by +10: the top of the blank goes toward Y−."), "{wrapped}");
}

#[test]
fn a_bare_scene_has_a_sheet_too() {
    let mut run = sample::run();
    (run.zero_window, run.times, run.preparation) = (None, None, None);
    (run.findings, run.cutters) = (vec![], vec![]);
    let page = sheet(&run, &scene("blank = { diameter = 50, length = 90 }")).unwrap();
    assert!(page.contains("the blank&#39;s end") && !page.contains("If something is a little off"), "{page}");
}

#[test]
fn the_drawing_is_to_scale() {
    let (svg, scale) = drawing::side_view(&sample::run(), &scene(HELD));
    // From the chuck's back at −52 to the tailstock's at some 162 mm, and 88 mm high with a margin: 1 : 1.5 has room.
    assert_eq!(scale, "1 : 1.5");
    let body = svg.lines().find(|line| line.contains("class=\"steel\"")).unwrap();
    let number = |key: &str| {
        let from = body.find(&format!(" {key}=\"")).unwrap() + key.len() + 3;
        body[from..].split('"').next().unwrap().parse::<f64>().unwrap()
    };
    assert!((number("width") - 40.0 / 1.5).abs() < 0.011 && (number("height") - 80.0 / 1.5).abs() < 0.011, "{body}");
}
