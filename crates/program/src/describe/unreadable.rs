//! Whether a file is a program at all, by how many of its lines can be read.

use std::io::{self, Read, Seek};

use crate::listing::{self, Line, Options, axis};
use crate::program::Program;
use crate::stream::Stream;

/// How many lines cannot be read, wholly or in part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unreadable {
    /// These.
    pub lines: u32,
    /// Of so many that say anything besides comments.
    pub of: u32,
}

/// Only where errors are at least one in so many lines is the file looked through once more.
const LINES_PER_ERROR: usize = 8;

impl Unreadable {
    /// `Some` where most lines cannot be read.
    pub(super) fn most_of(program: &Program, input: &mut (impl Read + Seek)) -> io::Result<Option<Self>> {
        let [.., errors] = program.counted;
        if errors.saturating_mul(LINES_PER_ERROR) < program.lines as usize {
            return Ok(None);
        }
        input.rewind()?;
        let found = Self::of_file(input)?;
        Ok((u64::from(found.lines) * 2 > u64::from(found.of)).then_some(found))
    }

    fn of_file(input: impl Read) -> io::Result<Self> {
        let mut found = Self { lines: 0, of: 0 };
        each_line(input, |line| {
            found.of += u32::from(line.says_something());
            found.lines += u32::from(line.unread.is_some());
        })?;
        Ok(found)
    }
}

/// Axis words that stand where they can be read, executed or not, bit 0 X … bit 5 C.
pub(super) fn words_read(input: &mut (impl Read + Seek)) -> io::Result<u8> {
    input.rewind()?;
    let mut words = 0;
    each_line(input, |line| {
        let named = line.words.iter().filter_map(|word| axis(word.letter));
        words = named.fold(words, |words, axis| words | 1 << axis);
    })?;
    Ok(words)
}

fn each_line(input: impl Read, mut look: impl FnMut(&Line)) -> io::Result<()> {
    let mut line = Line::default();
    let mut stream = Stream::new(input)?;
    while let Some((number, text)) = stream.next_line()? {
        listing::read_line(&mut line, text, number, Options { line_limit: usize::MAX });
        look(&line);
    }
    Ok(())
}
