//! The lines of a file as they come, without its text in memory.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read};

use crate::text::{KEPT, MARK, without_end_marks};

/// Bytes read at a time.
const CHUNK: usize = 1 << 18;

/// The lines of a file, numbered and split as [`crate::text::Lines`] does, from a buffer of fixed size. Of a line that
/// is too long to be read only the first bytes are kept, enough to tell.
pub(crate) struct Stream<R> {
    input: R,
    buffer: Vec<u8>,
    /// What of the buffer is still to be split.
    start: usize,
    end: usize,
    number: u32,
    /// Nothing more comes.
    over: bool,
}

impl<R: Read> Stream<R> {
    /// Reads the first bytes, as many as one reading takes or the file has.
    pub(crate) fn new(input: R) -> io::Result<Self> {
        Self::with_chunk(input, CHUNK)
    }

    fn with_chunk(input: R, chunk: usize) -> io::Result<Self> {
        let mut stream = Self { input, buffer: vec![0; chunk], start: 0, end: 0, number: 0, over: false };
        while stream.end < chunk && !stream.over {
            stream.fill()?;
        }
        if stream.buffer[..stream.end].starts_with(MARK) {
            stream.start = MARK.len();
        }
        Ok(stream)
    }

    /// What comes first in the file, before any line is taken.
    pub(crate) fn head(&self) -> &[u8] {
        &self.buffer[self.start..self.end]
    }

    /// The next line, its number from 1 and its bytes without the line end.
    pub(crate) fn next_line(&mut self) -> io::Result<Option<(u32, &[u8])>> {
        let mut looked_at = 0;
        let (length, taken) = loop {
            let rest = &self.buffer[self.start..self.end];
            let found = rest[looked_at..].iter().position(|byte| matches!(byte, b'\n' | b'\r'));
            match found.map(|index| looked_at + index) {
                // The other half of CR LF may not have come yet.
                Some(at) if rest[at] == b'\r' && at + 1 == rest.len() && !self.over => looked_at = at,
                Some(at) => break (at, at + if rest[at..].starts_with(b"\r\n") { 2 } else { 1 }),
                None if !self.over => looked_at = rest.len(),
                None => match without_end_marks(rest).len() {
                    0 => return Ok(None),
                    length => break (length, rest.len()),
                },
            }
            looked_at -= self.drop_past_limit(looked_at);
            self.fill()?;
        };
        self.number = self.number.saturating_add(1);
        let line = self.start..self.start + length.min(KEPT);
        self.start += taken;
        Ok(Some((self.number, &self.buffer[line])))
    }

    /// Takes out of the buffer what stands on a line past the limit, and says how much that was.
    fn drop_past_limit(&mut self, looked_at: usize) -> usize {
        let dropped = looked_at.saturating_sub(KEPT);
        if dropped > 0 {
            self.buffer.copy_within(self.start + looked_at..self.end, self.start + KEPT);
            self.end -= dropped;
        }
        dropped
    }

    /// Brings what is left to the front of the buffer and reads on behind it.
    fn fill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.start..self.end, 0);
        self.end -= self.start;
        self.start = 0;
        if self.end == self.buffer.len() {
            self.buffer.resize(2 * self.end, 0);
        }
        let read = loop {
            match self.input.read(&mut self.buffer[self.end..]) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                found => break found?,
            }
        };
        self.end += read;
        self.over = read == 0;
        Ok(())
    }
}

/// The texts of some lines of a file, which is read no further than it must be.
pub(crate) fn lines_at(input: impl Read, wanted: &BTreeSet<u32>) -> io::Result<BTreeMap<u32, Vec<u8>>> {
    let mut texts = BTreeMap::new();
    let Some(&last) = wanted.last() else {
        return Ok(texts);
    };
    let mut stream = Stream::new(input)?;
    while let Some((number, text)) = stream.next_line()? {
        if wanted.contains(&number) {
            texts.insert(number, text.to_vec());
        }
        if number >= last {
            break;
        }
    }
    Ok(texts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::Lines;

    /// Gives a few bytes at a time.
    struct Dripping<'a>(&'a [u8], usize);

    impl Read for Dripping<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let count = self.1.min(into.len());
            self.0.read(&mut into[..count])
        }
    }

    fn lines(source: &[u8], chunk: usize, drip: usize) -> Vec<(u32, Vec<u8>)> {
        let mut stream = Stream::with_chunk(Dripping(source, drip), chunk).unwrap();
        let mut found = Vec::new();
        while let Some((number, text)) = stream.next_line().unwrap() {
            found.push((number, text.to_vec()));
        }
        found
    }

    #[test]
    fn the_same_lines_as_those_of_the_whole_text() {
        let sources: [&[u8]; 10] = [
            b"",
            b"\n",
            b"a\n\nb",
            b"a\r\n\r\nb\r\n",
            b"a\r\rb\r",
            b"\r",
            b"\xef\xbb\xbfa\n\nb\n\x1a\x1a",
            b"one line with words\r\nand another one\rand the last",
            b"\x1a",
            b"G1 X1\x1a\nG1\x1a",
        ];
        for source in sources {
            let whole: Vec<(u32, Vec<u8>)> = Lines::new(source).map(|(number, text)| (number, text.to_vec())).collect();
            for (chunk, drip) in [(4, 1), (4, 3), (5, 5), (64, 64), (CHUNK, CHUNK)] {
                assert_eq!(lines(source, chunk, drip), whole, "{source:?} by {chunk} and {drip}");
            }
        }
    }

    #[test]
    fn a_line_too_long_is_cut_and_takes_no_memory() {
        let mut source = vec![b'X'; 5 * CHUNK];
        source.extend_from_slice(b"\r\nG0\n");
        let mut stream = Stream::new(&source[..]).unwrap();
        assert_eq!(stream.next_line().unwrap().map(|(_, text)| text.len()), Some(KEPT));
        assert_eq!(stream.next_line().unwrap(), Some((2, &b"G0"[..])));
        assert_eq!(stream.next_line().unwrap(), None);
        assert!(stream.buffer.len() <= 2 * CHUNK);
    }
}
