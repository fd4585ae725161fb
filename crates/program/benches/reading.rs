//! How fast programs are read, a core, against how fast the same bytes are split into lines, and into words.
//!
//! `cargo bench -p dryturn-program`

use std::fmt::Write;
use std::io::{BufRead, Cursor};

use divan::counter::ItemsCount;
use dryturn_program::{Description, Setup, read, read_file};

fn main() {
    divan::main();
}

const LINES: usize = 200_000;

/// A helix as post-processors write it: three words a line.
fn plain() -> String {
    let mut text = "G21 G90 G94\nG0 X0 Z10 A0\nG1 Z5 F600\n".to_owned();
    for line in 0..LINES {
        let turn = line as f64;
        writeln!(text, "X{:.3} Z{:.3} A{:.3}", turn * 0.001, 5.0 + (line % 7) as f64 * 0.1, turn * 1.5).unwrap_or(());
    }
    text + "M2\n"
}

/// The same with a code and a feed on every line.
fn wordy() -> String {
    plain().replace("\nX", "\nG1 F600 X")
}

/// A loop over the same count of lines with two formulas each.
fn loops() -> String {
    format!("G21 G90 G94\n#1=0\no1 repeat [{}]\nG1 X[#1/1000] A[#1*1.5] F600\n#1=[#1+1]\no1 endrepeat\nM2\n", LINES / 3)
}

fn read_all(bencher: divan::Bencher<'_, '_>, text: String) {
    let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
    bencher.counter(ItemsCount::new(LINES)).bench(|| read(text.as_bytes(), &setup));
}

#[divan::bench]
fn plain_lines(bencher: divan::Bencher<'_, '_>) {
    read_all(bencher, plain());
}

#[divan::bench]
fn lines_with_codes(bencher: divan::Bencher<'_, '_>) {
    read_all(bencher, wordy());
}

#[divan::bench]
fn lines_in_a_loop(bencher: divan::Bencher<'_, '_>) {
    read_all(bencher, loops());
}

/// Plain lines that pass by, as from a file.
#[divan::bench]
fn plain_lines_passing_by(bencher: divan::Bencher<'_, '_>) {
    let (text, setup) = (plain(), Setup { start: [Some(0.0); 6], ..Setup::default() });
    bencher
        .counter(ItemsCount::new(LINES))
        .bench(|| read_file(&mut Cursor::new(text.as_bytes()), &setup).map(|program| program.blocks.len()));
}

/// All that `inspect` tells of them.
#[divan::bench]
fn plain_lines_described(bencher: divan::Bencher<'_, '_>) {
    let text = plain();
    bencher.counter(ItemsCount::new(LINES)).bench(|| Description::of(text.as_bytes()).1.lines);
}

/// The floor: the same bytes read and split into lines.
#[divan::bench]
fn floor_lines(bencher: divan::Bencher<'_, '_>) {
    let text = plain();
    bencher.counter(ItemsCount::new(LINES)).bench(|| {
        let (mut lines, mut buffer) = (Cursor::new(text.as_bytes()), Vec::new());
        let mut count = 0_usize;
        while lines.read_until(b'\n', &mut buffer).is_ok_and(|length| length > 0) {
            count += buffer.len();
            buffer.clear();
        }
        count
    });
}

/// What comes on top of it in any reader: words split and their numbers parsed by the standard library.
#[divan::bench]
fn floor_numbers(bencher: divan::Bencher<'_, '_>) {
    let text = plain();
    bencher.counter(ItemsCount::new(LINES)).bench(|| {
        let numbers =
            text.lines().flat_map(|line| line.split(' ')).filter_map(|word| word.get(1..)?.parse::<f64>().ok());
        numbers.sum::<f64>()
    });
}
