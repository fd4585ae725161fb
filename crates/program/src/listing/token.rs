//! A text as tokens that lie one behind the other: every byte belongs to exactly one of them.

use super::{Line, Options, read_line};
use crate::diagnostic::Span;
use crate::text::{Lines, MARK};

/// What a [`Token`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// Blanks and tabs between other tokens.
    Blank,
    /// `/` at the start of a line.
    Slash,
    /// N and digits.
    LineNumber,
    /// A letter and its number or formula.
    Word,
    /// `#` with an index or name, `=` and a value.
    Setting,
    /// An O word with its keyword and values.
    Flow,
    /// A comment with its brackets or semicolon.
    Comment,
    /// `%` at the start of a line.
    Percent,
    /// What was not read. A diagnostic of [`super::parse_line`] says why.
    Unread,
    /// LF, CR LF or CR.
    LineEnd,
    /// The byte-order mark before the first line.
    ByteOrderMark,
    /// End-of-file characters (0x1A) behind the last line.
    EndMark,
}

/// A stretch of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Its line, from 1; that of a byte-order mark is 1, of an end mark the last one.
    pub line: u32,
    /// Its bytes in the text; never empty.
    pub span: Span,
}

/// The tokens of a text in their order. The first starts with the text, each other one where the one before it ends, and
/// the last ends with the text.
///
/// ```
/// use dryturn_program::listing::{TokenKind, tokens};
/// let found: Vec<TokenKind> = tokens(b"/N5 X1 (c)\n").iter().map(|token| token.kind).collect();
/// use TokenKind::{Blank, Comment, LineEnd, LineNumber, Slash, Word};
/// assert_eq!(found, [Slash, LineNumber, Blank, Word, Blank, Comment, LineEnd]);
/// ```
pub fn tokens(source: &[u8]) -> Vec<Token> {
    let mut lines = Lines::new(source);
    let mark = if source.starts_with(MARK) { MARK.len() } else { 0 };
    let end = mark + lines.rest().len();
    let mut row = Row { tokens: Vec::new(), end: 0, line: 1 };
    row.up_to(mark, TokenKind::ByteOrderMark);
    let mut line = Line::default();
    while let Some((number, text)) = lines.next() {
        row.line = number;
        let start = row.end;
        read_line(&mut line, text, number, Options { line_limit: usize::MAX });
        for (kind, span) in pieces(&line) {
            row.up_to(start + span.start as usize, TokenKind::Blank);
            row.up_to(start + span.end as usize, kind);
        }
        row.up_to(start + text.len(), TokenKind::Blank);
        row.up_to(end - lines.rest().len(), TokenKind::LineEnd);
    }
    row.up_to(source.len(), TokenKind::EndMark);
    row.tokens
}

/// Tokens laid one behind the other.
struct Row {
    tokens: Vec<Token>,
    end: usize,
    line: u32,
}

impl Row {
    /// Lays one from the end of the last up to a place; none if that is no further.
    fn up_to(&mut self, end: usize, kind: TokenKind) {
        if end > self.end {
            self.tokens.push(Token { kind, line: self.line, span: Span::new(self.end, end) });
            self.end = end;
        }
    }
}

/// All of a line but its blanks, in order.
fn pieces(line: &Line) -> Vec<(TokenKind, Span)> {
    let mut pieces: Vec<(TokenKind, Span)> = Vec::new();
    pieces.extend(line.slash.map(|span| (TokenKind::Slash, span)));
    pieces.extend(line.number_spans.iter().map(|&span| (TokenKind::LineNumber, span)));
    pieces.extend(line.words.iter().map(|word| (TokenKind::Word, word.span)));
    pieces.extend(line.settings.iter().map(|setting| (TokenKind::Setting, setting.span)));
    pieces.extend(line.flow.iter().map(|flow| (TokenKind::Flow, flow.whole)));
    pieces.extend(line.comments.iter().map(|comment| (TokenKind::Comment, comment.span)));
    pieces.extend(line.percent.map(|span| (TokenKind::Percent, span)));
    pieces.extend(line.unread.map(|span| (TokenKind::Unread, span)));
    pieces.sort_by_key(|(_, span)| span.start);
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(source: &[u8]) -> String {
        let found = tokens(source);
        let text = |token: &Token| {
            let bytes = &source[token.span.start as usize..token.span.end as usize];
            format!("{:?} {}", token.kind, bytes.escape_ascii())
        };
        found.iter().map(text).collect::<Vec<_>>().join(" | ")
    }

    #[test]
    fn every_kind() {
        assert_eq!(told(b""), "");
        assert_eq!(
            told(b"\xef\xbb\xbf% \n/N5 N6G1 X-1.5(a);b\r\n\r\x1a\x1a"),
            "ByteOrderMark \\xef\\xbb\\xbf | Percent % | Blank   | LineEnd \\n | Slash / | LineNumber N5 | Blank   | \
             LineNumber N6 | Word G1 | Blank   | Word X-1.5 | Comment (a) | Comment ;b | LineEnd \\r\\n | \
             LineEnd \\r | EndMark \\x1a\\x1a"
        );
        assert_eq!(told(b"#1=[2+3] X#1 "), "Setting #1=[2+3] | Blank   | Word X#1 | Blank  ");
        assert_eq!(told(b"o1 call [1] [2](c)"), "Flow o1 call [1] [2] | Comment (c)");
        assert_eq!(told(b"G1 Xabc Y2 (c)"), "Word G1 | Blank   | Unread Xabc Y2 (c)");
        assert_eq!(told(b"(a (b) c"), "Comment (a (b) | Unread  c");
    }
}
