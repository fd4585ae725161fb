//! JUnit XML, the part of it that build services agree on: a suite for each program and one for the set-up, a case for
//! each rule.
//!
//! Names stay the same from run to run and carry no numbers that change, so that services can compare two runs. A rule
//! fails where it found something at or above the severity that fails the run; what is accepted is a case skipped; a
//! scene that was refused is a case with an error. Rules that could not look, for want of a target for example, are left
//! out: they have not passed.

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use dryturn_check::{Finding, Rule, Severity};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use crate::outcome::{Outcome, Proved, Refusal};
use crate::summary::CAUTION;
use crate::text::plain;

/// Most findings told in one case.
const MOST: usize = 50;

/// One suite.
struct Suite<'a> {
    name: String,
    cases: Vec<Case<'a>>,
    /// What stands under it.
    told: String,
}

struct Case<'a> {
    name: &'a str,
    became: Became,
}

/// What became of a case.
enum Became {
    Passed(String),
    Failed(String),
    Skipped(String),
    Error(String),
}

/// The text of a JUnit file; findings of `least` or worse fail their case.
///
/// # Errors
///
/// None that can happen: it is written into memory.
pub fn junit(outcomes: &[Outcome], least: Severity) -> io::Result<String> {
    let mut suites: Vec<Suite<'_>> = outcomes.iter().flat_map(|outcome| suites_of(outcome, least)).collect();
    tell_apart(&mut suites);
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let counts = counts(suites.iter().flat_map(|suite| &suite.cases));
    let root = writer.create_element("testsuites").with_attribute(("name", "dryturn"));
    root.with_attributes(counts.iter().map(|(key, count)| (*key, count.as_str())))
        .write_inner_content(|writer| suites.iter().try_for_each(|suite| suite.write(writer)))?;
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A suite for the set-up, then one for each program.
fn suites_of(outcome: &Outcome, least: Severity) -> Vec<Suite<'_>> {
    let scene = outcome.scene.path.as_str();
    let proved = match &outcome.result {
        Ok(proved) => proved,
        Err(refusals) => return vec![refused(scene, refusals)],
    };
    let programs = proved.run.programs.iter().enumerate().map(|(program, run)| {
        let name = format!("{scene}: {}", run.file);
        suite(name, proved, Some(program), least)
    });
    [suite(scene.to_owned(), proved, None, least)].into_iter().chain(programs).collect()
}

fn refused<'a>(scene: &str, refusals: &[Refusal]) -> Suite<'a> {
    let told = |refusal: &Refusal| {
        let line = refusal.line.map(|line| format!(":{line}")).unwrap_or_default();
        format!("{}{line}: {}", refusal.file.path, refusal.text)
    };
    let text = refusals.iter().map(told).collect::<Vec<_>>().join("\n");
    Suite {
        name: scene.to_owned(),
        cases: vec![Case { name: "can be proved", became: Became::Error(text) }],
        told: String::new(),
    }
}

fn suite(name: String, proved: &Proved, program: Option<usize>, least: Severity) -> Suite<'_> {
    let findings: Vec<&Finding> = proved.run.findings.iter().filter(|found| found.program == program).collect();
    let mut by_rule: BTreeMap<&str, Vec<&Finding>> = BTreeMap::new();
    for found in findings {
        by_rule.entry(found.rule).or_default().push(found);
    }
    let looked = proved.rules.iter().filter(|rule| rule.of_scene == program.is_none()).map(|rule| rule.name);
    let names: BTreeSet<&str> = looked.chain(by_rule.keys().copied()).collect();
    let ordered = Rule::all().map(|rule| rule.name).filter(|name| names.contains(name));
    let case = |name| Case { name, became: result(by_rule.get(name).map_or(&[], Vec::as_slice), least) };
    let told = if program.is_none() { about(proved) } else { String::new() };
    Suite { name, cases: ordered.map(case).collect(), told }
}

/// What must be read with the cases.
fn about(proved: &Proved) -> String {
    let rows = proved.run.not_checked.iter().map(|row| format!("not checked: {}. {}\n", row.what, row.because));
    rows.collect::<String>() + CAUTION
}

fn result(findings: &[&Finding], least: Severity) -> Became {
    let (accepted, open): (Vec<&Finding>, Vec<&Finding>) = findings.iter().partition(|found| found.accepted.is_some());
    let failing: Vec<&Finding> = open.iter().copied().filter(|found| found.severity >= least).collect();
    match (failing.is_empty(), accepted.is_empty()) {
        (false, _) => Became::Failed(list(&failing)),
        (true, false) => Became::Skipped(list(&accepted)),
        (true, true) => Became::Passed(list(&open)),
    }
}

/// The first findings, a line each.
fn list(findings: &[&Finding]) -> String {
    let mut lines: Vec<String> = findings.iter().take(MOST).map(|found| told(found)).collect();
    if findings.len() > MOST {
        lines.push(format!("and {} more", findings.len() - MOST));
    }
    lines.join("\n")
}

fn told(found: &Finding) -> String {
    let lines = found.lines.map(|(first, last)| format!("lines {first} to {last}: ")).unwrap_or_default();
    let end = match &found.accepted {
        Some(why) => format!("accepted: {why}"),
        None => found.cure.clone(),
    };
    format!("{lines}{}: {} {end}", found.severity.word(), found.text)
}

/// A scene may run a file twice, and be named twice: from the second on they are numbered.
fn tell_apart(suites: &mut [Suite<'_>]) {
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    for suite in suites {
        let count = seen.entry(suite.name.clone()).and_modify(|count| *count += 1).or_insert(1);
        if *count > 1 {
            suite.name += &format!(" ({count})");
        }
    }
}

fn counts<'a>(cases: impl Iterator<Item = &'a Case<'a>>) -> [(&'static str, String); 4] {
    let mut counts = [0_usize; 4];
    for case in cases {
        counts[0] += 1;
        match case.became {
            Became::Passed(_) => {}
            Became::Failed(_) => counts[1] += 1,
            Became::Error(_) => counts[2] += 1,
            Became::Skipped(_) => counts[3] += 1,
        }
    }
    let keys = ["tests", "failures", "errors", "skipped"];
    std::array::from_fn(|index| (keys[index], counts[index].to_string()))
}

type Xml = Writer<Vec<u8>>;

impl Suite<'_> {
    fn write(&self, writer: &mut Xml) -> io::Result<()> {
        let name = safe(&self.name);
        let counts = counts(self.cases.iter());
        let element = writer.create_element("testsuite").with_attribute(("name", name.as_str()));
        let element = element.with_attributes(counts.iter().map(|(key, count)| (*key, count.as_str())));
        element.write_inner_content(|writer| {
            self.cases.iter().try_for_each(|case| case.write(&name, writer))?;
            output(writer, &self.told)
        })?;
        Ok(())
    }
}

impl Case<'_> {
    fn write(&self, suite: &str, writer: &mut Xml) -> io::Result<()> {
        let element = writer.create_element("testcase").with_attributes([("classname", suite), ("name", self.name)]);
        let (tag, text) = match &self.became {
            Became::Passed(text) if text.is_empty() => {
                element.write_empty()?;
                return Ok(());
            }
            Became::Passed(text) => {
                element.write_inner_content(|writer| output(writer, text))?;
                return Ok(());
            }
            Became::Failed(text) => ("failure", text),
            Became::Error(text) => ("error", text),
            Became::Skipped(text) => ("skipped", text),
        };
        let message = safe(text.lines().next().unwrap_or_default());
        element.write_inner_content(|writer| {
            let inner = writer.create_element(tag).with_attribute(("message", message.as_str()));
            inner.write_text_content(BytesText::new(&safe(text)))?;
            Ok(())
        })?;
        Ok(())
    }
}

fn output(writer: &mut Xml, text: &str) -> io::Result<()> {
    if !text.is_empty() {
        writer.create_element("system-out").write_text_content(BytesText::new(&safe(text)))?;
    }
    Ok(())
}

/// Text that XML 1.0 can hold: line ends stay, other control characters are spelled out.
fn safe(text: &str) -> String {
    let lines = text.lines().map(plain).collect::<Vec<_>>().join("\n");
    lines.replace(['\u{fffe}', '\u{ffff}'], "\u{fffd}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use quick_xml::{Reader, XmlVersion};

    /// Every test case: class name and name, what it holds, and the text in it.
    fn cases(text: &str) -> Vec<([String; 2], String, String)> {
        let mut reader = Reader::from_str(text);
        reader.config_mut().check_end_names = true;
        let (mut cases, mut open) = (Vec::new(), false);
        loop {
            match reader.read_event().unwrap() {
                Event::Eof => return cases,
                Event::Start(tag) | Event::Empty(tag) if tag.name().as_ref() == b"testcase" => {
                    let attribute = |name: &str| {
                        let attribute = tag.try_get_attribute(name).unwrap().unwrap();
                        attribute.normalized_value(XmlVersion::Implicit1_0).unwrap().into_owned()
                    };
                    cases.push(([attribute("classname"), attribute("name")], String::new(), String::new()));
                    open = true;
                }
                Event::Start(tag) if tag.name().as_ref() == b"testsuite" => open = false,
                Event::Start(tag) if open => {
                    cases.last_mut().unwrap().1 = String::from_utf8(tag.name().as_ref().to_vec()).unwrap();
                }
                Event::Text(words) if open => cases.last_mut().unwrap().2 += &words.decode().unwrap(),
                Event::GeneralRef(reference) if open => {
                    let name = reference.decode().unwrap().into_owned();
                    let resolved = quick_xml::escape::unescape(&format!("&{name};")).unwrap().into_owned();
                    cases.last_mut().unwrap().2 += &resolved;
                }
                Event::End(tag) if tag.name().as_ref() == b"testcase" => open = false,
                _ => {}
            }
        }
    }

    fn outcome(findings: Vec<Finding>) -> Outcome {
        let mut outcome = sample::outcome();
        if let Ok(proved) = &mut outcome.result {
            proved.run.findings = findings;
        }
        outcome
    }

    fn case<'a>(cases: &'a [([String; 2], String, String)], name: &str) -> (&'a str, &'a str) {
        let found = cases.iter().find(|case| case.0[1] == name).unwrap();
        (&found.1, found.2.trim())
    }

    #[test]
    fn rules_pass_fail_or_are_skipped() {
        let note = Finding { severity: Severity::Note, ..sample::finding("past-axis") };
        let seen = Finding { accepted: Some("jaws of wood".to_owned()), ..sample::finding("cutter-hits") };
        let outcomes = [outcome(vec![sample::finding("holder-hits"), note, seen]), sample::refused()];
        let text = junit(&outcomes, Severity::Error).unwrap();
        let all = cases(&text);
        assert_eq!(case(&all, "holder-hits").0, "failure");
        assert!(case(&all, "holder-hits").1.contains("Set the cutter out 2.4 mm further."));
        assert_eq!(case(&all, "past-axis").0, "system-out");
        assert_eq!(case(&all, "gouge"), ("", ""));
        assert_eq!(case(&all, "cutter-hits").0, "skipped");
        assert!(case(&all, "cutter-hits").1.ends_with("accepted: jaws of wood"));
        assert_eq!(case(&all, "can be proved"), ("error", "scenes/broken.toml:3: unknown key `dimeter`"));
        let tests = format!("tests=\"{}\" failures=\"1\" errors=\"1\" skipped=\"1\"", all.len());
        assert!(text.contains(&tests), "{text}");
        // A note fails where notes fail the run.
        assert_eq!(case(&cases(&junit(&outcomes, Severity::Note).unwrap()), "past-axis").0, "failure");
    }

    #[test]
    fn names_are_unique_and_do_not_change_with_what_is_found() {
        let mut twice = outcome(vec![]);
        if let Ok(proved) = &mut twice.result {
            proved.run.programs.push(proved.run.programs[0].clone());
        }
        let names = |outcomes: &[Outcome]| -> Vec<[String; 2]> {
            cases(&junit(outcomes, Severity::Error).unwrap()).into_iter().map(|case| case.0).collect()
        };
        let all = names(&[twice.clone(), twice]);
        assert_eq!(all.iter().collect::<BTreeSet<_>>().len(), all.len());
        assert_eq!(names(&[outcome(vec![])]), names(&[outcome(vec![sample::finding("gouge"); 3])]));
    }

    #[test]
    fn a_rule_that_could_not_look_has_not_passed() {
        let mut outcome = outcome(vec![sample::finding("gouge")]);
        if let Ok(proved) = &mut outcome.result {
            proved.rules.retain(|rule| !["gouge", "leftover"].contains(&rule.name));
        }
        let all = cases(&junit(&[outcome], Severity::Error).unwrap());
        assert!(!all.iter().any(|case| case.0[1] == "leftover"));
        assert_eq!(case(&all, "gouge").0, "failure", "what was found is told in any case");
    }

    #[test]
    fn hostile_text_comes_back_as_text() {
        let hostile = "]]> <b> & \u{0}\u{1b}\u{fffe} \u{202e} \"'";
        let finding = Finding { text: hostile.to_owned(), ..sample::finding("gouge") };
        let all = cases(&junit(&[outcome(vec![finding])], Severity::Error).unwrap());
        let (_, text) = case(&all, "gouge");
        assert!(text.contains("]]> <b> & \\u{0}\\u{1b}\u{fffd} \\u{202e} \"'"), "{text}");
    }

    #[test]
    fn a_flood_is_cut() {
        let text = junit(&[outcome(vec![sample::finding("gouge"); 100_000])], Severity::Error).unwrap();
        assert!(text.contains("and 99950 more") && text.len() < 100_000, "{}", text.len());
    }
}
