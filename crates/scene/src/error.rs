//! What can be wrong with a scene, and how it is shown: file, line, caret and the way out.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

/// How bad a remark on a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The job cannot be read.
    Error,
    /// Readable, but likely not what was meant.
    Warning,
    /// Worth knowing.
    Note,
}

/// A remark on one line of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineRemark {
    /// The file, as the user named it.
    pub path: String,
    /// Number of the line, from 1.
    pub line: usize,
    /// The line, without its end.
    pub text: String,
    /// The bytes of the line the remark is about.
    pub span: Range<usize>,
    /// What is wrong, as a sentence without a full stop.
    pub message: String,
    /// A few words under the caret; may be empty.
    pub label: String,
    /// The way out, if one is known.
    pub help: Option<String>,
    /// How bad it is.
    pub severity: Severity,
}

/// Why a scene or a job could not be read.
#[derive(Debug, thiserror::Error)]
pub enum SceneError {
    /// The file could not be opened or read.
    #[error("cannot read {path}: {source}")]
    Read {
        /// The file, as the user named it.
        path: String,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file is not what it should be, as a whole.
    #[error("{path}: {message}")]
    File {
        /// The file, as the user named it.
        path: String,
        /// What is wrong with it.
        message: String,
        /// The way out.
        help: String,
    },
    /// Lines of a scene or a program are wrong.
    #[error("{}", summary(.remarks, *.left_out))]
    Lines {
        /// What is wrong, in the order of the files.
        remarks: Vec<LineRemark>,
        /// How many more there are than are kept here.
        left_out: usize,
    },
    /// An argument that stands for a part of a scene is wrong.
    #[error("`{text}` is not {what}: {message}")]
    Argument {
        /// What the argument stands for, with its article: `a blank`.
        what: &'static str,
        /// The argument.
        text: String,
        /// What is wrong with it.
        message: String,
        /// How it is written.
        help: &'static str,
    },
    /// The job is larger than can be handled.
    #[error("{message}")]
    TooLarge {
        /// What is too large, and what would fit.
        message: String,
    },
}

fn summary(remarks: &[LineRemark], left_out: usize) -> String {
    let Some(first) = remarks.first() else { return String::new() };
    let more = match remarks.len() - 1 + left_out {
        0 => String::new(),
        1 => " (and 1 more)".to_owned(),
        n => format!(" (and {n} more)"),
    };
    format!("{}:{}: {}{more}", first.path, first.line, first.message)
}

/// Most remarks that are shown at once.
const MOST: usize = 20;

impl SceneError {
    /// The remarks, of which the first are kept.
    pub(crate) fn lines(mut remarks: Vec<LineRemark>) -> SceneError {
        let left_out = remarks.len().saturating_sub(MOST);
        remarks.truncate(MOST);
        SceneError::Lines { remarks, left_out }
    }

    /// The error as it is shown on a terminal, several lines long and ending in a newline.
    pub fn render(&self, color: bool) -> String {
        match self {
            SceneError::Lines { remarks, left_out } => {
                let mut parts: Vec<String> = remarks.iter().map(|remark| remark.render(color)).collect();
                if *left_out > 0 {
                    parts.push(format!("and {left_out} more like these\n"));
                }
                parts.join("\n")
            }
            SceneError::File { help, .. } => plain(&self.to_string(), help, color),
            SceneError::Argument { help, .. } => plain(&self.to_string(), help, color),
            SceneError::Read { .. } | SceneError::TooLarge { .. } => plain(&self.to_string(), "", color),
        }
    }
}

fn renderer(color: bool) -> Renderer {
    if color { Renderer::styled() } else { Renderer::plain() }
}

fn plain(message: &str, help: &str, color: bool) -> String {
    let mut group = Group::with_title(Level::ERROR.primary_title(message));
    if !help.is_empty() {
        group = group.element(Level::HELP.message(help));
    }
    ended(renderer(color).render(&[group]))
}

fn ended(mut text: String) -> String {
    text.push('\n');
    text
}

/// Longest part of a line that is shown, bytes.
const SHOWN: usize = 160;

impl LineRemark {
    /// The remark with its line and a caret, ending in a newline. Of a very long line only the part about the caret
    /// is shown, and the place is told in words.
    pub fn render(&self, color: bool) -> String {
        let (text, span, column) = excerpt(&self.text, self.span.clone());
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
            Severity::Note => Level::NOTE,
        };
        let label = match column {
            Some(column) if self.label.is_empty() => format!("at character {column} of the line"),
            Some(column) => format!("{} (at character {column} of the line)", self.label),
            None => self.label.clone(),
        };
        let annotation = AnnotationKind::Primary.span(span);
        let annotation = if label.is_empty() { annotation } else { annotation.label(label) };
        let snippet = Snippet::source(text).line_start(self.line).path(self.path.as_str()).annotation(annotation);
        let mut group = Group::with_title(level.primary_title(self.message.as_str())).element(snippet);
        if let Some(help) = &self.help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        ended(renderer(color).render(&[group]))
    }
}

/// The part of a line that is shown, the span in it, and the column if the line was cut.
fn excerpt(line: &str, span: Range<usize>) -> (String, Range<usize>, Option<usize>) {
    let start = floor_boundary(line, span.start);
    let end = floor_boundary(line, span.end).max(start);
    if line.len() <= SHOWN {
        return (line.to_owned(), start..end, None);
    }
    let from = floor_boundary(line, start.saturating_sub(SHOWN / 2));
    let to = floor_boundary(line, from + SHOWN);
    let column = line[..start].chars().count() + 1;
    (line[from..to].to_owned(), start - from..end.min(to) - from, Some(column))
}

fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    fn remark(text: &str, span: Range<usize>) -> LineRemark {
        LineRemark {
            path: "part.nc".into(),
            line: 12,
            text: text.into(),
            span,
            message: "unknown word `Q`".into(),
            label: "here".into(),
            help: Some("leave it out".into()),
            severity: Severity::Error,
        }
    }

    #[test]
    fn a_remark_shows_its_line_and_a_caret() {
        let expected = "\
error: unknown word `Q`
  --> part.nc:12:7
   |
12 | G1 X1 Q2
   |       ^^ here
   |
   = help: leave it out
";
        assert_eq!(remark("G1 X1 Q2", 6..8).render(false), expected);
    }

    #[test]
    fn a_line_of_ten_megabytes_is_shown_in_part() {
        let line = format!("{}Q2{}", "X1 ".repeat(3_000_000), " Y1".repeat(400_000));
        let shown = remark(&line, 9_000_000..9_000_002).render(false);
        assert!(shown.len() < 600, "{}", shown.len());
        assert!(shown.contains("at character 9000001 of the line"), "{shown}");
    }

    #[test]
    fn spans_that_miss_the_text_do_not_panic() {
        for span in [0..0, 3..900, 900..901, 2..3] {
            assert!(remark("äöü", span).render(true).contains("unknown word"));
        }
        assert!(remark("", 0..0).render(false).contains("part.nc"));
    }
}
