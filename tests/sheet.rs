//! `sheet`: the page to print and take to the machine, in a real browser and beside the report.

#[cfg(feature = "render")]
use crate::browser::{Browser, Drawing};
use crate::workshop::{Workshop, scene};

const SCENES: [&str; 7] =
    ["vane-cap", "marble-lift", "winch-handle", "harbor-light", "choir-stand", "coat-peg", "kite-reel"];

/// The sheet of an example job, coarse so that it is made quickly.
fn sheet_of(name: &str) -> Workshop {
    let workshop = Workshop::copy_of(&scene(name));
    workshop.expect(0, "sheet . -o sheet.html --pitch 1 --quiet");
    workshop
}

#[test]
fn its_numbers_are_those_of_the_report() {
    let workshop = sheet_of("marble-lift");
    workshop.expect(1, "prove . --out out --pitch 1 --quiet");
    let (page, report) = (workshop.read("sheet.html").replace('\u{a0}', " "), workshop.report("out"));
    let ready = &report["preparation"];
    let shown = |at: usize| ready["changes"][at]["shown"]["a"].as_f64().unwrap();
    // The order of the scene, with what the axis reads before each change.
    let cutters: Vec<u64> =
        ready["changes"].as_array().unwrap().iter().map(|change| change["cutter"].as_u64().unwrap()).collect();
    assert_eq!(cutters, [1, 2, 3]);
    let stands = |at: usize| match shown(at) {
        0.0 => "A stands at 0°: leave it there.".to_owned(),
        angle => format!("A stands at {angle}°: lock it or home it."),
    };
    for told in [
        format!("A reads {}°.", shown(0)),
        stands(1),
        stands(2),
        format!("{:.1} min", report["job"]["cut_s"].as_f64().unwrap() / 60.0),
    ] {
        assert!(page.contains(&told), "{told}");
    }
    for found in report["findings"].as_array().unwrap().iter().filter(|found| found["severity"] == "error") {
        let told = found["text"].as_str().unwrap();
        assert!(page.contains(told), "{told}");
    }
    let effects: Vec<&str> = ready["budget"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|row| row["effects"].as_array().unwrap())
        .map(|effect| effect["what"].as_str().unwrap())
        .collect();
    assert!(effects.len() > 8 && effects.iter().all(|what| page.contains(what)), "{effects:?}");
}

/// Where a length laid around the blank turns it, that word is what stands, winds and is zeroed.
#[test]
fn a_length_around_the_blank_is_called_by_its_word() {
    let workshop = Workshop::copy_of(&scene("harbor-light"));
    workshop.expect(0, "sheet scene-fixed.toml -o sheet.html --pitch 1 --quiet");
    let page = workshop.read("sheet.html").replace('\u{a0}', " ");
    for told in ["Y reads 0 mm.", "Y goes from 0 mm to ", "Cutter across the axis", "Y zero, or a blank that slips"] {
        assert!(page.contains(told), "{told}");
    }
    assert!(!page.contains("A zero"));
}

/// A job of two coordinate systems, the first of them not G54.
#[test]
fn zeros_are_told_of_the_systems_that_are_used() {
    let program = "G21 G90 G55\nM3 S9000\nG0 X5 Y0 A0 Z30\nG1 Z-2 F300\nA360 F3000\nG0 Z30\nG56\nG0 X9 Z30\nM30\n";
    let workshop = Workshop::with(&[
        (
            "scene.toml",
            "format = 1\nblank = { diameter = 40, length = 90 }\nchuck = { hold = 20 }\nprogram = [{ file = \"a.nc\" }]\n\
             cutter = [{ diameter = 6 }]\nzero = { g55 = { x = 31, z = 20 }, g56 = { x = 47.5, a = 90 } }\n",
        ),
        ("a.nc", program),
    ]);
    workshop.expect(0, "sheet . -o sheet.html --pitch 1 --quiet");
    let page = workshop.read("sheet.html").replace('\u{a0}', " ");
    for told in [
        "X zero of G55</th><td>station 31 mm",
        "Z zero of G55</th><td>20 mm over the axis",
        "Set its zeros first. G56: X0 at station 47.5 mm, Y0 over the axis, Z0 on the axis, A0 at 90° on from the mark.",
        // Where the wood is met, not where the way down begins.
        "a.nc:4, at station 36 mm, 20 mm over the axis",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
}

#[test]
fn the_same_bytes_come_for_any_number_of_threads() {
    let workshop = Workshop::copy_of(&scene("kite-reel"));
    workshop.expect(0, "sheet . -o one.html --pitch 1 --threads 1");
    workshop.expect(0, "sheet . -o two.html --pitch 1 --threads 2");
    assert_eq!(workshop.read("one.html"), workshop.read("two.html"));
    assert!(workshop.read("one.html").contains("22\u{a0}mm (touches at 20.0)"));
}

#[test]
fn a_page_is_a_page_and_a_scene_must_be_one() {
    let workshop = Workshop::copy_of(&scene("kite-reel"));
    let before = workshop.files().len();
    let run = workshop.expect(2, "sheet . -o sheet.pdf");
    assert!(run.stderr.contains("end its name in .html"), "{}", run.stderr);
    workshop.expect(2, "sheet nowhere.toml -o sheet.html");
    assert_eq!(workshop.files().len(), before);
}

/// What stands out of the page on the right, by tag and class.
#[cfg(feature = "render")]
const CUT_OFF: &str = "[...document.querySelectorAll('body *')].filter((it) => { const box = it.getBoundingClientRect(); \
    return box.right > document.documentElement.clientWidth + 1 || box.left < -1; }).map((it) => it.outerHTML.slice(0, 120))";

#[cfg(feature = "render")]
#[test]
fn it_prints_on_both_papers_with_nothing_cut_off() {
    let Some(mut browser) = Browser::start(Drawing::None) else { return };
    browser.ask("Emulation.setEmulatedMedia", serde_json::json!({ "media": "print" }));
    for name in SCENES {
        let workshop = sheet_of(name);
        browser.open(&workshop.path("sheet.html"));
        browser.wait_for("document.readyState === 'complete'");
        // Inches of A4 and Letter, and what is left of their width between the margins, in pixels of 1/96 inch.
        for (width, height) in [(8.27, 11.69), (8.5, 11.0)] {
            let inside = ((width - 28.0 / 25.4) * 96.0) as u32;
            let metrics =
                serde_json::json!({ "width": inside, "height": 1000, "deviceScaleFactor": 1, "mobile": false });
            browser.ask("Emulation.setDeviceMetricsOverride", metrics);
            assert_eq!(browser.value(CUT_OFF), serde_json::json!([]), "{name} on {width} × {height}");
            let paper = serde_json::json!({ "paperWidth": width, "paperHeight": height, "preferCSSPageSize": false });
            let pdf = browser.ask("Page.printToPDF", paper)["data"].as_str().unwrap().to_owned();
            let bytes = base64::Engine::decode(&base64::prelude::BASE64_STANDARD, pdf).unwrap();
            let pages = bytes.windows(11).filter(|bytes| *bytes == b"/Type /Page").count();
            let trees = bytes.windows(12).filter(|bytes| *bytes == b"/Type /Pages").count();
            assert!((1..=4).contains(&(pages - trees)), "{name}: {} pages", pages - trees);
        }
        assert_eq!(browser.complaints(), Vec::<String>::new(), "{name}");
        let held = browser.value("document.querySelector('.held svg').getAttribute('aria-label')");
        assert!(held.as_str().unwrap().starts_with("The holding from the side, 1 : "), "{held}");
    }
}
