//! Findings as lines of a build log that GitHub's workflows show beside the code.
//!
//! What a scene accepts is left out: such a line cannot say so.

use std::fmt::Write;

use dryturn_check::Severity;

use crate::outcome::{FileName, Outcome, told};
use crate::text::plain;

/// A line for each finding, the dearest first, since only the first few are shown; scenes that were refused before them.
pub fn annotations(outcomes: &[Outcome]) -> String {
    let mut lines = String::new();
    for refusal in outcomes.iter().filter_map(|outcome| outcome.result.as_ref().err()).flatten() {
        let place = refusal.line.map(|line| format!(",line={line}")).unwrap_or_default();
        let file = property(&refusal.file);
        let _ = writeln!(lines, "::error file={file}{place},title=dryturn::{}", data(&refusal.text));
    }
    for told in told(outcomes).iter().filter(|told| told.found.accepted.is_none()) {
        let level = match told.found.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "notice",
        };
        let ((first, last), file) = (told.lines(), property(told.file));
        let text = data(format!("{} {}", told.found.text, told.found.cure).trim_end());
        let _ = writeln!(lines, "::{level} file={file},line={first},endLine={last},title={}::{text}", told.found.rule);
    }
    lines
}

/// Text behind the second pair of colons.
fn data(text: &str) -> String {
    plain(text).replace('%', "%25")
}

/// A path among the properties.
fn property(file: &FileName) -> String {
    data(&file.path).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn each_finding_is_a_line_and_what_is_accepted_is_none() {
        let mut outcome = sample::outcome();
        if let Ok(proved) = &mut outcome.result {
            proved.files[0].path = "a,b:c%.nc".to_owned();
            let accepted = Some("seen".to_owned());
            proved.run.findings.push(dryturn_check::Finding { accepted, ..sample::finding("gouge") });
        }
        assert_eq!(
            annotations(&[outcome, sample::refused()]),
            "::error file=scenes/broken.toml,line=3,title=dryturn::unknown key `dimeter`\n\
             ::error file=a%2Cb%3Ac%25.nc,line=12,endLine=14,title=holder-hits::The holder meets the chuck body while \
             the groove is cut. Set the cutter out 2.4 mm further.\n"
        );
    }
}
