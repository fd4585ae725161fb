//! Lines of a text: how many there have been, and that none is without end.

use std::io::{BufRead, Read};

use super::{LINE_LIMIT, MeshError};

/// Reads the next line into a buffer; `false` at the end.
pub(super) fn next_line(reader: &mut impl BufRead, line: &mut Vec<u8>, number: usize) -> Result<bool, MeshError> {
    line.clear();
    reader.by_ref().take(LINE_LIMIT).read_until(b'\n', line)?;
    if line.len() as u64 == LINE_LIMIT {
        return Err(MeshError::Line { line: number, message: "the line is longer than 1 MiB".to_owned() });
    }
    Ok(!line.is_empty())
}

/// A reader that knows in which line it is, and ends one that is too long.
pub(super) struct Counted<R> {
    inner: R,
    lines: usize,
    of_line: u64,
    limit: u64,
}

impl<R> Counted<R> {
    pub(super) fn new(inner: R) -> Counted<R> {
        Counted { inner, lines: 0, of_line: 0, limit: LINE_LIMIT }
    }

    /// How many lines have ended.
    pub(super) fn count(&self) -> usize {
        self.lines
    }

    /// What comes has no lines.
    pub(super) fn lift_limit(&mut self) {
        self.limit = u64::MAX;
    }
}

impl<R: BufRead> Read for Counted<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let available = self.fill_buf()?;
        let count = available.len().min(buffer.len());
        buffer[..count].copy_from_slice(&available[..count]);
        self.consume(count);
        Ok(count)
    }
}

impl<R: BufRead> BufRead for Counted<R> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if self.of_line > self.limit {
            return Err(std::io::Error::new(std::io::ErrorKind::InvalidData, "the line is longer than 1 MiB"));
        }
        self.inner.fill_buf()
    }

    fn consume(&mut self, count: usize) {
        // The bytes are still there: a second look at the buffer does not read.
        if let Ok(bytes) = self.inner.fill_buf() {
            let taken = &bytes[..count.min(bytes.len())];
            let ends = taken.iter().filter(|&&byte| byte == b'\n').count();
            self.lines += ends;
            let after_end = taken.iter().rev().take_while(|&&byte| byte != b'\n').count() as u64;
            self.of_line = if ends > 0 { after_end } else { self.of_line + after_end };
        }
        self.inner.consume(count);
    }
}
