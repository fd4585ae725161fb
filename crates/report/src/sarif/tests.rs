//! Files of all kinds against the schema of the standard, and what services make of them.

use super::*;
use crate::outcome::Quote;
use crate::sample;
use dryturn_check::Finding;
use serde_json::Value;
use std::collections::BTreeSet;

fn log(outcomes: &[Outcome]) -> Value {
    let schema = include_str!("../../tests/data/sarif-schema-2.1.0.json");
    // The pattern of languages has a bracket that a strict reader of patterns refuses.
    let schema = serde_json::from_str(&schema.replace("{2}]?$", "{2}$")).unwrap();
    let validator = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    let value: Value = serde_json::from_str(&sarif(outcomes).unwrap()).unwrap();
    let errors: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
    assert_eq!(errors, Vec::<String>::new());
    // It must be able to refuse.
    let mut wrong = value.clone();
    wrong["runs"][0]["results"] = serde_json::json!([{ "level": "error" }]);
    assert!(!validator.is_valid(&wrong));
    value
}

fn with(findings: Vec<Finding>, quotes: Vec<Option<Quote>>) -> Outcome {
    let mut outcome = sample::outcome();
    if let Ok(proved) = &mut outcome.result {
        (proved.run.findings, proved.quotes) = (findings, quotes);
    }
    outcome
}

fn fingerprints(log: &Value) -> Vec<String> {
    let results = log["runs"][0]["results"].as_array().unwrap().iter();
    results
        .map(|result| result["partialFingerprints"]["primaryLocationLineHash"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn a_finding_has_its_place_and_its_cure() {
    let log = log(&[sample::outcome()]);
    let run = &log["runs"][0];
    let result = &run["results"][0];
    let rule = &run["tool"]["driver"]["rules"][result["ruleIndex"].as_u64().unwrap() as usize];
    assert_eq!((&result["ruleId"], &rule["id"]), (&"holder-hits".into(), &"holder-hits".into()));
    assert_eq!(result["level"], "error");
    let place = &result["locations"][0]["physicalLocation"];
    assert_eq!(
        place["artifactLocation"],
        serde_json::json!({ "uri": "scenes/reel/groove.nc", "uriBaseId": "%SRCROOT%" })
    );
    assert_eq!(
        place["region"],
        serde_json::json!({ "startLine": 12, "startColumn": 1, "endLine": 14, "endColumn": 7 })
    );
    let markdown = result["message"]["markdown"].as_str().unwrap();
    assert!(markdown.contains("**What to do:** Set the cutter out 2.4 mm further."), "{markdown}");
    assert!(result.get("suppressions").is_none());
    assert_eq!(run["invocations"][0]["executionSuccessful"], true);
}

#[test]
fn every_rule_has_help() {
    let log = log(&[]);
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    assert_eq!(rules.len(), Rule::all().count());
    for rule in rules {
        let help = &rule["help"];
        assert!(help["text"].as_str().unwrap().contains("accept"), "{rule}");
        assert!(help["markdown"].as_str().unwrap().contains("**When:**"), "{rule}");
    }
}

#[test]
fn what_is_accepted_is_suppressed() {
    let accepted = Finding { accepted: Some("jaws of wood".to_owned()), ..sample::finding("cutter-hits") };
    let log = log(&[with(vec![accepted, sample::finding("gouge")], vec![None, None])]);
    let results = &log["runs"][0]["results"];
    assert_eq!((&results[0]["ruleId"], &results[1]["ruleId"]), (&"gouge".into(), &"cutter-hits".into()));
    assert_eq!(results[1]["suppressions"][0]["justification"], "jaws of wood");
}

#[test]
fn a_scene_that_was_refused_is_a_notification() {
    let log = log(&[sample::refused(), sample::outcome()]);
    let run = &log["runs"][0];
    assert_eq!(log["runs"].as_array().unwrap().len(), 1);
    assert_eq!(run["results"].as_array().unwrap().len(), 1);
    let invocation = &run["invocations"][0];
    assert_eq!(invocation["executionSuccessful"], false);
    let notification = &invocation["toolExecutionNotifications"][0];
    assert_eq!(notification["message"]["text"], "unknown key `dimeter`");
    assert_eq!(notification["locations"][0]["physicalLocation"]["region"]["startLine"], 3);
}

#[test]
fn the_dearest_are_kept_of_a_flood_and_the_file_stays_small() {
    let mut findings = vec![sample::finding("leftover"); 99_999];
    findings.push(sample::finding("cutter-hits"));
    let quotes = vec![Some(Quote::new("G1 X3 A0 F0.4", "G0 Z40")); findings.len()];
    let outcome = with(findings, quotes);
    assert!(sarif(std::slice::from_ref(&outcome)).unwrap().len() < 10_000_000);
    let log = log(&[outcome]);
    let run = &log["runs"][0];
    assert_eq!(run["results"].as_array().unwrap().len(), 5000);
    assert_eq!(run["results"][0]["ruleId"], "cutter-hits");
    let text = run["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"].as_str().unwrap();
    assert!(text.starts_with("95000 findings") && text.contains("100000"), "{text}");
    assert_eq!(run["invocations"][0]["executionSuccessful"], true);
    assert_eq!(fingerprints(&log).into_iter().collect::<BTreeSet<_>>().len(), 5000);
}

#[test]
fn fingerprints_follow_the_text_and_not_the_number_of_a_line() {
    let at =
        |line: u32, cutter| Finding { lines: Some((line, line)), cutter: Some(cutter), ..sample::finding("gouge") };
    let quote = |text: &str| Some(Quote::new(text, text));
    // Twice on one line, with another cutter on it, and on another line with the same text.
    let findings = |line| vec![at(line, 1), at(line, 1), at(line, 2), at(line + 9, 1)];
    let quotes = ["G1 X3", "G1 X3", "G1 X3", " G1 X3 "].map(quote).to_vec();
    let before = fingerprints(&log(&[with(findings(5), quotes.clone())]));
    assert_eq!(before.iter().collect::<BTreeSet<_>>().len(), 4);
    let later = fingerprints(&log(&[with(findings(50), quotes.clone())]));
    assert_eq!(before, later);
    // The hash is part of what others keep: it may not change from one release to the next.
    assert_eq!(before[0], "7641cb474d025dff4ba85ac9559cb7d1");
    let other = fingerprints(&log(&[with(vec![at(5, 1)], vec![quote("G1 X4")])]));
    assert!(!before.contains(&other[0]));
}

#[test]
fn hostile_names_and_texts_stay_text() {
    let mut outcome = sample::outcome();
    if let Ok(proved) = &mut outcome.result {
        proved.files[0].path = "a b/50% #1?/ø.nc".to_owned();
        proved.run.findings[0].text = "<img src=x> [x](javascript:1) \u{1b}[31m `|".to_owned();
    }
    let log = log(&[outcome]);
    let result = &log["runs"][0]["results"][0];
    let place = &result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(place, "a%20b/50%25%20%231%3F/%C3%B8.nc");
    let markdown = result["message"]["markdown"].as_str().unwrap();
    assert!(markdown.starts_with("&lt;img src=x&gt; \\[x\\](javascript:1)"), "{markdown}");
    assert!(!log.to_string().contains("\\u001b"));
}

#[test]
fn a_file_outside_is_named_in_full() {
    let outside = |path: &str| artifact(&FileName { path: path.to_owned(), inside: false });
    assert_eq!(outside("/home/shop/a b.nc").uri, "file:///home/shop/a%20b.nc");
    assert_eq!(outside("C:/shop/a.nc").uri, "file:///C%3A/shop/a.nc");
    assert_eq!(outside("/a.nc").uri_base_id, None);
}
