//! `[[accept]]` and `accept-unused`.

use dryturn_check::{Finding, Proof, Severity, Verdict, gravest};

use crate::common::{job, run, silent};

/// A holding and a holder, so that nothing but findings speaks against a clear verdict.
const SCENE: &str = "
blank = { diameter = 40, length = 100 }
cutter = [{ diameter = 6, stickout = 60, holder = [[20, 20]] }]
chuck = { hold = 30, body = { diameter = 80, length = 45 }, jaws = { count = 4, width = 14, length = 22, height = 18 } }
machine = { start = { x = 50, z = 60, a = 0 } }
grid = { pitch = 1 }
";
/// The spindle stands still in line 3 and, after it has run, in line 7.
const STILL: &str = "M5\nG0 X30 Z30 A0 F600\nG1 Z18\nG0 Z30\nM3 S12000\nG0 X50\nM5\nG1 Z18\nG0 Z30\nM30\n";

fn proof(accept: &str) -> Proof {
    run(&job(&format!("{SCENE}{accept}"), &[STILL]))
}

fn of<'a>(proof: &'a Proof, rule: &str) -> Vec<&'a Finding> {
    proof.findings.iter().filter(|finding| finding.rule == rule).collect()
}

fn accepted(proof: &Proof) -> Vec<Option<&str>> {
    of(proof, "spindle-still").iter().map(|finding| finding.accepted.as_deref()).collect()
}

#[test]
fn without_it_all_counts() {
    let proof = proof("");
    assert_eq!(accepted(&proof), [None, None]);
    assert_eq!((proof.verdict, gravest(&proof.findings)), (Verdict::Stop, Some(Severity::Error)));
    silent("accept-unused", SCENE, &[STILL]);
}

#[test]
fn a_rule_alone_accepts_all_that_it_finds() {
    let proof = proof("[[accept]]\nrule = \"spindle-still\"\nwhy = \"seen\"\n");
    assert_eq!(accepted(&proof), [Some("seen"), Some("seen")]);
    assert_eq!(of(&proof, "accept-unused"), Vec::<&Finding>::new());
    assert!(gravest(&proof.findings) < Some(Severity::Error));
    assert_ne!(proof.verdict, Verdict::Stop);
}

#[test]
fn lines_must_hold_the_whole_finding() {
    let entry =
        |lines: &str| format!("[[accept]]\nrule = \"spindle-still\"\nprogram = 1\nlines = {lines}\nwhy = \"seen\"\n");
    let lines: Vec<_> = of(&proof(""), "spindle-still").iter().map(|finding| finding.lines.unwrap()).collect();
    assert_eq!(lines, [(3, 3), (8, 8)]);
    let first = proof(&entry("[3, 3]"));
    assert_eq!(accepted(&first), [Some("seen"), None]);
    assert_eq!(first.verdict, Verdict::Stop);
    assert_eq!(accepted(&proof(&entry("[1, 10]"))), [Some("seen"), Some("seen")]);
    let beside = proof(&entry("[4, 7]"));
    assert_eq!(accepted(&beside), [None, None]);
    let [unused] = of(&beside, "accept-unused")[..] else { panic!("{:#?}", beside.findings) };
    assert_eq!(unused.severity, Severity::Note);
    assert!(
        unused.text.contains("Entry 1") && unused.text.contains("in program 1 within lines 4 to 7"),
        "{}",
        unused.text
    );
    assert!(unused.cure.contains("2 findings of that rule are not accepted, the first in program 1, lines 3 to 3"));
}

#[test]
fn an_entry_that_matches_nothing_is_told_by_its_number() {
    let used = "[[accept]]\nrule = \"spindle-still\"\nwhy = \"seen\"\n";
    let proof = proof(&format!("{used}[[accept]]\nrule = \"gouge\"\nwhy = \"long ago\"\n"));
    let [unused] = of(&proof, "accept-unused")[..] else { panic!("{:#?}", proof.findings) };
    assert_eq!(unused.text, "Entry 2 of [[accept]], for gouge, matches nothing that was found.");
    assert_eq!(unused.cure, "Take the entry out of the scene.");
}

#[test]
fn a_finding_of_the_set_up_is_accepted_by_its_rule_alone() {
    let scene = SCENE.replace("length = 100", "length = 200");
    let entry = "[[accept]]\nrule = \"slender\"\nwhy = \"acetal\"\n";
    let slender = |entry: &str| {
        let proof = run(&job(&format!("{scene}{entry}"), &[STILL]));
        of(&proof, "slender")[0].accepted.clone()
    };
    assert_eq!(slender(entry), Some("acetal".to_owned()));
    assert_eq!(slender(&format!("{entry}program = 1\n")), None, "it belongs to no program");
}
