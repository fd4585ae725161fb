//! Comments that may be about a cutter.

use std::collections::{BTreeMap, BTreeSet};

use crate::listing::{self, Options};
use crate::program::CutterUse;

/// A comment and its line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comment {
    /// Line, from 1.
    pub line: u32,
    /// As it stands there, with its brackets or semicolon; bytes that are not UTF-8 become U+FFFD.
    pub text: String,
}

/// Lines at the head of a file where cutters are often listed.
const HEAD: u32 = 100;

/// Lines before a cutter's call, and after it, whose comments may be about it.
const BEFORE: u32 = 3;
const AFTER: u32 = 1;

/// Cutters whose comments are looked for.
const MOST: usize = 100;

/// The lines that may say something of the cutters of a program.
pub(super) struct Near {
    lines: BTreeSet<u32>,
}

impl Near {
    pub(super) fn to(cutters: &BTreeMap<u32, CutterUse>) -> Self {
        let around = cutters.values().take(MOST).flat_map(|call| {
            let first = call.line.saturating_sub(BEFORE).max(1);
            first..=call.line.saturating_add(AFTER)
        });
        Self { lines: around.chain(1..=HEAD).collect() }
    }

    pub(super) fn lines(&self) -> impl Iterator<Item = u32> {
        self.lines.iter().copied()
    }

    /// Comments on the line that calls a cutter; those straight above it, or else below; and those at the head of the
    /// file that name it.
    pub(super) fn comments(&self, number: u32, call: u32, texts: &BTreeMap<u32, Vec<u8>>) -> Vec<Comment> {
        let read = |line: u32| texts.get(&line).map(|text| Read::of(text, line)).unwrap_or_default();
        let above = (call.saturating_sub(BEFORE)..call).rev().map(read);
        let above: Vec<Comment> = above.take_while(|read| !read.commands).flat_map(|read| read.comments).collect();
        let mut found = read(call).comments;
        if found.is_empty() && above.is_empty() {
            found.extend(
                Some(read(call.saturating_add(AFTER))).filter(|read| !read.commands).unwrap_or_default().comments,
            );
        }
        found.extend(above);
        let head = texts.range(..=HEAD).flat_map(|(&line, text)| Read::of(text, line).comments);
        found.extend(head.filter(|comment| names(&comment.text, number)));
        found.sort_by_key(|comment| comment.line);
        found.dedup();
        found
    }
}

/// Comments at the head of the file, before anything is commanded.
pub(super) fn at_head(texts: &BTreeMap<u32, Vec<u8>>) -> Vec<Comment> {
    let head = texts.range(..=HEAD).map(|(&line, text)| Read::of(text, line));
    head.take_while(|read| !read.commands).flat_map(|read| read.comments).collect()
}

/// The comments of a line, and whether anything else stands on it.
#[derive(Default)]
struct Read {
    comments: Vec<Comment>,
    commands: bool,
}

impl Read {
    fn of(text: &[u8], line: u32) -> Self {
        let read = listing::parse_line(text, line, Options { line_limit: usize::MAX });
        let comment = |comment: &listing::Comment| Comment {
            line,
            text: String::from_utf8_lossy(&text[comment.span.start as usize..comment.span.end as usize]).into_owned(),
        };
        Self { comments: read.comments.iter().map(comment).collect(), commands: read.says_something() }
    }
}

/// Whether a comment names a cutter: a T that begins a word, and its number.
fn names(comment: &str, number: u32) -> bool {
    let bytes = comment.as_bytes();
    let begins = |place: usize| place == 0 || !bytes[place - 1].is_ascii_alphanumeric();
    (0..bytes.len()).any(|place| {
        let rest = bytes[place + 1..].trim_ascii_start();
        let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let named = std::str::from_utf8(&rest[..digits]).ok().and_then(|digits| digits.parse::<u32>().ok());
        bytes[place].eq_ignore_ascii_case(&b't') && begins(place) && named == Some(number)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Description;

    fn comments(text: &str, number: u32) -> Vec<String> {
        let (_, told) = Description::of(text.as_bytes());
        let call = told.cutters.into_iter().find(|call| call.number == number).expect("the cutter is called");
        call.comments.into_iter().map(|comment| format!("{} {}", comment.line, comment.text)).collect()
    }

    #[test]
    fn on_the_line_above_it_and_at_the_head() {
        let text =
            "(T1 ball 6)\n(T2  D=3)\n(T12 no)\nG21\n(rough)\n\nT1 M6 (now)\n(after)\nG0 X1\nT02 M6\n; fine\nG0 X2\nM2";
        assert_eq!(comments(text, 1), ["1 (T1 ball 6)", "5 (rough)", "7 (now)"]);
        assert_eq!(comments(text, 2), ["2 (T2  D=3)", "11 ; fine"]);
    }

    #[test]
    fn the_head_ends_where_something_is_commanded() {
        let head =
            |text: &str| Description::of(text.as_bytes()).1.head.into_iter().map(|comment| comment.text).collect();
        let found: Vec<String> = head("%\n(a post)\n\n; flat 6\nG21 (mm)\n(later)\nG0 X1\nM2\n%");
        assert_eq!(found, ["(a post)", "; flat 6"]);
        let found: Vec<String> = head("G21\n(late)\nM2");
        assert_eq!(found, [""; 0]);
    }

    #[test]
    fn comments_of_another_command_are_not_near() {
        assert_eq!(comments("(a part)\nG21 (mm)\nT1 M6\nG0 X1 (go)\nM2", 1), [""; 0]);
        assert_eq!(comments("T1 M6\n(caf\u{e9})\nG0 X1\nM2", 1), ["2 (caf\u{e9})"]);
    }

    #[test]
    fn names_begin_words_and_end_with_their_digits() {
        assert!(names("(t1)", 1) && names("(use T 01: ball)", 1) && names("T1", 1));
        assert!(!names("(ST1)", 1) && !names("(T12)", 1) && !names("(t)", 1) && !names("(T99999999999)", 1));
    }
}
