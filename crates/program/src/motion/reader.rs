//! The reader: takes lines one by one, in the order of execution of NISTIR 6556 Table 8.

use std::io::{self, Read};

use super::Pass;
use super::behind::Behind;
use super::compensation::Compensation;
use super::cycles::Sticky;
use super::flow::Jumps;
use super::modes::{Modes, Motion};
use super::parameters::Parameters;
use crate::codes::Group;
use crate::command::Command;
use crate::diagnostic::{At, Collector, Diagnostic, Kind, Severity, Span};
use crate::listing::{self, Line, Options};
use crate::program::{Event, EventKind, Program, Setup, ToolOffset, unknown_words};
use crate::stream::Stream;
use crate::text::{KEPT, Lines};
use crate::view::{Modal, ModalFrom, Spindle};

/// Bytes at the start of a file in which a NUL says that it is no text.
const HEAD: usize = 8192;

/// What is left to read of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reading {
    /// The program.
    Program,
    /// What stands after its end.
    AfterEnd,
    /// After a percent line that closes nothing; a command there is an error.
    AfterStrayPercent,
    /// Nothing but the count of lines.
    CountOnly,
}

pub(super) struct Reader<'s> {
    pub(super) source: &'s [u8],
    pub(super) setup: &'s Setup,
    pub(super) pass: Pass,
    pub(super) program: Program,
    pub(super) diagnostics: Collector,
    pub(super) modes: Modes,
    /// Where the tip is, G54 terms; an unknown word holds its last known value or 0.
    pub(super) place: [f64; 6],
    pub(super) unknown: u8,
    /// G92 offset in force, and the one G92.3 brings back.
    pub(super) g92: [f64; 6],
    pub(super) g92_kept: [f64; 6],
    /// The F number in force, in the units in force.
    pub(super) feed: Option<f64>,
    /// Whether it was given in inches.
    pub(super) feed_inch: bool,
    pub(super) spindle_turns: bool,
    pub(super) spindle_clockwise: bool,
    pub(super) spindle_speed: Option<f64>,
    /// Origins of the nine systems, G54 terms.
    pub(super) origins: [[f64; 6]; 9],
    /// Words whose origin is unknown, by system.
    pub(super) unknown_origins: [u8; 9],
    /// The shift of G52.
    pub(super) local: [f64; 6],
    pub(super) length: ToolOffset,
    pub(super) compensation: Option<Compensation>,
    pub(super) cycle: Sticky,
    pub(super) parameters: Parameters,
    /// Numbers of a formula under evaluation.
    pub(super) stack: Vec<f64>,
    pub(super) cutter: Option<u32>,
    pub(super) selected: Option<u32>,
    pub(super) jumps: Jumps<'s>,
    reading: Reading,
    behind: Behind,
    first_is_percent: Option<bool>,
    /// Modes used before anybody stated them, as bits of [`UNSTATED`], and the line that did first.
    unstated: u8,
    unstated_line: u32,
    /// Some word was executed.
    pub(super) said_something: bool,
    fatal: bool,
}

impl<'s> Reader<'s> {
    pub(super) fn new(source: &'s [u8], setup: &'s Setup, pass: Pass) -> Self {
        let program = Program { start: setup.start, ..Program::default() };
        let mut reader = Self {
            source,
            jumps: Jumps::default(),
            setup,
            pass,
            program,
            diagnostics: Collector::default(),
            modes: Modes { system: Parameters::system_at_start(setup), ..Modes::new() },
            place: setup.start.map(|word| word.unwrap_or(0.0)),
            unknown: unknown_words(&setup.start),
            g92: setup.g92,
            g92_kept: Parameters::kept_at_start(setup),
            feed: None,
            feed_inch: false,
            spindle_turns: false,
            spindle_clockwise: true,
            spindle_speed: None,
            origins: setup.origins,
            unknown_origins: [0; 9],
            local: [0.0; 6],
            length: pass.length(setup),
            compensation: None,
            cycle: Sticky::default(),
            parameters: Parameters::new(setup),
            stack: Vec::new(),
            cutter: setup.cutter,
            selected: None,
            reading: Reading::Program,
            behind: Behind::default(),
            first_is_percent: None,
            unstated: 0,
            unstated_line: 0,
            said_something: false,
            fatal: false,
        };
        reader.offsets_changed();
        reader.modes_changed(0, 0);
        reader
    }

    /// Reads a text that lies in memory.
    pub(super) fn run(mut self) -> Program {
        let mut lines = Lines::new(self.source);
        let mut line = Line::default();
        let mut last = At { text: b"", line: 1 };
        self.begin(lines.rest());
        while let Some((number, text)) = lines.next() {
            let at = At { text: &text[..text.len().min(KEPT)], line: number };
            if self.read_line(at, &mut line, &lines) {
                last = at;
            }
            if let Some(target) = self.jumps.take_target() {
                lines = target;
            }
        }
        self.end_of_text(last)
    }

    /// Reads a text that passes by once. `None`: lines would have to be read again, as something calls or repeats.
    pub(super) fn run_through<R: Read>(mut self, stream: &mut Stream<R>) -> io::Result<Option<Program>> {
        let nothing_behind = Lines::new(b"");
        let mut line = Line::default();
        let (mut last, mut last_number) = (Vec::new(), 1);
        self.begin(stream.head());
        while let Some((number, text)) = stream.next_line()? {
            if self.read_line(At { text, line: number }, &mut line, &nothing_behind) {
                last.clear();
                last.extend_from_slice(text);
                last_number = number;
            }
            if self.jumps.any() {
                return Ok(None);
            }
        }
        Ok(Some(self.end_of_text(At { text: &last, line: last_number })))
    }

    /// Looks at the first bytes: are they text?
    fn begin(&mut self, head: &[u8]) {
        if head[..head.len().min(HEAD)].contains(&0) {
            let message = "this holds NUL bytes, so it is no text (UTF-16 or binary?)";
            let at = At { text: b"", line: 1 };
            self.refuse(at, Kind::NotAProgram, message, "a program is plain text");
        }
    }

    /// Reads and executes a line; `next` is what follows it. False: it is only counted.
    fn read_line(&mut self, at: At<'_>, line: &mut Line, next: &Lines<'s>) -> bool {
        self.program.lines = self.program.lines.max(at.line);
        if self.reading == Reading::CountOnly {
            return false;
        }
        listing::read_line(line, at.text, at.line, Options { line_limit: self.setup.line_limit });
        self.take_line(at, line, next);
        true
    }

    fn end_of_text(mut self, last: At<'_>) -> Program {
        let behind = std::mem::take(&mut self.behind).close();
        self.report_behind(behind);
        self.leave_calls(last, self.fatal || self.program.facts.ended);
        self.check_end(last);
        self.finish()
    }

    fn take_line(&mut self, at: At<'_>, line: &mut Line, next: &Lines<'s>) {
        if line.percent.is_some() {
            self.percent_line(at, line);
            return;
        }
        let says_something = line.says_something();
        if says_something || line.number.is_some() {
            self.first_is_percent.get_or_insert(false);
        }
        match self.reading {
            Reading::Program => {}
            Reading::CountOnly => return,
            Reading::AfterEnd => {
                let reached = self.program.visits.contains_key(&at.line);
                let before = self.behind.take(at, line, reached);
                self.report_behind(before);
                return;
            }
            Reading::AfterStrayPercent => {
                if says_something {
                    self.reading = Reading::CountOnly;
                    let message = "text after a % that closes nothing: some controllers execute it";
                    self.error(at, Kind::Percent, Span::new(0, at.text.len()), message);
                }
                return;
            }
        }
        if !self.one_step(at) {
            return;
        }
        if line.slash.is_some() {
            let skips = self.setup.block_delete;
            let message = format!("lines that start with / are {}", if skips { "skipped" } else { "executed" });
            self.note(at, Kind::BlockDelete, Span::new(0, at.text.len()), message);
            if skips {
                return;
            }
        }
        if let Some(flow) = line.flow.take() {
            self.flow_line(at, line, &flow, next);
            if flow.keyword.is_some() {
                self.pass_on(line);
                return;
            }
        }
        self.evaluate(at, line);
        self.pass_on(line);
        if says_something {
            self.said_something |= !(line.words.is_empty() && line.settings.is_empty());
            let sets_parameters = !line.settings.is_empty();
            let mut command = Command::new(at, line, self.setup, &mut self.diagnostics);
            let first_block = self.program.blocks.len() as u32;
            self.execute(&mut command);
            if command.sets_modes() || sets_parameters {
                self.modes_changed(at.line, first_block);
            }
            self.call_or_return(&mut command, next);
            command.report_unused(&mut self.diagnostics);
        }
    }

    /// One line in the order of NISTIR 6556 Table 8.
    fn execute(&mut self, command: &mut Command<'_>) {
        if self.compensation.is_some() {
            self.refuse_under_compensation(command);
        }
        self.feed_mode(command);
        let feed = self.feed_word(command);
        self.spindle_speed(command);
        self.cutter_word(command);
        self.cutter_change(command);
        self.spindle(command);
        self.dwell(command);
        self.modes.set_plane(command, &mut self.program.facts);
        self.modes.set_units(command, &mut self.program.facts);
        if feed.is_some() {
            self.feed_inch = self.modes.inch;
        }
        self.set_compensation(command);
        self.set_tool_length(command);
        self.modes.set_system(command);
        if command.sets_modes() {
            self.offsets_changed();
        }
        self.modes.set_switches(command);
        self.path_control(command);
        self.modes.set_distance(command, &mut self.program.facts);
        self.modes.set_small_ones(command);
        self.modes.set_motion(command);
        if self.cycle.code != 0 && !matches!(self.modes.motion, Motion::Cycle(_)) {
            self.cycle = Sticky::default();
        }
        match command.code_of(Group::NonModal).map(|code| code.code) {
            Some(100) => self.set_system_origin(command),
            Some(280) => self.go_home(command, 0),
            Some(300) => self.go_home(command, 1),
            Some(code @ (281 | 301)) => {
                self.store_home(command, usize::from(code == 301));
                self.motion(command, feed);
            }
            Some(520) => self.set_local(command),
            Some(920) => self.set_offsets(command),
            Some(code @ 921..=923) => {
                self.recall_offsets(code);
                self.motion(command, feed);
            }
            _ => self.motion(command, feed),
        }
        self.stopping(command);
    }

    fn percent_line(&mut self, at: At<'_>, line: &Line) {
        self.pass_on(line);
        match (self.reading, self.first_is_percent) {
            // Text beside it makes it another line.
            (_, None) => self.first_is_percent = Some(line.unread.is_none()),
            (Reading::Program, Some(true)) => self.end(at.line, Reading::AfterEnd),
            (Reading::Program, Some(false)) => {
                let message = "a % that closes nothing, as no bare % stands first";
                self.warn(at, Kind::Percent, Span::new(0, at.text.len()), message);
                self.end(at.line, Reading::AfterStrayPercent);
            }
            _ => {}
        }
    }

    fn report_behind(&mut self, found: Option<Diagnostic>) {
        if let Some(found) = found {
            self.diagnostics.push(found);
        }
    }

    pub(super) fn end(&mut self, line: u32, reading: Reading) {
        if self.fatal {
            return;
        }
        self.event(line, EventKind::End);
        self.program.facts.ended = true;
        self.reading = reading;
    }

    /// What M2 and M30 put back (NISTIR 6556 section 3.6.1). Units, tool length and F stay.
    pub(super) fn reset(&mut self) {
        self.g92 = [0.0; 6];
        self.local = [0.0; 6];
        self.compensation = None;
        self.cycle = Sticky::default();
        if self.modes.inverse_time {
            self.feed = None;
        }
        self.modes.end();
        self.spindle_turns = false;
    }

    /// Writes down the modes in force from `first_block` on, where they have changed on this line.
    fn modes_changed(&mut self, line: u32, first_block: u32) {
        let spindle = match (self.spindle_turns, self.spindle_clockwise) {
            (false, _) => Spindle::Off,
            (true, true) => Spindle::Clockwise,
            (true, false) => Spindle::CounterClockwise,
        };
        let [origin, offset] = self.origin_and_offset();
        let modal = Modal {
            plane: self.modes.plane,
            inch: self.modes.inch,
            incremental: self.modes.incremental,
            arc_absolute: self.modes.arc_absolute,
            inverse_time: self.modes.inverse_time,
            retract_to_r: self.modes.retract_to_r,
            system: self.modes.system as u8 + 1,
            compensation: self.compensation.map(|compensation| compensation.shown()),
            tool_offset: self.length,
            spindle,
            speed: self.spindle_speed,
            selected: self.selected,
            cutter: self.cutter,
            mist: self.modes.mist,
            flood: self.modes.flood,
            overrides: self.modes.overrides,
            path_control: self.modes.path_control,
            origin,
            offset,
        };
        let from = ModalFrom { first_block, line, modal };
        let entries = self.program.modals.len() as u32;
        let again = self.program.visits.get(&line).is_some_and(|visit| visit.modals != entries);
        match self.program.modals.last_mut() {
            Some(last) if last.modal == modal || self.fatal => {}
            // A loop that moves nothing adds nothing.
            Some(last) if again && last.first_block == first_block => *last = from,
            _ => self.program.modals.push(from),
        }
    }

    /// Whether an error has ended the reading.
    pub(super) fn is_over(&self) -> bool {
        self.fatal
    }

    fn check_end(&mut self, last: At<'_>) {
        if self.fatal {
            return;
        }
        if !self.said_something {
            self.refuse(last, Kind::NotAProgram, "this program holds no command", "");
        } else if !self.program.facts.ended {
            let message = "the program ends without M2 or M30: is the file whole?";
            self.warn(last, Kind::End, Span::new(0, last.text.len()), message);
        }
    }

    fn finish(mut self) -> Program {
        self.report_unstated();
        for axis in 0..6 {
            self.program.end[axis] = (self.unknown & 1 << axis == 0).then_some(self.place[axis]);
        }
        self.program.end_cutter = self.cutter;
        self.program.end_origins = self.origins;
        self.program.end_tool_offset = self.length;
        self.program.end_g92 = self.g92;
        self.program.end_offset = self.origin_and_offset()[1];
        self.program.parameters = self.parameters_at_end();
        self.program.stopped = self.fatal || (self.diagnostics.errors() > 0 && !self.setup.lenient);
        self.program.counted = self.diagnostics.counted();
        self.program.diagnostics = self.diagnostics.finish();
        if let Some(reaction) = self.setup.not_understood {
            let advice = reaction.advice();
            let concerned = |one: &&mut Diagnostic| one.kind == Kind::NotUnderstood;
            for found in self.program.diagnostics.iter_mut().filter(concerned) {
                found.help = Some(match &found.help {
                    Some(help) => format!("{advice}; {help}").into(),
                    None => advice.into(),
                });
            }
        }
        self.program
    }

    /// Remembers which modes a motion used that nobody had stated.
    pub(super) fn modes_used(&mut self, line: u32, rapid: bool, arc: bool) {
        let facts = &self.program.facts;
        let used =
            [!facts.inch && !facts.millimetres, !facts.distance, !facts.feed_mode && !rapid, !facts.plane && arc];
        let used = (0..4).filter(|&mode| used[mode]).fold(0, |mask, mode| mask | 1 << mode);
        if self.unstated == 0 && used != 0 {
            self.unstated_line = line;
        }
        self.unstated |= used;
    }

    fn report_unstated(&mut self) {
        if self.unstated == 0 {
            return;
        }
        let names = UNSTATED.iter().enumerate().filter(|(mode, _)| self.unstated & 1 << mode != 0);
        let names: Vec<&str> = names.map(|(_, &name)| name).collect();
        let message = format!("never stated before it matters, so as at power on: {}", names.join(", "));
        let at = At { text: b"", line: self.unstated_line };
        self.note(at, Kind::Modes, Span::default(), message);
    }

    fn pass_on(&mut self, line: &Line) {
        for found in &line.diagnostics {
            match found.kind {
                Kind::LineNumber => self.diagnostics.push_once(found.clone()),
                _ => self.diagnostics.push(found.clone()),
            }
        }
    }

    /// How many blocks there may be by now, and how many events: a long text is no endless loop.
    pub(super) fn most_blocks(&self) -> u64 {
        self.setup.max_blocks.saturating_add(u64::from(self.program.lines)).min(u64::from(u32::MAX))
    }

    pub(super) fn event(&mut self, line: u32, kind: EventKind) {
        if self.program.events.len() as u64 >= self.most_blocks() {
            let at = At { text: b"", line };
            let message = format!("more than {} events by calls, loops and repeats", self.setup.max_blocks);
            self.refuse(
                at,
                Kind::Budget,
                message,
                "if it is meant, raise it in the scene: [controller] budget = { blocks = … }",
            );
            return;
        }
        let after_blocks = self.program.blocks.len() as u32;
        self.program.events.push(Event { after_blocks, line, kind });
    }

    /// Each message of this kind is given once.
    pub(super) fn note(&mut self, at: At<'_>, kind: Kind, span: Span, message: impl Into<String>) {
        self.diagnostics.push_once(at.diagnostic(Severity::Note, kind, span, message));
    }

    /// Each message of this kind is given once.
    pub(super) fn warn(&mut self, at: At<'_>, kind: Kind, span: Span, message: impl Into<String>) {
        self.diagnostics.push_once(at.diagnostic(Severity::Warning, kind, span, message));
    }

    pub(super) fn error(&mut self, at: At<'_>, kind: Kind, span: Span, message: impl Into<String>) {
        self.diagnostics.push(at.diagnostic(Severity::Error, kind, span, message));
    }

    /// An error that ends the reading, lenient or not.
    pub(super) fn refuse(&mut self, at: At<'_>, kind: Kind, message: impl Into<String>, help: &'static str) {
        if self.fatal {
            return;
        }
        let found = at.diagnostic(Severity::Error, kind, Span::new(0, at.text.len()), message);
        self.diagnostics.push(if help.is_empty() { found } else { found.help(help) });
        self.fatal = true;
        self.reading = Reading::CountOnly;
    }
}

/// The modes a motion may use unstated, and their state at power on.
const UNSTATED: [&str; 4] = ["G21 (millimetres)", "G90 (absolute)", "G94 (feed per minute)", "G17 (plane XY)"];
