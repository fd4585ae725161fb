//! What is written and printed beside the report: SARIF, JUnit, Markdown, lines for build services; `rule`; `[[accept]]`.

use std::collections::BTreeSet;

use quick_xml::events::Event;
use quick_xml::{Reader, XmlVersion};
use serde_json::Value;

use crate::workshop::{Workshop, root};

/// A holding that is described in full, so that only findings speak against a clear verdict.
const SCENE: &str = "\
format = 1
title = \"A peg | <b>\"
blank = { diameter = 40, length = 100 }
program = [{ file = \"peg.nc\" }]
cutter = [{ diameter = 6, stickout = 60, holder = [[20, 20]] }]
chuck = { hold = 30, body = { diameter = 80, length = 45 }, jaws = { count = 4, width = 14, length = 22, height = 18 } }
machine = { start = { x = 50, z = 60, a = 0 } }
grid = { pitch = 1 }
";
/// A plunge with the spindle stopped.
const STILL: &str = "G21 G17 G90 G94\nM5\nG0 X30 Y0 Z30 A0\nG1 Z18 F600\nG0 Z30\nM30\n";
const ACCEPT: &str = "[[accept]]\nrule = \"spindle-still\"\nprogram = 1\nlines = [4, 4]\nwhy = \"a *dead* cutter\"\n";

/// One job that stops, one whose error is accepted, one that cannot be read.
fn shop() -> Workshop {
    let workshop = Workshop::with(&[("stops/scene.toml", SCENE), ("stops/peg.nc", STILL)]);
    workshop.write("accepts/scene.toml", format!("{SCENE}{ACCEPT}"));
    workshop.write("accepts/peg.nc", STILL);
    workshop.write("broken/scene.toml", "format = 1\ndimeter = 3\n");
    workshop
}

const ALL: &str = "prove stops accepts broken --sarif ci/a.sarif --junit ci/a.xml --markdown ci/a.md --out out";

fn sarif(text: &str) -> Value {
    let schema = root().join("crates/report/tests/data/sarif-schema-2.1.0.json");
    let schema = std::fs::read_to_string(schema).unwrap();
    // The pattern of languages has a bracket that a strict reader of patterns refuses.
    let schema = serde_json::from_str(&schema.replace("{2}]?$", "{2}$")).unwrap();
    let validator = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    let log: Value = serde_json::from_str(text).unwrap();
    let errors: Vec<String> = validator.iter_errors(&log).map(|error| error.to_string()).collect();
    assert_eq!(errors, Vec::<String>::new());
    log
}

/// Class name and name of each case, and the tags within it.
fn cases(text: &str) -> Vec<(String, String, Vec<String>)> {
    let mut reader = Reader::from_str(text);
    let mut cases: Vec<(String, String, Vec<String>)> = Vec::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Eof => return cases,
            Event::Start(tag) | Event::Empty(tag) => {
                let name = String::from_utf8(tag.name().as_ref().to_vec()).unwrap();
                let attribute = |key: &str| {
                    let value = tag.try_get_attribute(key).unwrap().unwrap();
                    value.normalized_value(XmlVersion::Implicit1_0).unwrap().into_owned()
                };
                match (name.as_str(), cases.last_mut()) {
                    ("testsuites" | "testsuite", _) => {}
                    ("testcase", _) => cases.push((attribute("classname"), attribute("name"), Vec::new())),
                    (_, Some(case)) => case.2.push(name),
                    (_, None) => {}
                }
            }
            _ => {}
        }
    }
}

#[test]
fn one_call_writes_everything_once() {
    let workshop = shop();
    let run = workshop.expect(2, ALL);
    // People are told as ever, the refusal with its caret.
    assert!(run.stdout.contains("■ STOP") && run.stdout.contains("✓ accepted error"), "{}", run.stdout);
    assert!(run.stderr.contains("did you mean") || run.stderr.contains("dimeter"), "{}", run.stderr);
    let written: BTreeSet<String> = workshop.files().into_keys().filter(|name| name.starts_with("ci/")).collect();
    assert_eq!(written, BTreeSet::from(["ci/a.sarif", "ci/a.xml", "ci/a.md"].map(str::to_owned)));

    let log = sarif(&workshop.read("ci/a.sarif"));
    let [run] = log["runs"].as_array().unwrap().as_slice() else { panic!("{log}") };
    let results: Vec<&Value> =
        run["results"].as_array().unwrap().iter().filter(|result| result["level"] == "error").collect();
    let uri = |result: &Value| result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].clone();
    assert_eq!(results.iter().map(|result| uri(result)).collect::<Vec<_>>(), ["stops/peg.nc", "accepts/peg.nc"]);
    let region = &results[0]["locations"][0]["physicalLocation"]["region"];
    assert_eq!(*region, serde_json::json!({ "startLine": 4, "startColumn": 1, "endLine": 4, "endColumn": 12 }));
    assert!(results[0].get("suppressions").is_none());
    assert_eq!(results[1]["suppressions"][0]["justification"], "a *dead* cutter");
    let notifications = &run["invocations"][0]["toolExecutionNotifications"];
    assert_eq!(run["invocations"][0]["executionSuccessful"], false);
    assert!(notifications.to_string().contains("dimeter") && notifications.to_string().contains("broken/scene.toml"));

    let cases = cases(&workshop.read("ci/a.xml"));
    let tags = |class: &str, rule: &str| {
        let case = cases.iter().find(|case| case.0 == class && case.1 == rule);
        case.unwrap_or_else(|| panic!("{class}, {rule}")).2.clone()
    };
    assert_eq!(tags("stops/scene.toml: peg.nc", "spindle-still"), ["failure"]);
    assert_eq!(tags("accepts/scene.toml: peg.nc", "spindle-still"), ["skipped"]);
    assert_eq!(tags("accepts/scene.toml: peg.nc", "holder-hits"), Vec::<String>::new());
    assert_eq!(tags("broken/scene.toml", "can be proved"), ["error"]);
    let names: BTreeSet<_> = cases.iter().map(|case| (&case.0, &case.1)).collect();
    assert_eq!(names.len(), cases.len());
    assert!(!cases.iter().any(|case| case.1 == "gouge"), "there is no target");

    let page = workshop.read("ci/a.md");
    for words in [
        "| `stops/scene.toml` | A peg \\| &lt;b&gt; | ■ stop | 1 error",
        "| ■ error | spindle-still | `stops/peg.nc:4` |",
        "| ✓ accepted error | spindle-still | `accepts/peg.nc:4` |",
        "accepted: a \\*dead\\* cutter",
        "✗ not proved",
        "in air first",
    ] {
        assert!(page.contains(words), "{words}:\n{page}");
    }
    // The report says so too.
    let report = workshop.report("out/02-accepts");
    let found = report["findings"].as_array().unwrap().iter().find(|found| found["rule"] == "spindle-still").unwrap();
    assert_eq!((&found["accepted"], &found["severity"]), (&"a *dead* cutter".into(), &"error".into()));
    assert_ne!(report["verdict"], "stop");
}

#[test]
fn the_same_run_writes_the_same_bytes() {
    let (one, other) = (shop(), shop());
    for workshop in [&one, &other] {
        workshop.expect(2, ALL);
    }
    for name in ["ci/a.sarif", "ci/a.xml", "ci/a.md"] {
        assert!(one.read(name) == other.read(name), "{name}");
    }
}

#[test]
fn accepted_findings_do_not_fail_the_run() {
    let workshop = shop();
    for least in ["error", "warning"] {
        workshop.expect(1, &format!("prove stops --fail-on {least}"));
        workshop.expect(0, &format!("prove accepts --fail-on {least}"));
    }
    workshop.expect(0, "prove stops --fail-on never --sarif a.sarif");
    let run = workshop.expect(0, "prove accepts");
    assert!(run.stdout.contains("0 errors") && run.stdout.contains("1 accepted"), "{}", run.stdout);
    // An entry left behind is a note, and a note can fail the run.
    workshop.write("accepts/peg.nc", STILL.replace("M5", "M3 S12000"));
    let run = workshop.expect(0, "prove accepts");
    assert!(run.stdout.contains("accept-unused"), "{}", run.stdout);
    workshop.expect(1, "prove accepts --fail-on note");
}

#[test]
fn a_rule_that_is_none_is_refused_with_the_nearest() {
    let workshop = shop();
    workshop.write("accepts/scene.toml", format!("{SCENE}{}", ACCEPT.replace("spindle-still", "spindle-stil")));
    let run = workshop.expect(2, "prove accepts");
    for words in ["scene.toml:10", "did you mean \"spindle-still\"?", "^^^"] {
        assert!(run.stderr.contains(words), "{words}:\n{}", run.stderr);
    }
}

#[test]
fn standard_output_takes_one_format() {
    let workshop = shop();
    let log = sarif(&workshop.expect(1, "prove stops --sarif -").stdout);
    assert_eq!(log["runs"][0]["results"][0]["ruleId"], "spindle-still");
    assert!(workshop.expect(1, "prove stops --junit -").stdout.starts_with("<?xml"));
    assert!(workshop.expect(1, "prove stops --markdown -").stdout.starts_with("## dryturn"));

    let json: Value = serde_json::from_str(&workshop.expect(1, "prove stops --format json --out out").stdout).unwrap();
    assert_eq!(json, workshop.report("out"));
    let list: Value = serde_json::from_str(&workshop.expect(2, "prove stops broken --format json").stdout).unwrap();
    assert_eq!(list, Value::Array(vec![json]));

    let lines = workshop.expect(2, "prove accepts stops broken --format github").stdout;
    assert!(lines.starts_with("::error file=broken/scene.toml,line=1,title=dryturn::`blank` is missing"), "{lines}");
    assert!(lines.contains("file=broken/scene.toml,line=2,title=dryturn::unknown key `dimeter`"), "{lines}");
    let errors: Vec<&str> = lines.lines().filter(|line| line.starts_with("::error file=")).collect();
    assert_eq!(errors.iter().filter(|line| line.contains("title=spindle-still::")).count(), 1, "{lines}");
    assert!(errors.iter().any(|line| line.contains("file=stops/peg.nc,line=4,endLine=4,")), "{lines}");

    let rows: Value = serde_json::from_str(&workshop.expect(1, "prove stops --format gitlab").stdout).unwrap();
    assert_eq!((&rows[0]["check_name"], &rows[0]["severity"]), (&"spindle-still".into(), &"critical".into()));
    assert_eq!(rows[0]["location"], serde_json::json!({ "path": "peg.nc", "lines": { "begin": 4, "end": 4 } }));

    for arguments in [
        "prove stops --sarif - --junit -",
        "prove stops --format json --sarif -",
        "prove stops --format text --markdown -",
        "prove stops --sarif a --junit a",
        "prove stops --format poem",
    ] {
        assert_eq!(workshop.expect(2, arguments).stdout, "", "{arguments}");
    }
}

#[test]
fn paths_start_from_the_repository() {
    let workshop = shop();
    workshop.write(".git/HEAD", "");
    workshop.expect(1, "prove stops --sarif a.sarif");
    assert!(workshop.read("a.sarif").contains("\"uri\":\"stops/peg.nc\",\"uriBaseId\":\"%SRCROOT%\""));
}

#[test]
fn what_cannot_be_written_is_told_and_leaves_nothing() {
    let workshop = shop();
    workshop.write("taken/x", "");
    let run = workshop.expect(2, "prove stops --sarif a.sarif --junit taken");
    assert!(run.stderr.contains("taken"), "{}", run.stderr);
    assert!(!workshop.path("a.sarif").exists());
}

#[test]
fn rules_are_explained() {
    let workshop = Workshop::new();
    let list = workshop.expect(0, "rule").stdout;
    let page = workshop.expect(0, "rule near-miss").stdout;
    for words in ["near-miss\n", "When ", "Why ", "Quiet ", "checks.near = 2", "[[accept]]"] {
        assert!(page.contains(words), "{words}:\n{page}");
    }
    assert!(list.contains("near-miss") && list.contains("May hurt someone"), "{list}");
    let run = workshop.expect(2, "rule near-mis");
    assert!(run.stderr.contains("did you mean `near-miss`?") && run.stdout.is_empty(), "{}", run.stderr);
}
