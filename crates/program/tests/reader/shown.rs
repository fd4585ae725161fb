//! A program's motions, events and diagnostics as text.

use std::fmt::Write;

use dryturn_program::{BlockFlags, EventKind, NO_ARC, NO_CUTTER, Program, line_text};

const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];

/// One line a motion or event, with its line number, then the end, what is kept, and the diagnostics.
pub(crate) fn program(program: &Program, source: &[u8]) -> String {
    let mut out = String::new();
    let mut events = program.events.iter().peekable();
    for index in 0..=program.blocks.len() {
        while let Some(event) = events.next_if(|event| event.after_blocks as usize == index) {
            writeln!(out, "{:4} {}", event.line, event_text(event.kind)).unwrap();
        }
        if index < program.blocks.len() {
            block(&mut out, program, index);
        }
    }
    if !program.parameters.is_empty() {
        let kept: Vec<String> =
            program.parameters.iter().map(|(index, &value)| format!("#{index}={}", number(value))).collect();
        writeln!(out, "kept {}", kept.join(" ")).unwrap();
    }
    for one in &program.diagnostics {
        let text = line_text(source, one.line);
        let caret = text.get(one.span.clone()).unwrap_or("?");
        let severity = format!("{:?}", one.severity).to_lowercase();
        writeln!(out, "{severity} {} {} `{caret}`: {}", one.line, one.kind, one.message).unwrap();
        if let Some(help) = &one.help {
            writeln!(out, "    {help}").unwrap();
        }
    }
    if program.stopped() {
        out.push_str("stopped\n");
    }
    out
}

/// The words that change, in full what does not follow from them.
fn block(out: &mut String, program: &Program, index: usize) {
    let block = &program.blocks[index];
    let from = program.start_of(index);
    let to = program.start_of(index + 1);
    let what = match (block.flags.has(BlockFlags::RAPID), block.arc == NO_ARC) {
        (true, _) => "rapid",
        (_, true) => "feed",
        _ => "arc",
    };
    write!(out, "{:4} {what}", block.line).unwrap();
    for (word, letter) in LETTERS.iter().enumerate() {
        match to[word] {
            Some(place) if from[word].is_none_or(|from| (from - place).abs() > 1e-9) => {
                write!(out, " {letter}{}", number(place)).unwrap();
            }
            None if from[word].is_some() => write!(out, " {letter}?").unwrap(),
            _ => {}
        }
    }
    if let Some(arc) = program.arcs.get(block.arc as usize) {
        let [first, second, _] = arc.plane.axes();
        let center = [(first, arc.center[0]), (second, arc.center[1])];
        let center = center.map(|(axis, place)| format!("{}{}", LETTERS[axis], number(place))).join(" ");
        let sweep = arc.sweep.to_degrees();
        write!(out, " center {center} radius {} sweep {}", number(arc.radius), number(sweep)).unwrap();
    }
    if !block.feed.is_nan() {
        let unit = if block.flags.has(BlockFlags::INVERSE_TIME) { "1/" } else { "" };
        write!(out, " F{unit}{}", number(f64::from(block.feed))).unwrap();
    }
    if block.cutter != NO_CUTTER {
        write!(out, " T{}", block.cutter).unwrap();
    }
    if block.flags.has(BlockFlags::SPINDLE_ON) {
        out.push_str(" on");
    }
    if block.flags.has(BlockFlags::START_UNKNOWN) {
        out.push_str(" from nowhere known");
    }
    out.push('\n');
}

fn event_text(kind: EventKind) -> String {
    match kind {
        EventKind::Dwell(seconds) => format!("dwell {} s", number(seconds)),
        EventKind::Stop => "stop".to_owned(),
        EventKind::OptionalStop => "optional stop".to_owned(),
        EventKind::CutterChange(Some(cutter)) => format!("cutter {cutter}"),
        EventKind::CutterChange(None) => "no cutter".to_owned(),
        EventKind::SpindleClockwise => "spindle clockwise".to_owned(),
        EventKind::SpindleCounterClockwise => "spindle counter-clockwise".to_owned(),
        EventKind::SpindleOff => "spindle off".to_owned(),
        EventKind::SpindleSpeed(speed) => format!("speed {}", number(speed)),
        EventKind::End => "end".to_owned(),
    }
}

/// Four decimals, without the zeros at the end.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
