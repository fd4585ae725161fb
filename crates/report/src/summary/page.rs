//! Lines of text within a width.

use crate::text::{cut, plain, wrapped};

/// What a coloured part says beside its words.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Strong,
    Good,
    Doubt,
    Bad,
    Quiet,
}

impl Tone {
    /// The rendition of ECMA-48 that turns it on: blue, yellow and vermilion stay apart without colour vision.
    fn rendition(self) -> &'static str {
        match self {
            Tone::Strong => "\u{1b}[1m",
            Tone::Good => "\u{1b}[1;38;5;32m",
            Tone::Doubt => "\u{1b}[1;38;5;178m",
            Tone::Bad => "\u{1b}[1;38;5;166m",
            Tone::Quiet => "\u{1b}[2m",
        }
    }
}

/// A page being written, line by line. Widths count characters; wide scripts may stand out beyond the edge.
pub(super) struct Page {
    text: String,
    width: usize,
    colour: bool,
}

impl Page {
    /// An empty page; the width is taken as 40 … 100 characters.
    pub(super) fn new(width: usize, colour: bool) -> Page {
        Page { text: String::new(), width: width.clamp(40, 100), colour }
    }

    pub(super) fn finish(self) -> String {
        self.text
    }

    /// An empty line, never two.
    pub(super) fn gap(&mut self) {
        if !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    pub(super) fn heading(&mut self, text: &str) {
        self.gap();
        self.toned(Tone::Strong, 0, text);
    }

    /// A text wrapped to the width; indented, lines after the first stand two further in.
    pub(super) fn paragraph(&mut self, indent: usize, text: &str) {
        for line in self.lines(indent, text) {
            self.text.push_str(&line);
            self.text.push('\n');
        }
    }

    /// A paragraph all in one tone.
    pub(super) fn toned(&mut self, tone: Tone, indent: usize, text: &str) {
        for line in self.lines(indent, text) {
            self.tinted(tone, &line);
            self.text.push('\n');
        }
    }

    /// A mark in its tone, with a text after it; the text goes on under itself.
    pub(super) fn marked(&mut self, tone: Tone, mark: &str, text: &str) {
        self.tinted(tone, mark);
        self.beside(mark, text);
    }

    /// The same without a tone.
    pub(super) fn hanging(&mut self, mark: &str, text: &str) {
        self.text.push_str(mark);
        self.beside(mark, text);
    }

    fn beside(&mut self, mark: &str, text: &str) {
        let gap = 2;
        let indent = mark.chars().count() + gap;
        for (index, line) in wrapped(&plain(text), self.width - indent).iter().enumerate() {
            let margin = if index == 0 { gap } else { indent };
            self.text.push_str(&format!("{:margin$}{line}\n", ""));
        }
    }

    /// A line of a program after the name of its place, cut to the width.
    pub(super) fn quoted(&mut self, indent: usize, place: &str, line: &str) {
        // More of a line than the page is wide is never shown, so more is not looked at either.
        let start: String = line.chars().take(self.width).collect();
        let whole = " ".repeat(indent) + place + &plain(&start);
        self.text.push_str(cut(&whole, self.width).trim_end());
        self.text.push('\n');
    }

    fn lines(&self, indent: usize, text: &str) -> Vec<String> {
        let further = if indent > 0 { indent + 2 } else { 0 };
        let lines = wrapped(&plain(text), self.width - further);
        let margin = |index| " ".repeat(if index > 0 { further } else { indent });
        lines.iter().enumerate().map(|(index, line)| margin(index) + line).collect()
    }

    fn tinted(&mut self, tone: Tone, text: &str) {
        if self.colour {
            self.text.push_str(tone.rendition());
        }
        self.text.push_str(text);
        if self.colour {
            self.text.push_str("\u{1b}[0m");
        }
    }
}
