//! Tool length offsets: G43 and G49 (NISTIR 6556 section 3.5.11).
//!
//! A job without G43 has each cutter zeroed by hand, and Z words place its tip. In a job with G43 the zero is that of
//! the spindle: a Z word places the spindle's reference less the length of H, so the tip lies where the word says only
//! if H is the cutter in the spindle. Which of the two holds is known once the program is read, see [`super::read`].

use super::reader::Reader;
use crate::codes::Group;
use crate::command::{Command, whole};
use crate::diagnostic::{At, Diagnostic, Kind, Severity, Span};
use crate::program::ToolOffset;

impl Reader<'_> {
    /// What a Z word misses the tip by, mm; `None`: a length is not given.
    pub(super) fn length_shift(&self) -> Option<f64> {
        let stickout = |number: u32| self.setup.stickouts.get(&number).copied();
        match (self.length, self.cutter) {
            (ToolOffset::ByHand, _) | (ToolOffset::Of(_), None) => Some(0.0),
            (ToolOffset::Of(offset), Some(cutter)) if offset == cutter => Some(0.0),
            (ToolOffset::Of(offset), Some(cutter)) => Some(stickout(offset)? - stickout(cutter)?),
            (ToolOffset::None, cutter) => Some(-stickout(cutter?)?),
        }
    }

    pub(super) fn set_tool_length(&mut self, command: &mut Command<'_>) {
        let Some(code) = command.code_of(Group::ToolLength) else {
            return;
        };
        if code.code == 490 {
            if self.length != ToolOffset::ByHand {
                self.length = ToolOffset::None;
            }
            return;
        }
        self.program.facts.tool_length = true;
        let word = command.take(b'H');
        let number = match word {
            Some(word) => whole(word.value, 1e-4),
            None => self.cutter,
        };
        let span = word.map_or(code.span, |word| word.span);
        let Some(number) = number else {
            let message = match word {
                Some(_) => "the H number of G43 is not a whole number of a cutter, from 0 up",
                None => "G43 needs an H word, the number of a cutter",
            };
            command.error(Kind::Number, span, message, &mut self.diagnostics);
            return;
        };
        self.check_length(command.at, span, number);
        self.length = if number == 0 { ToolOffset::None } else { ToolOffset::Of(number) };
    }

    /// Says where a length is not that of the cutter in the spindle, once for each two of them.
    fn check_length(&mut self, at: At<'_>, span: Span, number: u32) {
        let Some(cutter) = self.cutter.filter(|&cutter| cutter != number) else { return };
        let message = match number {
            0 => format!("H0 is no length, and cutter {cutter} is in the spindle"),
            _ => format!("the length of cutter {number} is used, but cutter {cutter} is in the spindle"),
        };
        let stickout = |number: u32| self.setup.stickouts.get(&number).copied();
        let used = if number == 0 { Some(0.0) } else { stickout(number) };
        let shift = used.zip(stickout(cutter)).map(|(used, hangs)| used - hangs);
        let found = Diagnostic { shift, ..at.diagnostic(Severity::Warning, Kind::WrongLength, span, message) };
        self.diagnostics.push_once(found.help("the H word should be the number of the cutter"));
    }

    /// Says where a cutter cuts under the length of the one that was in the spindle before it.
    pub(super) fn cuts_under_length(&mut self, at: At<'_>) {
        if let ToolOffset::Of(number) = self.length {
            self.check_length(at, Span::new(0, at.text.len()), number);
        }
    }

    /// Where the job has lengths, another cutter's tip hangs at another height while the spindle stands still.
    pub(super) fn tip_moves(&mut self, at: At<'_>, before: Option<u32>) {
        if self.length == ToolOffset::ByHand || before == self.cutter {
            return;
        }
        let stickout = |cutter: Option<u32>| self.setup.stickouts.get(&cutter?).copied();
        let (Some(old), Some(new)) = (stickout(before), stickout(self.cutter)) else {
            self.unknown |= 0b100;
            return;
        };
        if old != new && self.unknown & 0b100 == 0 {
            self.jump_to(at, self.place[2] + old - new);
        }
    }
}
