//! Which line comes next: subprograms, conditions and loops of numbered O words, and M98 with M99.
//!
//! The standard has none of these (NISTIR 6556 knows no O word); what is taken is what larger controllers share. The
//! lines that bear an O word are found once, the first time one directs anything; a jump then is a place in the text.

use std::collections::{BTreeMap, BTreeSet};

use super::reader::{Reader, Reading};
use crate::codes::Group;
use crate::command::{Command, whole};
use crate::diagnostic::{At, Kind, Severity, Span};
use crate::listing::{self, Flow, Keyword, Label, Line, Options};
use crate::program::Visit;
use crate::text::Lines;

/// Parameters that belong to one level of calls: #1 … #30 (common practice, no source).
const LOCAL: usize = 30;

const NO_FLOW: &str = "this controller takes no subprograms, conditions or loops";

const TAKES_FLOW: &str = "if it does take them, say so in the scene: [controller] subprograms = true";

/// A line with an O word.
struct Mark<'s> {
    label: Label,
    keyword: Option<Keyword>,
    span: Span,
    /// Before and after the line.
    place: Lines<'s>,
    after: Lines<'s>,
    line: u32,
    text: &'s [u8],
    /// The part that follows in the same construct.
    next: Option<usize>,
    /// Where the construct begins.
    head: Option<usize>,
}

/// One level of calls.
struct Frame<'s> {
    back: Lines<'s>,
    /// Parameters #1 … #30 of the caller; `None`: shared with it (M98).
    saved: Option<[Option<f64>; LOCAL]>,
    /// Body of an M98 subprogram and how often it is still to come.
    again: Option<(Lines<'s>, u32)>,
    /// Loops left by the call are dropped down to here.
    repeats: usize,
}

/// Everything about jumps of one reading.
#[derive(Default)]
pub(super) struct Jumps<'s> {
    marks: Option<Vec<Mark<'s>>>,
    frames: Vec<Frame<'s>>,
    /// Repeat loops under way: their mark and the rounds left.
    repeats: Vec<(usize, u32)>,
    /// A condition was false: the next ELSEIF or ELSE of its construct is to be looked at.
    seeking: bool,
    /// Where to go on instead of the next line.
    target: Option<Lines<'s>>,
}

impl<'s> Jumps<'s> {
    pub(super) fn take_target(&mut self) -> Option<Lines<'s>> {
        self.target.take()
    }

    /// Whether anything but the order of the lines has directed the reading.
    pub(super) fn any(&self) -> bool {
        self.marks.is_some()
    }

    fn mark(&self, index: usize) -> Option<&Mark<'s>> {
        self.marks.as_deref().and_then(|marks| marks.get(index))
    }

    /// The mark on a line.
    fn at_line(&self, line: u32) -> Option<usize> {
        self.marks.as_deref()?.binary_search_by_key(&line, |mark| mark.line).ok()
    }

    fn find(&self, label: &Label, keyword: Option<Keyword>) -> Option<usize> {
        self.marks.as_deref()?.iter().position(|mark| mark.keyword == keyword && mark.label == *label)
    }

    /// Goes on after a mark.
    fn go_after(&mut self, index: Option<usize>) {
        self.target = index.and_then(|index| self.mark(index)).map(|mark| mark.after.clone());
    }

    /// Goes on at the line of a mark.
    fn go_to(&mut self, index: Option<usize>) {
        self.target = index.and_then(|index| self.mark(index)).map(|mark| mark.place.clone());
    }

    /// The last part of the construct a mark belongs to.
    fn end_of(&self, index: usize) -> Option<usize> {
        let mut last = index;
        while let Some(next) = self.mark(last)?.next {
            last = next;
        }
        Some(last)
    }

    /// The loop with a label that a line stands in.
    fn loop_around(&self, label: &Label, line: u32) -> Option<usize> {
        let marks = self.marks.as_deref()?;
        (0..marks.len()).rev().find(|&index| {
            let head = &marks[index];
            let opens = matches!(head.keyword, Some(Keyword::While | Keyword::Do | Keyword::Repeat));
            let ends = head.next.and_then(|end| marks.get(end)).is_some_and(|end| line < end.line);
            opens && ends && head.line < line && head.label == *label
        })
    }
}

impl<'s> Reader<'s> {
    /// Counts a line executed. False: the budget of steps is used up.
    pub(super) fn one_step(&mut self, at: At<'_>) -> bool {
        if !self.jumps.any() {
            return true;
        }
        let steps = &mut self.program.facts.steps;
        if *steps < self.setup.max_steps {
            *steps += 1;
            self.visit(at.line);
            return true;
        }
        let message = format!("more than {} lines executed: does a loop never end?", self.setup.max_steps);
        self.refuse(
            at,
            Kind::Budget,
            message,
            "if it is meant, raise it in the scene: [controller] budget = { steps = … }",
        );
        false
    }

    /// Writes down where a line is executed first.
    fn visit(&mut self, line: u32) {
        let program = &mut self.program;
        let here = Visit { blocks: program.blocks.len() as u32, modals: program.modals.len() as u32 };
        program.first_jump.get_or_insert((line, here));
        program.visits.entry(line).or_insert(here);
    }

    /// A line that directs which line comes next; `next` is the one after it.
    pub(super) fn flow_line(&mut self, at: At<'_>, line: &mut Line, flow: &Flow, next: &Lines<'s>) {
        let Some(keyword) = flow.keyword else {
            if !self.setup.subprograms {
                let message = "a program number (O) is not taken and is left out";
                self.warn(at, Kind::NotUnderstood, flow.span, message);
            }
            return;
        };
        if !self.setup.subprograms {
            let found = at.diagnostic(Severity::Error, Kind::NotUnderstood, flow.span, NO_FLOW);
            self.diagnostics.push(found.help(TAKES_FLOW));
            return;
        }
        self.said_something = true;
        self.find_marks(at.line);
        let Some(here) = self.jumps.at_line(at.line) else {
            return;
        };
        let Some(argument) = self.first_argument(at, line, flow) else {
            return;
        };
        let seeking = std::mem::take(&mut self.jumps.seeking);
        let holds = argument.is_some_and(|value| value != 0.0);
        let (next_part, head) = self.jumps.mark(here).map_or((None, None), |mark| (mark.next, mark.head));
        match keyword {
            Keyword::Sub => self.jumps.go_after(next_part),
            Keyword::Call => self.call(at, line, flow, next),
            Keyword::EndSub | Keyword::Return => self.give_back(at, flow, argument),
            Keyword::If if !holds => self.seek(next_part),
            Keyword::ElseIf if seeking && !holds => self.seek(next_part),
            Keyword::Else | Keyword::ElseIf if !seeking => {
                let end = self.jumps.end_of(here);
                self.jumps.go_after(end);
            }
            Keyword::While if head.is_some() && holds => self.jumps.go_after(head),
            Keyword::While if head.is_none() && !holds => self.jumps.go_after(next_part),
            Keyword::EndWhile => self.jumps.go_to(head),
            Keyword::Repeat => self.repeat(here, argument.unwrap_or(0.0), next_part),
            Keyword::EndRepeat => self.repeat_again(head),
            Keyword::Break | Keyword::Continue => self.leave_round(at, flow, keyword),
            _ => {}
        }
    }

    /// The first value after a keyword: outer `None` if it cannot be told, inner if none is there or needed.
    fn first_argument(&mut self, at: At<'_>, line: &mut Line, flow: &Flow) -> Option<Option<f64>> {
        let passed_over = matches!(flow.keyword, Some(Keyword::ElseIf)) && !self.jumps.seeking;
        let needed = !passed_over && flow.keyword != Some(Keyword::Call);
        match flow.arguments.first() {
            Some(&formula) if needed => self.flow_value(at, line, formula, flow.span).map(Some),
            _ => Some(None),
        }
    }

    fn flow_value(&mut self, at: At<'_>, line: &mut Line, formula: listing::Formula, span: Span) -> Option<f64> {
        let value = self.formula(at, line, formula, span);
        let found = std::mem::take(&mut line.diagnostics);
        let unknown_way = value.is_none();
        for one in found {
            self.diagnostics.push(one);
        }
        if unknown_way {
            let message = "which line comes next cannot be known: the reading ends here";
            self.refuse(at, Kind::Flow, message, "");
        }
        value
    }

    fn seek(&mut self, part: Option<usize>) {
        self.jumps.seeking = true;
        self.jumps.go_to(part);
    }

    fn call(&mut self, at: At<'_>, line: &mut Line, flow: &Flow, next: &Lines<'s>) {
        let Some(body) = self.jumps.find(&flow.label, Some(Keyword::Sub)) else {
            self.no_such(at, flow.span, &flow.label);
            return;
        };
        let mut values = [Some(0.0); LOCAL];
        for (value, &formula) in values.iter_mut().zip(&flow.arguments) {
            *value = self.flow_value(at, line, formula, flow.span);
            if value.is_none() {
                return;
            }
        }
        let saved = std::array::from_fn(|k| self.parameters.stored(k as u16 + 1));
        let frame = Frame { back: next.clone(), saved: Some(saved), again: None, repeats: self.jumps.repeats.len() };
        if self.enter(at, frame) {
            self.put_locals(values);
            self.jumps.go_after(Some(body));
        }
    }

    fn put_locals(&mut self, values: [Option<f64>; LOCAL]) {
        for (index, value) in values.into_iter().enumerate() {
            self.parameters.put(index as u16 + 1, value);
        }
    }

    fn no_such(&mut self, at: At<'_>, span: Span, label: &Label) {
        let message = format!("no subprogram {label} in this file");
        self.error(at, Kind::Flow, span, message);
    }

    fn enter(&mut self, at: At<'_>, frame: Frame<'s>) -> bool {
        if self.jumps.frames.len() >= self.setup.max_depth as usize {
            let message = format!("calls nested more than {} deep: does one call itself?", self.setup.max_depth);
            self.refuse(
                at,
                Kind::Budget,
                message,
                "if it is meant, raise it in the scene: [controller] budget = { depth = … }",
            );
            return false;
        }
        self.parameters.local.push(BTreeMap::new());
        self.jumps.frames.push(frame);
        self.program.facts.depth = self.program.facts.depth.max(self.jumps.frames.len() as u32);
        true
    }

    /// RETURN or ENDSUB: back to the caller, with a value if one is given.
    fn give_back(&mut self, at: At<'_>, flow: &Flow, value: Option<f64>) {
        if self.jumps.frames.is_empty() {
            self.error(at, Kind::Flow, flow.span, "this returns from nowhere: no call led here");
            return;
        }
        self.go_back();
        if let Some(value) = value {
            // A name more than there may be is told where it is set.
            let _ = self.parameters.store_name("_value".to_owned(), value);
        }
    }

    fn go_back(&mut self) {
        let Some(frame) = self.jumps.frames.pop() else {
            return;
        };
        self.parameters.local.pop();
        self.jumps.repeats.truncate(frame.repeats);
        if let Some(saved) = frame.saved {
            self.put_locals(saved);
        }
        self.jumps.target = Some(frame.back);
    }

    fn repeat(&mut self, here: usize, count: f64, end: Option<usize>) {
        let rounds = count.round().clamp(0.0, f64::from(u32::MAX)) as u32;
        if rounds == 0 {
            self.jumps.go_after(end);
            return;
        }
        // A round of an outer loop may have left this one early.
        let level = self.jumps.frames.last().map_or(0, |frame| frame.repeats);
        let left_early = self.jumps.repeats[level..].iter().position(|&(mark, _)| mark == here);
        self.jumps.repeats.truncate(left_early.map_or(usize::MAX, |index| level + index));
        self.jumps.repeats.push((here, rounds));
    }

    fn repeat_again(&mut self, head: Option<usize>) {
        let Some((_, left)) = self.jumps.repeats.last_mut().filter(|(mark, _)| Some(*mark) == head) else {
            return;
        };
        *left -= 1;
        if *left > 0 {
            self.jumps.go_after(head);
        } else {
            self.jumps.repeats.pop();
        }
    }

    fn leave_round(&mut self, at: At<'_>, flow: &Flow, keyword: Keyword) {
        let Some(head) = self.jumps.loop_around(&flow.label, at.line) else {
            let message = format!("{} {} stands in no loop of that number", flow.label, keyword.name());
            self.error(at, Kind::Flow, flow.span, message);
            return;
        };
        // Loops inside the one that is left, or whose round is, are over.
        let under_way = self.jumps.repeats.iter().rposition(|&(mark, _)| mark == head);
        let end = self.jumps.end_of(head);
        if keyword == Keyword::Continue {
            if let Some(index) = under_way {
                self.jumps.repeats.truncate(index + 1);
            }
            self.jumps.go_to(end);
        } else {
            if let Some(index) = under_way {
                self.jumps.repeats.truncate(index);
            }
            self.jumps.go_after(end);
        }
    }

    /// M98 calls the subprogram that starts at `O` and the number of P, L times; M99 returns.
    pub(super) fn call_or_return(&mut self, command: &mut Command<'_>, next: &Lines<'s>) {
        let Some(code) = command.code_of(Group::Call) else {
            return;
        };
        if !self.setup.subprograms {
            command.leave_out(code.span, NO_FLOW, TAKES_FLOW, &mut self.diagnostics);
            return;
        }
        self.find_marks(command.at.line);
        if code.code == 99 {
            self.return_from_m98(command, code.span);
            return;
        }
        let (number, times) = (command.take(b'P'), command.take(b'L'));
        let whole_of = |word: Option<listing::Word>| word.and_then(|word| whole(word.value, 1e-4));
        let Some(number) = whole_of(number) else {
            let message = "M98 needs a P word, the number of a subprogram";
            self.error(command.at, Kind::Flow, code.span, message);
            return;
        };
        let Some(times) = times.map_or(Some(1), |word| whole_of(Some(word))) else {
            self.error(command.at, Kind::Number, code.span, "L is a whole number from 0 up");
            return;
        };
        let label = Label::Number(number);
        let Some(body) = self.jumps.find(&label, None) else {
            self.no_such(command.at, code.span, &label);
            return;
        };
        if times == 0 {
            return;
        }
        // From the line with the number on: other words may stand on it.
        let start = self.jumps.mark(body).map(|mark| mark.place.clone());
        let again = start.map(|start| (start, times - 1));
        let frame = Frame { back: next.clone(), saved: None, again, repeats: self.jumps.repeats.len() };
        if self.enter(command.at, frame) {
            self.jumps.go_to(Some(body));
        }
    }

    fn return_from_m98(&mut self, command: &mut Command<'_>, span: Span) {
        if let Some(word) = command.take(b'P') {
            let message = "M99 with P, a return to another line, is not taken";
            self.error(command.at, Kind::NotUnderstood, word.span, message);
        }
        let Some(frame) = self.jumps.frames.last_mut() else {
            let message = "M99 outside a subprogram: the controller would start over for ever; it is read once";
            self.warn(command.at, Kind::End, span, message);
            self.end(command.at.line, Reading::AfterEnd);
            return;
        };
        match &mut frame.again {
            Some((body, left)) if *left > 0 => {
                *left -= 1;
                self.jumps.target = Some(body.clone());
            }
            _ => self.go_back(),
        }
    }

    /// The file ended: was that inside a subprogram? Its level's parameters are no longer in force.
    pub(super) fn leave_calls(&mut self, last: At<'_>, ended: bool) {
        if !self.jumps.frames.is_empty() && !ended {
            let span = Span::new(0, last.text.len());
            self.error(last, Kind::Flow, span, "the file ends inside a subprogram: M99 or ENDSUB is missing");
        }
        while !self.jumps.frames.is_empty() {
            self.go_back();
        }
    }

    /// Finds every line with an O word and which belong together, once; `line` is the first that directs anything.
    fn find_marks(&mut self, line: u32) {
        if self.jumps.any() {
            return;
        }
        self.visit(line);
        self.program.facts.jumps = true;
        self.diagnostics.repeating = true;
        let mut marks = marks_of(self.source, self.setup.block_delete);
        let faults = pair(&mut marks);
        for (index, message) in faults {
            let mark = &marks[index];
            let at = At { text: mark.text, line: mark.line };
            self.diagnostics.push(at.diagnostic(Severity::Error, Kind::Flow, mark.span, message));
        }
        self.jumps.marks = Some(marks);
    }
}

fn marks_of(source: &[u8], block_delete: bool) -> Vec<Mark<'_>> {
    let mut marks = Vec::new();
    let mut lines = Lines::new(source);
    let mut line = Line::default();
    loop {
        let place = lines.clone();
        let Some((number, text)) = lines.next() else {
            return marks;
        };
        if !may_bear_o(text) {
            continue;
        }
        listing::read_line(&mut line, text, number, Options { line_limit: usize::MAX });
        let skipped = line.slash.is_some() && block_delete;
        if let Some(Flow { label, keyword, span, .. }) = line.flow.take().filter(|_| !skipped) {
            let after = lines.clone();
            marks.push(Mark { label, keyword, span, place, after, line: number, text, next: None, head: None });
        }
    }
}

/// Whether an O word may stand first: after blanks, a slash and a line number.
fn may_bear_o(text: &[u8]) -> bool {
    let first = text.iter().find(|byte| !matches!(byte, b' ' | b'\t' | b'/' | b'N' | b'n' | b'0'..=b'9'));
    matches!(first, Some(b'O' | b'o' | b':' | b'('))
}

/// Links the parts of each construct; what belongs to nothing is a fault of that mark.
fn pair(marks: &mut [Mark<'_>]) -> Vec<(usize, String)> {
    let mut open: BTreeMap<Label, usize> = BTreeMap::new();
    let mut faults = Vec::new();
    let mut programs: BTreeSet<Label> = BTreeSet::new();
    let mut bodies: BTreeMap<Label, usize> = BTreeMap::new();
    for index in 0..marks.len() {
        let label = marks[index].label.clone();
        let Some(keyword) = marks[index].keyword else {
            if !programs.insert(label.clone()) {
                faults.push((index, format!("program {label} stands here a second time: a call takes the first")));
            }
            continue;
        };
        let opened = open.get(&label).copied();
        let before = opened.and_then(|opened| marks[opened].keyword);
        let closes = match keyword {
            Keyword::EndSub => before == Some(Keyword::Sub),
            Keyword::ElseIf | Keyword::Else => matches!(before, Some(Keyword::If | Keyword::ElseIf)),
            Keyword::EndIf => matches!(before, Some(Keyword::If | Keyword::ElseIf | Keyword::Else)),
            Keyword::EndWhile => before == Some(Keyword::While),
            Keyword::EndRepeat => before == Some(Keyword::Repeat),
            Keyword::While if before == Some(Keyword::Do) => true,
            Keyword::Sub | Keyword::If | Keyword::While | Keyword::Do | Keyword::Repeat => {
                if before.is_some() {
                    faults.push((index, format!("{label} is open already")));
                } else if keyword == Keyword::Sub && bodies.insert(label.clone(), index).is_some() {
                    faults.push((index, format!("subprogram {label} stands here a second time")));
                }
                open.insert(label, index);
                continue;
            }
            Keyword::Call | Keyword::Return | Keyword::Break | Keyword::Continue => continue,
        };
        match opened.filter(|_| closes) {
            Some(opened) => {
                marks[opened].next = Some(index);
                marks[index].head = Some(marks[opened].head.unwrap_or(opened));
                if matches!(keyword, Keyword::ElseIf | Keyword::Else) {
                    open.insert(label, index);
                } else {
                    open.remove(&label);
                }
            }
            None => faults.push((index, format!("{label} {} ends nothing that is open", keyword.name()))),
        }
    }
    faults.extend(open.into_iter().map(|(label, index)| (index, format!("{label} is never ended"))));
    faults
}
