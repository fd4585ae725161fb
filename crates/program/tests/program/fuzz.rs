//! Every program of the corpus, changed at random: the reader never panics, keeps within its budgets, and gives every
//! byte to a token.
//!
//! The corpus lies in `tests/corpus` of this crate and `tests/cases/reader` of the repository. What ever goes wrong is
//! printed and joins it as a file. `FUZZ_ROUNDS=1000000 FUZZ_SEED=7` looks further.

use std::fs;
use std::io::Cursor;
use std::path::Path;

use dryturn_program::listing::{Options, TokenKind, parse_line, tokens};
use dryturn_program::{CodeName, Description, Listing, Program, Setup, Survey, read, read_file};

use super::laws;
use super::mutate::{Dice, Witness, from_environment, mutated};

const FOLDERS: [&str; 2] = ["tests/corpus", "../../tests/cases/reader"];

/// How many programs are read unless somebody says otherwise.
const ROUNDS: usize = 20_000;

fn corpus() -> Vec<Vec<u8>> {
    let mut paths: Vec<_> =
        FOLDERS.iter().flat_map(|folder| files(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder))).collect();
    paths.sort();
    assert!(paths.len() > 500, "the corpus is not found");
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// All programs in a folder and those in it.
fn files(folder: &Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let found = entries.flat_map(|path| if path.is_dir() { files(&path) } else { vec![path] });
    found.filter(|path| path.extension().is_some_and(|ending| ending == "nc" || ending == "ngc")).collect()
}

/// A set-up with budgets that a mean text soon meets, and every other option at random.
fn setup(dice: &mut Dice) -> Setup {
    let mut coin = || dice.under(2) == 0;
    let start = if coin() { [Some(0.0); 6] } else { [None; 6] };
    let machine_zero = if coin() { [Some(-5.0); 6] } else { [None; 6] };
    Setup {
        start,
        machine_zero,
        lenient: coin(),
        block_delete: coin(),
        expressions: coin() || coin(),
        subprograms: coin() || coin(),
        canned: coin() || coin(),
        stickouts: [(1, 30.0), (2, 25.0)].into(),
        diameters: [(1, 3.0)].into(),
        max_steps: 500,
        max_blocks: 300,
        max_depth: 4,
        ..Setup::default()
    }
}

fn budgets_hold(program: &Program, setup: &Setup) {
    let most = setup.max_blocks + u64::from(program.lines);
    assert!(program.blocks.len() as u64 <= most && program.events.len() as u64 <= most);
    assert!(program.facts.steps <= setup.max_steps);
    assert!(program.facts.depth <= setup.max_depth);
    // Each line adds at most one entry here unless lines come again, and then at most one for each block or event.
    let most = u64::from(program.lines) + setup.max_steps + 1;
    assert!(program.shown.len() as u64 <= most && program.modals.len() as u64 <= most);
}

/// Every byte belongs to one token, and none is called what it is not.
fn tokens_tile(source: &[u8]) {
    let mut end = 0;
    for token in tokens(source) {
        assert_eq!(token.span.start, end, "a gap or an overlap");
        assert!(token.span.end > token.span.start, "an empty token");
        end = token.span.end;
        let bytes = &source[token.span.start as usize..token.span.end as usize];
        let first = bytes[0].to_ascii_uppercase();
        let fits = match token.kind {
            TokenKind::Blank => bytes.iter().all(|byte| matches!(byte, b' ' | b'\t')),
            TokenKind::Slash => bytes == b"/",
            TokenKind::LineNumber => first == b'N',
            TokenKind::Word => first.is_ascii_alphabetic() && !matches!(first, b'N' | b'O'),
            TokenKind::Setting => first == b'#' && bytes.contains(&b'='),
            TokenKind::Flow => matches!(first, b'O' | b':'),
            TokenKind::Comment => matches!(first, b'(' | b';'),
            TokenKind::Percent => bytes == b"%",
            TokenKind::LineEnd => matches!(bytes, b"\n" | b"\r" | b"\r\n"),
            TokenKind::ByteOrderMark => bytes == b"\xef\xbb\xbf" && token.span.start == 0,
            TokenKind::EndMark => bytes.iter().all(|&byte| byte == 0x1a),
            TokenKind::Unread => {
                let line = source[..token.span.start as usize].iter().rposition(|byte| matches!(byte, b'\n' | b'\r'));
                let mark = if source.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
                let line = line.map_or(mark, |at| at + 1);
                !parse_line(&source[line..token.span.end as usize], 1, Options::default()).diagnostics.is_empty()
            }
        };
        assert!(fits, "{:?} is no {:?}", bytes.escape_ascii().to_string(), token.kind);
    }
    assert_eq!(end as usize, source.len(), "the end of the text is in no token");
}

/// Everything that reads a text agrees, and nothing panics.
fn every_reading(source: &[u8], program: &Program, setup: &Setup) {
    let passing = read_file(&mut Cursor::new(source), setup).unwrap();
    assert_eq!(format!("{passing:?}"), format!("{program:?}"));
    let listing = Listing::new(source, program, setup);
    for line in 0..=program.lines + 1 {
        listing.state_before(line);
        listing.blocks_of(line);
    }
    // A description has budgets of its own, which a loop or a cycle may take long to use up.
    let survey = Survey::of(source);
    let long = |code: &CodeName| matches!(code, CodeName::G(730 | 810..=890) | CodeName::M(98 | 99));
    if survey.flow.is_none() && !survey.codes.keys().any(long) {
        assert_eq!(Description::of(source).1.lines, program.lines);
    }
}

#[test]
fn changed_programs_are_read_within_their_budgets() {
    let programs = corpus();
    let mut dice = Dice(from_environment("FUZZ_SEED", 1) as u64);
    let rounds = from_environment("FUZZ_ROUNDS", ROUNDS);
    let mut stopped = 0;
    for round in 0..rounds {
        let text = if round < programs.len() { programs[round].clone() } else { mutated(&programs, &mut dice) };
        let _witness = Witness(round, &text);
        let setup = setup(&mut dice);
        tokens_tile(&text);
        let program = read(&text, &setup);
        laws::check(&text, &program).unwrap_or_else(|error| panic!("{error}"));
        budgets_hold(&program, &setup);
        if round % 8 == 0 {
            every_reading(&text, &program, &setup);
        }
        stopped += usize::from(program.stopped());
    }
    // Neither all are refused nor all are taken: the changes are neither wild nor idle.
    assert!((rounds / 10..rounds * 9 / 10).contains(&stopped), "{stopped} of {rounds} are refused");
}
