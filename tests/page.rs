//! `still -o piece.html`: the page in a real browser.

use serde_json::json;
use tiny_skia::Pixmap;

use crate::browser::{Browser, Drawing};
use crate::workshop::{Workshop, scene};

/// The page of an example job, coarse so that it is made quickly.
fn winch_handle() -> Workshop {
    let workshop = Workshop::copy_of(&scene("winch-handle"));
    workshop.expect(0, "still . -o piece.html --pitch 0.8 --samples 1");
    workshop
}

fn opened(workshop: &Workshop, drawing: Drawing) -> Option<Browser> {
    let mut browser = Browser::start(drawing)?;
    browser.open(&workshop.path("piece.html"));
    browser.wait_for("document.documentElement.dataset.shown !== undefined");
    Some(browser)
}

/// Share of the pixels in which two pictures differ.
fn change(one: &Pixmap, other: &Pixmap) -> f64 {
    assert_eq!((one.width(), one.height()), (other.width(), other.height()));
    let differs = one.pixels().iter().zip(other.pixels()).filter(|(a, b)| a != b).count();
    differs as f64 / one.pixels().len() as f64
}

/// Share of the pixels that are not like the upper right corner.
fn covered(picture: &Pixmap) -> f64 {
    let ground = picture.pixels()[picture.width() as usize - 1];
    picture.pixels().iter().filter(|pixel| **pixel != ground).count() as f64 / picture.pixels().len() as f64
}

/// Does something with a page, and gives how much of it looks different once it has drawn again.
fn changed_by(browser: &mut Browser, act: impl FnOnce(&mut Browser)) -> f64 {
    let (before, frames) = (browser.picture(), browser.value("+document.documentElement.dataset.frames"));
    act(browser);
    browser.wait_for(&format!("+document.documentElement.dataset.frames > {frames}"));
    rest(browser);
    change(&before, &browser.picture())
}

/// Waits until nothing is drawn any more.
fn rest(browser: &mut Browser) {
    browser.wait_for(
        "new Promise((done) => { const seen = document.documentElement.dataset.frames; \
         setTimeout(() => done(document.documentElement.dataset.frames === seen), 150); })",
    );
}

#[test]
fn the_page_shows_the_piece_and_asks_for_nothing() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::Software) else { return };
    assert_eq!(browser.value("document.documentElement.dataset.shown"), "piece");
    assert_eq!(browser.complaints(), Vec::<String>::new());
    let triangles = browser.value("+document.documentElement.dataset.triangles").as_f64().unwrap();
    assert!(triangles > 500.0, "{triangles}");
    assert_eq!(browser.value("document.title"), "Winch handle of a puppet theatre, hard maple");
    let head = browser.value("document.querySelector('header').innerText");
    let head = head.as_str().unwrap();
    assert!(head.contains("150 mm × ⌀ 40 mm") && head.contains("hard maple"), "{head}");
    let picture = browser.picture();
    assert!((0.08..0.8).contains(&covered(&picture)), "{}", covered(&picture));
}

#[test]
fn mouse_wheel_keys_and_fingers_turn_the_piece_and_come_nearer() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::Software) else { return };
    let first = browser.picture();
    let dragged = changed_by(&mut browser, |browser| browser.drag(&[[400, 350], [430, 360], [480, 390]]));
    assert!(dragged > 0.03, "{dragged}");
    let nearer = changed_by(&mut browser, |browser| browser.wheel([450, 350], -300));
    assert!(nearer > 0.03, "{nearer}");
    // Double click begins anew.
    changed_by(&mut browser, |browser| {
        for count in [1, 2] {
            for kind in ["mousePressed", "mouseReleased"] {
                let event = json!({ "type": kind, "x": 450, "y": 350, "button": "left", "clickCount": count });
                browser.ask("Input.dispatchMouseEvent", event);
            }
        }
    });
    assert!(change(&first, &browser.picture()) < 1e-3);
    browser.value("document.getElementById('piece').focus()");
    // Home stops a piece that was let go in full swing: once more at rest it changes nothing.
    changed_by(&mut browser, |browser| {
        browser.drag(&[[400, 350], [450, 360], [520, 380]]);
        browser.key("Home");
    });
    let again = changed_by(&mut browser, |browser| browser.key("Home"));
    assert!(again < 1e-3, "{again}");
    for (key, least) in [("ArrowRight", 0.03), ("ArrowDown", 0.03), ("q", 0.03), ("+", 0.01), ("Home", 0.03)] {
        let moved = changed_by(&mut browser, |browser| browser.key(key));
        assert!(moved > least, "{key}: {moved}");
    }
    let still = changed_by(&mut browser, |browser| browser.touch(&[&[[400, 350]], &[[420, 350]], &[[470, 360]]]));
    assert!(still > 0.03, "{still}");
    let before = covered(&browser.picture());
    changed_by(&mut browser, |browser| {
        browser.touch(&[&[[430, 350], [470, 350]], &[[420, 350], [480, 350]], &[[380, 350], [520, 350]]]);
    });
    assert!(covered(&browser.picture()) > 1.2 * before);
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

/// Whether all of the piece is seen: nothing but ground where the canvas ends.
fn is_whole(browser: &mut Browser) -> bool {
    let picture = browser.picture();
    let edge = |name: &str, browser: &mut Browser| {
        let edge = browser.value(&format!("document.getElementById('piece').getBoundingClientRect().{name}"));
        edge.as_f64().unwrap().round() as u32
    };
    let [left, right, top, bottom] = ["left", "right", "top", "bottom"].map(|name| edge(name, browser));
    let ground = picture.pixel(right - 1, top);
    let rows = (left..right).flat_map(|x| [[x, top], [x, bottom - 1]]);
    let columns = (top..bottom).flat_map(|y| [[left, y], [right - 1, y]]);
    covered(&picture) > 0.02 && rows.chain(columns).all(|[x, y]| picture.pixel(x, y) == ground)
}

#[test]
fn the_whole_piece_is_seen_however_it_is_turned() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::Software) else { return };
    assert!(is_whole(&mut browser));
    browser.value("document.getElementById('piece').focus()");
    // A key turns it by 7.5°: on end, then over, to its other end, and back.
    for (key, count) in [("q", 6), ("q", 6), ("ArrowDown", 7), ("ArrowRight", 7), ("e", 5), ("ArrowUp", 9)] {
        for _ in 0..count {
            changed_by(&mut browser, |browser| browser.key(key));
        }
        assert!(is_whole(&mut browser), "after {count} times {key}");
    }
    // What was come near to does not run away again while it is turned.
    changed_by(&mut browser, |browser| browser.wheel([450, 350], -600));
    assert!(!is_whole(&mut browser));
    let near = covered(&browser.picture());
    changed_by(&mut browser, |browser| browser.key("q"));
    assert!(covered(&browser.picture()) > 0.7 * near);
    // And far enough off it is whole once more, as from the start.
    changed_by(&mut browser, |browser| browser.wheel([450, 350], 700));
    changed_by(&mut browser, |browser| browser.key("Home"));
    assert!(is_whole(&mut browser));
}

#[test]
fn light_dark_and_motion_follow_the_reader() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::Software) else { return };
    let ground = |browser: &mut Browser, scheme: &str| {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme },
            { "name": "prefers-reduced-motion", "value": "reduce" }]);
        browser.ask("Emulation.setEmulatedMedia", json!({ "features": features }));
        let corner = browser.picture().pixels()[0];
        u32::from(corner.red()) + u32::from(corner.green()) + u32::from(corner.blue())
    };
    assert!(ground(&mut browser, "light") > 600 && ground(&mut browser, "dark") < 200);
    // With less motion wanted it stops where it is let go.
    let frames = "+document.documentElement.dataset.frames";
    let before = browser.value(frames).as_f64().unwrap();
    browser.drag(&[[400, 350], [430, 350], [460, 350]]);
    browser.wait_for(&format!("{frames} > {before}"));
    rest(&mut browser);
    let dragged = browser.value(frames).as_f64().unwrap();
    assert!(dragged - before <= 4.0, "{before} {dragged}");
}

#[test]
fn the_page_can_be_read_without_seeing_it() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::Software) else { return };
    let told = browser.ask("Accessibility.getFullAXTree", json!({})).to_string();
    assert!(told.contains("a turned piece, 150 mm × ⌀ 40 mm") && told.contains("arrows turn"), "{told}");
    assert_eq!(browser.value("document.documentElement.lang"), "en");
}

#[test]
fn without_three_dimensions_a_picture_stands_in() {
    let workshop = winch_handle();
    let Some(mut browser) = opened(&workshop, Drawing::None) else { return };
    assert_eq!(browser.value("document.documentElement.dataset.shown"), "picture");
    assert!(browser.value("document.documentElement.dataset.because").as_str().unwrap().contains("WebGL"));
    assert_eq!(browser.value("document.getElementById('piece').hidden"), true);
    if workshop.read("piece.html").contains("<img id=\"picture\"") {
        browser.wait_for("document.getElementById('picture').complete");
        assert!((0.05..0.8).contains(&covered(&browser.picture())));
    }
}
