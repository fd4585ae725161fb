//! A file of bytes as numbered lines.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// A line longer than this is refused unread, whatever the controller takes.
pub(crate) const REFUSED: usize = 1 << 16;

/// The byte-order mark of UTF-8.
pub(crate) const MARK: &[u8] = b"\xef\xbb\xbf";

/// Bytes of a line that anyone looks at: enough to tell that it is too long.
pub(crate) const KEPT: usize = REFUSED + 1;

/// The lines of a file: each ends at LF, CR LF or CR; a byte-order mark at the start and end-of-file
/// characters (0x1A) at the end belong to no line.
#[derive(Debug, Clone)]
pub(crate) struct Lines<'a> {
    rest: &'a [u8],
    number: u32,
}

impl<'a> Lines<'a> {
    pub(crate) fn new(source: &'a [u8]) -> Self {
        let rest = source.strip_prefix(MARK).unwrap_or(source);
        Self { rest: without_end_marks(rest), number: 0 }
    }

    /// The bytes from here to the end of the file.
    pub(crate) fn rest(&self) -> &'a [u8] {
        self.rest
    }
}

/// The text without the end-of-file characters after it.
pub(crate) fn without_end_marks(mut text: &[u8]) -> &[u8] {
    while let Some(shorter) = text.strip_suffix(b"\x1a") {
        text = shorter;
    }
    text
}

impl<'a> Iterator for Lines<'a> {
    /// Number from 1 and bytes without the line end.
    type Item = (u32, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        if self.rest.is_empty() {
            return None;
        }
        self.number = self.number.saturating_add(1);
        let end = self.rest.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
        let Some(end) = end else {
            return Some((self.number, std::mem::take(&mut self.rest)));
        };
        let line = &self.rest[..end];
        let break_length = if self.rest[end..].starts_with(b"\r\n") { 2 } else { 1 };
        self.rest = &self.rest[end + break_length..];
        Some((self.number, line))
    }
}

/// The text of one line, from 1, without its line end; bytes that are not UTF-8 become U+FFFD. Empty
/// for a line the file does not have. Reads the file from its start.
pub fn line_text(source: &[u8], line: u32) -> Cow<'_, str> {
    let index = line.saturating_sub(1) as usize;
    match Lines::new(source).nth(index) {
        Some((_, text)) if line > 0 => String::from_utf8_lossy(text),
        _ => Cow::Borrowed(""),
    }
}

/// The texts of several lines (from 1), as [`line_text`] gives each, in one pass; lines that are not there are left out.
pub fn line_texts<'a>(source: &'a [u8], wanted: &BTreeSet<u32>) -> BTreeMap<u32, Cow<'a, str>> {
    let last = wanted.last().copied().unwrap_or(0);
    let lines = Lines::new(source).take_while(|(line, _)| *line <= last);
    lines.filter(|(line, _)| wanted.contains(line)).map(|(line, text)| (line, String::from_utf8_lossy(text))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(source: &[u8]) -> Vec<(u32, &[u8])> {
        Lines::new(source).collect()
    }

    #[test]
    fn several_lines_are_those_of_each() {
        let source = b"a\r\n\nb\xff\rc\n";
        let found = line_texts(source, &BTreeSet::from([0, 1, 3, 9]));
        assert_eq!(found.keys().copied().collect::<Vec<_>>(), [1, 3]);
        assert!(found.iter().all(|(line, text)| *text == line_text(source, *line)));
    }

    #[test]
    fn every_kind_of_line_end() {
        let expected: Vec<(u32, &[u8])> = vec![(1, b"a"), (2, b""), (3, b"b")];
        assert_eq!(lines(b"a\n\nb"), expected);
        assert_eq!(lines(b"a\r\n\r\nb\r\n"), expected);
        assert_eq!(lines(b"a\r\rb\r"), expected);
        assert_eq!(lines(b"\xef\xbb\xbfa\n\nb\n\x1a\x1a"), expected);
        assert!(lines(b"").is_empty());
    }

    #[test]
    fn line_text_never_fails() {
        assert_eq!(line_text(b"a\nb\xff", 2), "b\u{fffd}");
        assert_eq!(line_text(b"a", 0), "");
        assert_eq!(line_text(b"a", 9), "");
    }
}
