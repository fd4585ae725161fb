//! O words: what they begin, end, call or repeat.

use super::{Formula, Parser, Span};
use crate::diagnostic::Kind;
use crate::number::{self, Number};

/// A line that directs which line comes next.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// What it is called by.
    pub label: Label,
    /// What it does; `None`: it only bears the label.
    pub keyword: Option<Keyword>,
    /// Values in brackets after the keyword: a condition, a count, or the arguments of a call.
    pub arguments: Vec<Formula>,
    /// The O word and its keyword.
    pub span: Span,
    /// With the values.
    pub whole: Span,
}

/// What an O word is called.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Label {
    /// A number.
    Number(u32),
    /// A name, in lower case without blanks.
    Name(String),
}

impl std::fmt::Display for Label {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Label::Number(number) => write!(f, "O{number}"),
            Label::Name(name) => write!(f, "O<{name}>"),
        }
    }
}

/// What follows an O word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named as it is written")]
pub enum Keyword {
    Sub,
    EndSub,
    Call,
    Return,
    If,
    ElseIf,
    Else,
    EndIf,
    While,
    EndWhile,
    Do,
    Repeat,
    EndRepeat,
    Break,
    Continue,
}

/// Longer words before those they begin with.
const KEYWORDS: [(&str, Keyword); 15] = [
    ("SUB", Keyword::Sub),
    ("ENDSUB", Keyword::EndSub),
    ("CALL", Keyword::Call),
    ("RETURN", Keyword::Return),
    ("IF", Keyword::If),
    ("ELSEIF", Keyword::ElseIf),
    ("ELSE", Keyword::Else),
    ("ENDIF", Keyword::EndIf),
    ("WHILE", Keyword::While),
    ("ENDWHILE", Keyword::EndWhile),
    ("DO", Keyword::Do),
    ("REPEAT", Keyword::Repeat),
    ("ENDREPEAT", Keyword::EndRepeat),
    ("BREAK", Keyword::Break),
    ("CONTINUE", Keyword::Continue),
];

impl Keyword {
    /// As it is written.
    pub fn name(self) -> &'static str {
        KEYWORDS.iter().find(|(_, keyword)| *keyword == self).map_or("", |(name, _)| name)
    }

    /// How many values may follow it.
    fn arguments(self) -> std::ops::RangeInclusive<usize> {
        match self {
            Keyword::If | Keyword::ElseIf | Keyword::While | Keyword::Repeat => 1..=1,
            Keyword::Call => 0..=30,
            Keyword::Return | Keyword::EndSub => 0..=1,
            _ => 0..=0,
        }
    }
}

/// Name of a parameter or label as it is kept: lower case, no blanks.
pub(crate) fn plain_name(bytes: &[u8]) -> String {
    let kept = bytes.iter().filter(|&&byte| !number::is_blank(byte));
    kept.map(|byte| char::from(byte.to_ascii_lowercase())).collect()
}

impl Parser<'_> {
    /// An O word, or a colon in its place.
    pub(super) fn flow(&mut self) {
        let start = self.place;
        if !self.nothing_yet_but_number() {
            let message = "an O word stands first on its line";
            self.give_up(Kind::Flow, Span::new(start, start + 1), message, "");
            return;
        }
        self.place += 1;
        let Some(label) = self.label(start) else {
            return;
        };
        let keyword = KEYWORDS.iter().find(|(name, _)| self.pass(name)).map(|&(_, keyword)| keyword);
        let span = Span::new(start, self.place);
        let mut flow = Flow { label, keyword, arguments: Vec::new(), span, whole: span };
        if let Some(keyword) = keyword {
            if !self.arguments(&mut flow) {
                return;
            }
            flow.whole = Span::new(start, self.place);
            let wanted = keyword.arguments();
            if !wanted.contains(&flow.arguments.len()) {
                let message = match (*wanted.start(), *wanted.end()) {
                    (1, 1) => format!("{} needs one value in brackets", keyword.name()),
                    (_, 0) => format!("{} takes no value", keyword.name()),
                    (_, most) => format!("{} takes at most {most} values", keyword.name()),
                };
                self.give_up(Kind::Flow, span, message, "");
                return;
            }
        }
        self.line.flow = Some(flow);
    }

    fn label(&mut self, start: usize) -> Option<Label> {
        if self.peek() == Some(b'<') {
            let found = self.name();
            return match found {
                Ok(name) => Some(Label::Name(plain_name(&self.at.text[name.start as usize..name.end as usize]))),
                Err(fault) => {
                    self.give_up(
                        Kind::Unreadable,
                        Span::new(start, self.place.max(start + 1)),
                        fault.message,
                        fault.help,
                    );
                    None
                }
            };
        }
        let follows = self.peek();
        match number::read(self.at.text, self.place) {
            Number::Read { value, end, plain: true, .. } if value <= f64::from(u32::MAX) => {
                self.place = end;
                Some(Label::Number(value as u32))
            }
            Number::Read { end, .. } => {
                let message = "an O word is followed by digits or a <name>";
                self.give_up(Kind::Flow, Span::new(start, end), message, "");
                None
            }
            Number::Missing { .. } => {
                let computed = matches!(follows, Some(b'#' | b'['));
                let (kind, message, help) = if computed {
                    (Kind::NotUnderstood, "an O word whose number is reckoned is not taken", "write its number out")
                } else {
                    let help = "a program is named by O and digits; put other names in a comment";
                    (Kind::Unreadable, "O has no number", help)
                };
                self.give_up(kind, Span::new(start, start + 1), message, help);
                None
            }
        }
    }

    /// Values up to the end of the line or a comment. False: one could not be read.
    fn arguments(&mut self, flow: &mut Flow) -> bool {
        while self.peek().is_some_and(|byte| !matches!(byte, b'(' | b';')) {
            if self.peek() != Some(b'[') {
                let at = self.place;
                let message =
                    format!("only values in brackets stand after {}", flow.keyword.map_or("O", Keyword::name));
                self.give_up(Kind::Flow, Span::new(at, at + 1), message, "");
                return false;
            }
            match self.formula() {
                Ok(formula) => flow.arguments.push(formula),
                Err(fault) => {
                    self.give_up(Kind::Expression, self.one_byte(fault.at), fault.message, fault.help);
                    return false;
                }
            }
        }
        true
    }
}
