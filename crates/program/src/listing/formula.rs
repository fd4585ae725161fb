//! Parameters, expressions and functions (NISTIR 6556 sections 3.3.2.2 to 3.3.2.4) into postfix steps.
//!
//! The standard knows no comparison. In a bracket that holds one, AND, OR and XOR bind loosest, so that
//! `[#1 GT 2 AND #2 LT 3]` means what it says; in any other they bind like `+`, as the standard has it.

use super::{Parser, Span};
use crate::diagnostic::Kind;
use crate::number::{self, Number};

/// One step of a formula in postfix order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Puts a number on the stack.
    Number(f64),
    /// Takes an index off the stack and puts the parameter's value on it.
    Parameter,
    /// Puts the value of a named parameter on the stack; the span is its name without the brackets.
    Named(Span),
    /// Replaces the top by its negative.
    Negate,
    /// Replaces the top by a function of it.
    Function(Function),
    /// Takes two numbers off the stack, the second operand first, and puts the result on it.
    Binary(Operator),
}

/// A function of one number; angles in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named as in the standard")]
pub enum Function {
    Abs,
    Acos,
    Asin,
    Cos,
    Exp,
    /// The next lower whole number.
    Fix,
    /// The next higher whole number.
    Fup,
    Ln,
    Round,
    Sin,
    Sqrt,
    Tan,
}

/// An operation on two numbers. Results of logic and comparison are 1 or 0; other than 0 is true.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is named as it is written")]
pub enum Operator {
    Power,
    Times,
    Over,
    Mod,
    Plus,
    Minus,
    And,
    Or,
    Xor,
    Equal,
    NotEqual,
    Greater,
    GreaterOrEqual,
    Less,
    LessOrEqual,
    /// `ATAN[y]/[x]`, degrees.
    Atan,
}

/// A stretch of a line's steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Formula {
    pub(crate) start: u32,
    pub(crate) end: u32,
}

/// Why no formula could be read, and where.
pub(super) struct Fault {
    pub(super) at: usize,
    pub(super) message: &'static str,
    pub(super) help: &'static str,
}

/// Deepest nesting of brackets; the stack of the reading itself is bounded by it.
const DEEPEST: usize = 64;

/// Most steps on one line.
const MOST_STEPS: usize = 4096;

const FUNCTIONS: [(&str, Function); 12] = [
    ("ABS", Function::Abs),
    ("ACOS", Function::Acos),
    ("ASIN", Function::Asin),
    ("COS", Function::Cos),
    ("EXP", Function::Exp),
    ("FIX", Function::Fix),
    ("FUP", Function::Fup),
    ("LN", Function::Ln),
    ("ROUND", Function::Round),
    ("SIN", Function::Sin),
    ("SQRT", Function::Sqrt),
    ("TAN", Function::Tan),
];

const COMPARISONS: [(&str, Operator); 6] = [
    ("EQ", Operator::Equal),
    ("NE", Operator::NotEqual),
    ("GT", Operator::Greater),
    ("GE", Operator::GreaterOrEqual),
    ("LT", Operator::Less),
    ("LE", Operator::LessOrEqual),
];

/// `**` before `*`, so that the longer one is found.
const OPERATORS: [(&str, Operator); 9] = [
    ("**", Operator::Power),
    ("*", Operator::Times),
    ("/", Operator::Over),
    ("MOD", Operator::Mod),
    ("+", Operator::Plus),
    ("-", Operator::Minus),
    ("AND", Operator::And),
    ("OR", Operator::Or),
    ("XOR", Operator::Xor),
];

impl Operator {
    /// How tightly it binds, in a bracket that holds a comparison or not.
    fn strength(self, compares: bool) -> u8 {
        match self {
            Operator::Power | Operator::Atan => 5,
            Operator::Times | Operator::Over | Operator::Mod => 4,
            Operator::And | Operator::Or | Operator::Xor if compares => 1,
            Operator::Plus | Operator::Minus | Operator::And | Operator::Or | Operator::Xor => 3,
            _ => 2,
        }
    }
}

impl Parser<'_> {
    /// Reads a value that is no plain number: a parameter, an expression or a function, maybe signed.
    pub(super) fn formula(&mut self) -> Result<Formula, Fault> {
        let start = self.line.steps.len();
        self.value(0)?;
        Ok(Formula { start: start as u32, end: self.line.steps.len() as u32 })
    }

    /// The byte that comes next, blanks left out.
    pub(super) fn peek(&mut self) -> Option<u8> {
        while self.at.text.get(self.place).is_some_and(|&byte| number::is_blank(byte)) {
            self.place += 1;
        }
        self.at.text.get(self.place).copied()
    }

    /// Passes a word of letters or signs if it comes next, whatever its case and the blanks in it.
    pub(super) fn pass(&mut self, word: &str) -> bool {
        let before = self.place;
        for &letter in word.as_bytes() {
            if self.peek().is_none_or(|byte| byte.to_ascii_uppercase() != letter) {
                self.place = before;
                return false;
            }
            self.place += 1;
        }
        true
    }

    fn step(&mut self, step: Step) -> Result<(), Fault> {
        if self.line.steps.len() == MOST_STEPS {
            return self.fault("too much to reckon on one line", "");
        }
        self.line.steps.push(step);
        Ok(())
    }

    fn fault<T>(&self, message: &'static str, help: &'static str) -> Result<T, Fault> {
        Err(Fault { at: self.place, message, help })
    }

    /// A number, a parameter, an expression in brackets or a function of one.
    fn value(&mut self, depth: usize) -> Result<(), Fault> {
        if depth > DEEPEST {
            return self.fault("brackets nested too deeply", "");
        }
        match self.peek() {
            Some(b'#') => {
                self.place += 1;
                self.parameter(depth)
            }
            Some(b'[') => self.bracket(depth),
            Some(sign @ (b'+' | b'-')) if !self.number_follows() => {
                self.sign_before_value();
                self.place += 1;
                self.value(depth + 1)?;
                if sign == b'-' { self.step(Step::Negate) } else { Ok(()) }
            }
            Some(byte) if byte.is_ascii_alphabetic() => self.function(depth),
            _ => match number::read(self.at.text, self.place) {
                Number::Read { value, end, .. } => {
                    self.place = end;
                    self.step(Step::Number(value))
                }
                Number::Missing { at } => {
                    self.place = at;
                    self.fault("a number, a parameter or an expression should stand here", "")
                }
            },
        }
    }

    fn number_follows(&self) -> bool {
        matches!(number::read(self.at.text, self.place), Number::Read { .. })
    }

    /// The standard has no sign before a bracket or a parameter; most controllers with expressions take it.
    fn sign_before_value(&mut self) {
        let span = Span::new(self.place, self.place + 1);
        let message = "a sign before a parameter or a bracket is not in the standard";
        let found = self.at.diagnostic(crate::Severity::Note, Kind::NotUnderstood, span, message);
        self.report(found.help("write [0-…] where a controller refuses it"));
    }

    /// What follows `#`: `<name>`, or the value that is the index.
    fn parameter(&mut self, depth: usize) -> Result<(), Fault> {
        if self.peek() == Some(b'<') {
            let name = self.name()?;
            return self.step(Step::Named(name));
        }
        self.value(depth + 1)?;
        self.step(Step::Parameter)
    }

    /// A name in angle brackets; the span is what stands between them.
    pub(super) fn name(&mut self) -> Result<Span, Fault> {
        let start = self.place + 1;
        let inside = self.at.text.get(start..).unwrap_or_default();
        let Some(length) = inside.iter().position(|&byte| byte == b'>') else {
            return self.fault("this name is not closed by '>'", "");
        };
        let fits = |&byte: &u8| byte.is_ascii_alphanumeric() || byte == b'_' || number::is_blank(byte);
        if !inside[..length].iter().all(fits) || inside[..length].iter().all(|&byte| number::is_blank(byte)) {
            return self.fault("a name holds letters, digits and _", "");
        }
        self.place = start + length + 1;
        Ok(Span::new(start, start + length))
    }

    fn function(&mut self, depth: usize) -> Result<(), Fault> {
        let start = self.place;
        if self.pass("ATAN") {
            return self.atan(depth);
        }
        for (name, function) in FUNCTIONS {
            if self.pass(name) {
                if self.peek() != Some(b'[') {
                    return self.fault("a function needs its argument in brackets", "");
                }
                self.bracket(depth)?;
                return self.step(Step::Function(function));
            }
        }
        self.place = start;
        let message = "this is no number, parameter, expression or function";
        self.fault(message, "a letter is followed by digits; the letter O is not the digit 0")
    }

    fn atan(&mut self, depth: usize) -> Result<(), Fault> {
        let message = "ATAN is written ATAN[…]/[…]";
        if self.peek() != Some(b'[') {
            return self.fault(message, "");
        }
        self.bracket(depth)?;
        if !self.pass("/") || self.peek() != Some(b'[') {
            return self.fault(message, "");
        }
        self.bracket(depth)?;
        self.step(Step::Binary(Operator::Atan))
    }

    /// `[` expression `]`.
    fn bracket(&mut self, depth: usize) -> Result<(), Fault> {
        let opening = self.place;
        self.place += 1;
        let compares = self.bracket_compares();
        self.expression(depth + 1, 0, compares)?;
        match self.peek() {
            Some(b']') => {
                self.place += 1;
                Ok(())
            }
            Some(_) => self.fault("an operator or ']' should stand here", ""),
            None => {
                self.place = opening;
                self.fault("this bracket is not closed", "")
            }
        }
    }

    /// Operators at least as strong as `least`, those of equal strength from left to right.
    fn expression(&mut self, depth: usize, least: u8, compares: bool) -> Result<(), Fault> {
        self.value(depth)?;
        loop {
            let before = self.place;
            let Some(operator) = self.operator() else {
                return Ok(());
            };
            let strength = operator.strength(compares);
            if strength < least {
                self.place = before;
                return Ok(());
            }
            self.expression(depth + 1, strength + 1, compares)?;
            self.step(Step::Binary(operator))?;
        }
    }

    fn operator(&mut self) -> Option<Operator> {
        let known = OPERATORS.iter().chain(&COMPARISONS);
        for &(name, operator) in known {
            if self.pass(name) {
                return Some(operator);
            }
        }
        None
    }

    /// Whether a comparison stands in this bracket itself, not in one inside it.
    fn bracket_compares(&mut self) -> bool {
        let start = self.place;
        let mut depth = 0_usize;
        let mut found = false;
        while let Some(byte) = self.peek() {
            match byte {
                b'[' => depth += 1,
                b']' if depth == 0 => break,
                b']' => depth -= 1,
                b'<' => {
                    let rest = &self.at.text[self.place..];
                    self.place += rest.iter().position(|&byte| byte == b'>').unwrap_or(rest.len() - 1);
                }
                b'(' | b';' => break,
                _ if depth == 0 && COMPARISONS.iter().any(|(name, _)| self.pass(name)) => {
                    found = true;
                    break;
                }
                _ => {}
            }
            self.place += 1;
        }
        self.place = start;
        found
    }
}
