//! Text for people in headed sections, folded to the width there is.

use std::fmt::Write;

use dryturn_report::{plain, wrapped};

use crate::width;

/// A heading with its lines further in; nothing where there are none.
pub(crate) fn section(text: &mut String, heading: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{heading}");
    lines.iter().for_each(|line| paragraph(text, 2, line));
}

/// A text wrapped to the width, lines after the first two further in.
pub(crate) fn paragraph(text: &mut String, indent: usize, line: &str) {
    for (index, line) in wrapped(&plain(line), width().clamp(40, 100).saturating_sub(indent + 2)).iter().enumerate() {
        let further = if index > 0 && indent > 0 { 2 } else { 0 };
        let _ = writeln!(text, "{:1$}{line}", "", indent + further);
    }
}
