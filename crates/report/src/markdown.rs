//! A summary in Markdown (GitHub's dialect), short enough for a comment on a change.
//!
//! Whatever comes from files is escaped: no title, line or reason can open a table cell, a link, a tag, or call a person.

use std::fmt::Write;

use dryturn_check::{Clearance, Finding, Severity, Verdict};

use crate::cost::by_cost;
use crate::course;
use crate::outcome::{FileName, Outcome, Proved, Refusal};
use crate::summary::{CAUTION, Tally};
use crate::text::{number, plain};

/// Most findings told of a scene.
const MOST_FINDINGS: usize = 20;
/// Most clearances told of a scene.
const MOST_CLEARANCES: usize = 5;
/// Scenes are told in full until there are so many bytes: services take comments of 65 536 characters.
const MOST_BYTES: usize = 48_000;

/// The text of a Markdown file.
pub fn markdown(outcomes: &[Outcome]) -> String {
    let mut page = "## dryturn\n\n| scene | title | verdict | found |\n|---|---|---|---|\n".to_owned();
    for outcome in outcomes {
        page += &row(outcome);
    }
    for (index, outcome) in outcomes.iter().enumerate() {
        if page.len() > MOST_BYTES {
            let _ = write!(page, "\n… and {} more scenes.\n", outcomes.len() - index);
            break;
        }
        match &outcome.result {
            Ok(proved) => told(&mut page, &outcome.scene, proved),
            Err(refusals) => refused(&mut page, &outcome.scene, refusals),
        }
    }
    let _ = write!(page, "\n> {CAUTION}\n");
    page
}

fn row(outcome: &Outcome) -> String {
    let scene = code(&outcome.scene.path);
    match &outcome.result {
        Err(_) => format!("| {scene} | | ✗ not proved | |\n"),
        Ok(proved) => {
            let (title, verdict) = (escaped(&proved.run.title), verdict(proved.run.verdict));
            format!("| {scene} | {title} | {verdict} | {} |\n", Tally::of(&proved.run.findings).told())
        }
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "○ clear",
        Verdict::Caution => "▲ caution",
        Verdict::Stop => "■ stop",
    }
}

fn refused(page: &mut String, scene: &FileName, refusals: &[Refusal]) {
    let _ = write!(page, "\n### ✗ {}\n\nIt could not be proved:\n\n", code(&scene.path));
    for refusal in refusals {
        let line = refusal.line.map(|line| format!(":{line}")).unwrap_or_default();
        let _ = writeln!(page, "- {}: {}", code(&(refusal.file.path.clone() + &line)), escaped(&refusal.text));
    }
}

fn told(page: &mut String, scene: &FileName, proved: &Proved) {
    let run = &proved.run;
    let _ = write!(page, "\n### {} ({})\n\n", escaped(&run.title), code(&scene.path));
    let course: Vec<String> = course::lines(run).iter().map(|line| format!("- {}\n", escaped(line))).collect();
    if !course.is_empty() {
        let _ = write!(page, "At the machine:\n\n{}\n", course.concat());
    }
    findings(page, scene, proved);
    clearances(page, proved);
    let [blank, removed, left] =
        [run.blank_mm3, run.removed_mm3, run.left_mm3].map(|volume| number(volume / 1000.0, 2));
    let _ = write!(page, "Volume, cm³: blank {blank} = removed {removed} + left {left}\n\n");
    if !run.not_checked.is_empty() {
        let what: Vec<String> = run.not_checked.iter().map(|row| escaped(&row.what)).collect();
        let _ = writeln!(page, "Not checked, so not known to be safe: {}", what.join(", "));
    }
}

fn findings(page: &mut String, scene: &FileName, proved: &Proved) {
    let ordered = by_cost(&proved.run.findings);
    if ordered.is_empty() {
        *page += "Nothing was found.\n\n";
        return;
    }
    *page += "| | rule | where | what | what to do |\n|---|---|---|---|---|\n";
    for found in ordered.iter().take(MOST_FINDINGS) {
        *page += &finding(scene, proved, found);
    }
    if ordered.len() > MOST_FINDINGS {
        let _ = writeln!(page, "\n… and {} more.", ordered.len() - MOST_FINDINGS);
    }
    page.push('\n');
}

fn finding(scene: &FileName, proved: &Proved, found: &Finding) -> String {
    let mark = match (&found.accepted, found.severity) {
        (Some(_), severity) => format!("✓ accepted {}", severity.word()),
        (None, Severity::Error) => "■ error".to_owned(),
        (None, Severity::Warning) => "▲ warning".to_owned(),
        (None, Severity::Note) => "· note".to_owned(),
    };
    let file = found.program.and_then(|program| proved.files.get(program)).unwrap_or(scene);
    let lines = match found.lines {
        Some((first, last)) if last > first => format!(":{first}-{last}"),
        Some((first, _)) => format!(":{first}"),
        None => String::new(),
    };
    let worst = match (found.worst_line, found.lines) {
        (Some(worst), Some((first, last))) if first < worst && worst <= last => format!(", worst in {worst}"),
        _ => String::new(),
    };
    let (place, text) = (code(&(file.path.clone() + &lines)) + &worst, escaped(&found.text));
    let cure = match &found.accepted {
        Some(why) => format!("accepted: {}", escaped(why)),
        None => escaped(&found.cure),
    };
    format!("| {mark} | {} | {place} | {text} | {cure} |\n", found.rule)
}

fn clearances(page: &mut String, proved: &Proved) {
    let mut rows: Vec<&Clearance> = proved.run.clearances.iter().collect();
    if rows.is_empty() {
        return;
    }
    rows.sort_by(|one, other| one.least_mm.total_cmp(&other.least_mm));
    *page += "| closest approach, mm | of | to | cutter | where |\n|--:|---|---|---|---|\n";
    for row in rows.iter().take(MOST_CLEARANCES) {
        let file = proved.files.get(row.program).map_or("", |file| file.path.as_str());
        let place = code(&format!("{file}:{}", row.line));
        let (moving, fixed) = (escaped(&row.moving), escaped(&row.fixed));
        let _ = writeln!(page, "| {} | {moving} | {fixed} | {} | {place} |", number(row.least_mm, 2), row.cutter);
    }
    page.push('\n');
}

/// Text that Markdown shows as it is, on one line, anywhere.
pub(crate) fn escaped(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in plain(text).chars() {
        match character {
            '<' => shown.push_str("&lt;"),
            '>' => shown.push_str("&gt;"),
            '&' => shown.push_str("&amp;"),
            // Nobody is called: an empty comment parts the mark from the name.
            '@' => shown.push_str("@<!-- -->"),
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '#' | '!' | '|' | '~' | '$' => {
                shown.extend(['\\', character]);
            }
            character => shown.push(character),
        }
    }
    shown
}

/// Text as code, on one line, also within a table.
fn code(text: &str) -> String {
    let text = plain(text).replace('|', "\\|");
    let longest = text.split(|character| character != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let gap = if text.is_empty() || longest > 0 { " " } else { "" };
    format!("{fence}{gap}{text}{gap}{fence}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_page_tells_verdict_place_cure_and_caution() {
        let page = markdown(&[sample::outcome(), sample::refused()]);
        assert_eq!(page, include_str!("../tests/data/summary.md"));
    }

    #[test]
    fn what_comes_from_files_cannot_break_out() {
        assert_eq!(escaped("a|b`c<script>"), "a\\|b\\`c&lt;script&gt;");
        assert_eq!(escaped("two\nlines @somebody [x](y)"), "two\\\\u\\{a\\}lines @<!-- -->somebody \\[x\\](y)");
        assert_eq!(code("a`b|c"), "`` a`b\\|c ``");
        assert_eq!(code("part.nc:3"), "`part.nc:3`");
        assert_eq!(code(""), "`  `");
    }

    #[test]
    fn a_flood_stays_short_enough_for_a_comment() {
        let mut outcome = sample::outcome();
        if let Ok(proved) = &mut outcome.result {
            proved.run.findings = vec![sample::finding("gouge"); 5000];
        }
        let page = markdown(&vec![outcome; 40]);
        assert!(page.chars().count() < 65_536 && page.contains("more scenes"), "{}", page.len());
        assert!(page.ends_with(&format!("> {CAUTION}\n")));
    }
}
