//! A headless browser for tests of pages: it is driven through a pipe, and tells all that it had to complain about.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use base64::Engine;
use serde_json::{Value, json};
use tempfile::TempDir;
use tiny_skia::Pixmap;

use crate::workshop::skipped;

/// Set where a browser must be there.
const REQUIRED: &str = "DRYTURN_REQUIRE_BROWSER";
/// What a browser is called.
const NAMES: [&str; 2] = ["chromium", "chromium-browser"];
const FLAGS: [&str; 12] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--hide-scrollbars",
    "--force-device-scale-factor=1",
    "--window-size=900,700",
    "--remote-debugging-pipe",
];
/// Longer nothing takes.
const PATIENCE: Duration = Duration::from_secs(60);

/// Whether the browser draws in three dimensions.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Drawing {
    Software,
    None,
}

/// A browser with one page.
pub(crate) struct Browser {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    number: u64,
    session: Option<String>,
    /// What came in beside answers.
    events: Vec<Value>,
    _profile: TempDir,
}

impl Browser {
    /// A browser with an empty page; `None`, with the reason told, where there is none.
    pub(crate) fn start(drawing: Drawing) -> Option<Browser> {
        let there = |name: &&&str| Command::new(name).arg("--version").output().is_ok_and(|out| out.status.success());
        let Some(name) = NAMES.iter().find(there) else {
            assert!(std::env::var_os(REQUIRED).is_none(), "{REQUIRED} is set, but none of {NAMES:?} is there");
            skipped(&format!("none of {NAMES:?} is there to show the page"));
            return None;
        };
        let profile = tempfile::tempdir().unwrap();
        let more: &[&str] = match drawing {
            Drawing::Software => &["--enable-unsafe-swiftshader", "--use-angle=swiftshader"],
            Drawing::None => &["--disable-3d-apis"],
        };
        // The browser listens on its third channel and answers on its fourth.
        let mut child = Command::new("sh")
            .args(["-c", "exec \"$@\" 3<&0 4>&1 0</dev/null 1>&2", "sh", name])
            .args(FLAGS)
            .args(more)
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let (to, answers) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let (sender, from) = channel();
        std::thread::spawn(move || {
            let messages = BufReader::new(answers).split(0).map_while(Result::ok);
            let values = messages.filter_map(|bytes| serde_json::from_slice(&bytes).ok());
            values.map_while(|value| sender.send(value).ok()).for_each(drop);
        });
        let mut browser = Browser { child, to, from, number: 0, session: None, events: Vec::new(), _profile: profile };
        browser.attach();
        Some(browser)
    }

    fn attach(&mut self) {
        let target = self.ask("Target.createTarget", json!({ "url": "about:blank" }))["targetId"].clone();
        let attached = self.ask("Target.attachToTarget", json!({ "targetId": target, "flatten": true }));
        self.session = attached["sessionId"].as_str().map(str::to_owned);
        for domain in ["Page", "Runtime", "Log", "Network"] {
            self.ask(&format!("{domain}.enable"), json!({}));
        }
    }

    /// Asks for something and waits for the answer.
    pub(crate) fn ask(&mut self, method: &str, parameters: Value) -> Value {
        self.number += 1;
        let mut message = json!({ "id": self.number, "method": method, "params": parameters });
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        self.to.write_all(&bytes).unwrap();
        loop {
            let mut answer = self.from.recv_timeout(PATIENCE).unwrap_or_else(|error| panic!("{method}: {error}"));
            if answer["id"] == self.number {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].take();
            }
            self.events.push(answer);
        }
    }

    /// What an expression comes to in the page.
    pub(crate) fn value(&mut self, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "returnByValue": true, "awaitPromise": true });
        self.ask("Runtime.evaluate", asked)["result"]["value"].take()
    }

    /// Waits until an expression holds in the page.
    pub(crate) fn wait_for(&mut self, expression: &str) {
        let since = Instant::now();
        while self.value(expression) != json!(true) {
            assert!(since.elapsed() < PATIENCE, "{expression}: {:?}", self.complaints());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Opens a page from a file.
    pub(crate) fn open(&mut self, file: &Path) {
        let url = format!("file://{}", file.canonicalize().unwrap().display());
        let opened = self.ask("Page.navigate", json!({ "url": url }));
        assert!(opened["errorText"].is_null(), "{opened}");
    }

    /// The page as it looks.
    pub(crate) fn picture(&mut self) -> Pixmap {
        let picture = self.ask("Page.captureScreenshot", json!({ "format": "png" }));
        let bytes = base64::prelude::BASE64_STANDARD.decode(picture["data"].as_str().unwrap()).unwrap();
        Pixmap::decode_png(&bytes).unwrap()
    }

    /// Presses the mouse at a place, moves it to others, and lets it go.
    pub(crate) fn drag(&mut self, places: &[[i32; 2]]) {
        let mut mouse = |kind: &str, [x, y]: [i32; 2]| {
            let event = json!({ "type": kind, "x": x, "y": y, "button": "left", "buttons": 1, "clickCount": 1 });
            self.ask("Input.dispatchMouseEvent", event);
        };
        mouse("mousePressed", places[0]);
        places.iter().for_each(|place| mouse("mouseMoved", *place));
        mouse("mouseReleased", places[places.len() - 1]);
    }

    /// Turns the wheel over a place.
    pub(crate) fn wheel(&mut self, [x, y]: [i32; 2], by: i32) {
        let event = json!({ "type": "mouseWheel", "x": x, "y": y, "deltaX": 0, "deltaY": by });
        self.ask("Input.dispatchMouseEvent", event);
    }

    /// Presses a key.
    pub(crate) fn key(&mut self, key: &str) {
        for kind in ["keyDown", "keyUp"] {
            self.ask("Input.dispatchKeyEvent", json!({ "type": kind, "key": key }));
        }
    }

    /// Lays fingers on the page, moves them step by step, and lifts them.
    pub(crate) fn touch(&mut self, steps: &[&[[i32; 2]]]) {
        for (number, fingers) in steps.iter().enumerate() {
            let points: Vec<Value> =
                fingers.iter().enumerate().map(|(id, [x, y])| json!({ "x": x, "y": y, "id": id })).collect();
            let kind = if number == 0 { "touchStart" } else { "touchMove" };
            self.ask("Input.dispatchTouchEvent", json!({ "type": kind, "touchPoints": points }));
        }
        self.ask("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] }));
    }

    /// Errors, what the policy refused, and what was asked for from elsewhere.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let complaint = |event: &Value| {
            let told = &event["params"];
            match event["method"].as_str()? {
                "Runtime.exceptionThrown" => Some(told["exceptionDetails"].to_string()),
                "Log.entryAdded" if told["entry"]["level"] == "error" => Some(told["entry"]["text"].to_string()),
                "Network.requestWillBeSent" => {
                    let url = told["request"]["url"].as_str()?;
                    let is_own = ["file:", "data:", "blob:", "about:"].iter().any(|kind| url.starts_with(kind));
                    (!is_own).then(|| url.to_owned())
                }
                _ => None,
            }
        };
        self.events.iter().filter_map(complaint).collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
