//! What moves nothing: feed, speed, cutter, spindle, dwell, stops.

use super::reader::{Reader, Reading};
use crate::codes::Group;
use crate::command::{Command, whole};
use crate::diagnostic::{Kind, Severity};
use crate::program::{CutterUse, EventKind, NO_CUTTER};
use crate::view::PathControl;

impl Reader<'_> {
    pub(super) fn feed_mode(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::FeedMode) else {
            return;
        };
        self.program.facts.feed_mode = true;
        let inverse_time = code.code == 930;
        if inverse_time && !self.setup.inverse_time {
            let message = "this controller does not take G93 (inverse time feed)";
            let help = "if it does, say so in the scene: [controller] inverse_time = true";
            let found = command.at.diagnostic(Severity::Error, Kind::NotUnderstood, code.span, message);
            self.diagnostics.push(found.help(help));
        }
        if inverse_time != self.modes.inverse_time {
            // A number of one mode means nothing in the other.
            self.feed = None;
        }
        self.modes.inverse_time = inverse_time;
        self.program.facts.inverse_time |= inverse_time;
    }

    /// The F word of this line, where it is a feed.
    pub(super) fn feed_word(&mut self, command: &mut Command<'_>) -> Option<f64> {
        let word = command.take(b'F')?;
        let problem = if word.value < 0.0 {
            Some((Severity::Error, "a feed is not negative"))
        } else if word.value == 0.0 {
            Some((Severity::Warning, "F0 is no feed"))
        } else {
            None
        };
        if let Some((severity, message)) = problem {
            let found = command.at.diagnostic(severity, Kind::Feed, word.span, message);
            self.diagnostics.push(found);
            self.feed = None;
            return None;
        }
        self.program.facts.feed = true;
        if !self.modes.inverse_time {
            self.feed = Some(word.value);
        }
        Some(word.value)
    }

    pub(super) fn spindle_speed(&mut self, command: &mut Command<'_>) {
        let Some(word) = command.take(b'S') else {
            return;
        };
        if word.value < 0.0 {
            let message = "a spindle speed is not negative";
            self.error(command.at, Kind::Number, word.span, message);
            return;
        }
        self.program.facts.spindle = true;
        self.spindle_speed = Some(word.value);
        self.event(command.at.line, EventKind::SpindleSpeed(word.value));
    }

    pub(super) fn cutter_word(&mut self, command: &mut Command<'_>) {
        let Some(word) = command.take(b'T') else {
            return;
        };
        let number = whole(word.value, 0.0001).filter(|&number| number < u32::from(NO_CUTTER));
        let Some(number) = number else {
            let message = format!("a cutter number is whole, from 0 to {}", NO_CUTTER - 1);
            self.error(command.at, Kind::Cutter, word.span, message);
            return;
        };
        self.selected = Some(number);
        let line = command.at.line;
        let span = word.span;
        self.program.facts.cutters.entry(number).or_insert(CutterUse { line, span });
        if self.pass.cutter_at_t {
            let message = "no M6 in this program: the cutter changes at its T word";
            self.note(command.at, Kind::Cutter, word.span, message);
            self.put_cutter(command, number);
        }
    }

    pub(super) fn cutter_change(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::ToolChange) else {
            return;
        };
        self.program.facts.m6 = true;
        if self.setup.m6_ignored {
            let message = "this controller takes no notice of M6: the cutter stays";
            self.warn(command.at, Kind::Cutter, code.span, message);
            return;
        }
        let line = command.at.line;
        if self.spindle_turns {
            self.spindle_turns = false;
            self.event(line, EventKind::SpindleOff);
        }
        match self.selected {
            Some(number) => self.put_cutter(command, number),
            None => {
                let message = "M6 with no T word before it: the cutter stays";
                self.warn(command.at, Kind::Cutter, code.span, message);
            }
        }
    }

    fn put_cutter(&mut self, command: &Command<'_>, number: u32) {
        let before = self.cutter;
        self.cutter = (number > 0).then_some(number);
        self.event(command.at.line, EventKind::CutterChange(self.cutter));
        self.tip_moves(command.at, before);
    }

    pub(super) fn spindle(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::Spindle) else {
            return;
        };
        self.program.facts.spindle = true;
        self.spindle_turns = code.code != 5;
        if self.spindle_turns {
            self.spindle_clockwise = code.code == 3;
        }
        let kind = match code.code {
            3 => EventKind::SpindleClockwise,
            4 => EventKind::SpindleCounterClockwise,
            _ => EventKind::SpindleOff,
        };
        self.event(command.at.line, kind);
    }

    pub(super) fn dwell(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::NonModal).filter(|code| code.code == 40) else {
            return;
        };
        let unit = if self.setup.dwell_milliseconds { 1e-3 } else { 1.0 };
        match command.take(b'P') {
            Some(word) if word.value >= 0.0 => {
                self.event(command.at.line, EventKind::Dwell(word.value * unit));
            }
            Some(word) => {
                let message = "a dwell is not negative";
                command.error(Kind::Number, word.span, message, &mut self.diagnostics);
            }
            None => {
                let message = "G4 needs a P word, how long to wait";
                command.error(Kind::NoMotion, code.span, message, &mut self.diagnostics);
            }
        }
    }

    /// G64 may be given how far the path may be left, P and Q (common practice, no source).
    pub(super) fn path_control(&mut self, command: &mut Command<'_>) {
        self.modes.path_control = match command.code_of(Group::PathControl).map(|code| code.code) {
            Some(610) => PathControl::ExactPath,
            Some(611) => PathControl::ExactStop,
            Some(_) => PathControl::Blend([None; 2]),
            None => return,
        };
        let blends = self.modes.path_control == PathControl::Blend([None; 2]);
        if !blends || command.code_of(Group::NonModal).is_some_and(|code| code.code == 40) {
            return;
        }
        let tolerances = [b'P', b'Q'].map(|letter| command.take(letter));
        let scale = self.modes.length_scale();
        self.modes.path_control = PathControl::Blend(tolerances.map(|word| word.map(|word| word.value * scale)));
        if let Some(word) = tolerances.into_iter().flatten().next() {
            let message = "G64 lets the controller round corners by so much; the motion told here is exact";
            self.note(command.at, Kind::Modes, word.span, message);
        }
    }

    pub(super) fn stopping(&mut self, command: &mut Command<'_>) {
        let line = command.at.line;
        match command.code_of(Group::Stopping).map(|code| code.code) {
            Some(0 | 60) => self.event(line, EventKind::Stop),
            Some(1) => self.event(line, EventKind::OptionalStop),
            Some(_) => {
                self.end(line, Reading::AfterEnd);
                self.reset();
            }
            None => {}
        }
    }
}
