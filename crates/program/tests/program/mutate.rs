//! Programs changed at random, the same way each time: what a stick, an editor or an ill will may do to a file.

/// A number that the environment may set.
pub(crate) fn from_environment(name: &str, otherwise: usize) -> usize {
    std::env::var(name).map_or(otherwise, |value| value.parse().expect("a number"))
}

/// Prints the program that was under way when a test fails: its round and its text.
pub(crate) struct Witness<'a>(pub(crate) usize, pub(crate) &'a [u8]);

impl Drop for Witness<'_> {
    #[expect(clippy::print_stderr, reason = "a failed test says what it was about")]
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("round {}: b\"{}\"", self.0, self.1.escape_ascii());
        }
    }
}

/// Scraps that are put in.
const SCRAPS: [&[u8]; 64] = [
    b"G0",
    b"G1 ",
    b"G2",
    b"G3",
    b"G17",
    b"G18",
    b"G19",
    b"G20",
    b"G21",
    b"G28",
    b"G38.2",
    b"G40",
    b"G41 D1",
    b"G42",
    b"G43 H1",
    b"G49",
    b"G52",
    b"G53",
    b"G55",
    b"G59.3",
    b"G73",
    b"G81",
    b"G83 Q1",
    b"G90",
    b"G91",
    b"G90.1",
    b"G92",
    b"G92.3",
    b"G93",
    b"G94",
    b"G98",
    b"G99",
    b"G10 L2 P1",
    b"M3",
    b"M6",
    b"M30",
    b"M98 P1",
    b"M99",
    b"T1",
    b"T65535",
    b"O1",
    b"o1 sub\n",
    b"o1 endsub\n",
    b"o1 call [1]\n",
    b"o2 repeat [9]\n",
    b"o2 endrepeat\n",
    b"o3 while [1]\n",
    b"o3 endwhile\n",
    b"#1=[#1+1]",
    b"[",
    b"]",
    b"#",
    b"(",
    b")",
    b";",
    b"%\n",
    b"/",
    b"\r",
    b"\n",
    b"\r\n",
    b"1e9",
    b"-",
    b"99999999999",
    b"\x1a",
];

/// A source of numbers: Sebastiano Vigna's splitmix64 (public domain, 2015).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number under `count`, or 0.
    pub(crate) fn under(&mut self, count: usize) -> usize {
        (self.next() % count.max(1) as u64) as usize
    }
}

/// One of the programs, with up to eight changes.
pub(crate) fn mutated(programs: &[Vec<u8>], dice: &mut Dice) -> Vec<u8> {
    let mut text = programs[dice.under(programs.len())].clone();
    for _ in 0..dice.under(9) {
        change(&mut text, programs, dice);
    }
    text
}

fn change(text: &mut Vec<u8>, programs: &[Vec<u8>], dice: &mut Dice) {
    let at = dice.under(text.len() + 1);
    let end = at + dice.under((text.len() - at + 1).min(40));
    match dice.under(9) {
        0 => drop(text.drain(at..end)),
        1 => text.splice(at..at, SCRAPS[dice.under(SCRAPS.len())].iter().copied()).for_each(drop),
        2 => text.splice(at..end, SCRAPS[dice.under(SCRAPS.len())].iter().copied()).for_each(drop),
        3 => {
            let copy = text[at..end].to_vec();
            let to = dice.under(text.len() + 1);
            text.splice(to..to, copy).for_each(drop);
        }
        4 => {
            let other = &programs[dice.under(programs.len())];
            let from = dice.under(other.len());
            let to = from + dice.under(other.len() - from + 1).min(60);
            text.splice(at..at, other[from..to].iter().copied()).for_each(drop);
        }
        5 => text[at..end]
            .iter_mut()
            .filter(|byte| byte.is_ascii_digit())
            .for_each(|byte| *byte = b'0' + dice.under(10) as u8),
        6 => text[at..end].reverse(),
        7 => text.truncate(text.len() - dice.under(text.len().min(20) + 1)),
        _ => text[at..end].iter_mut().take(2).for_each(|byte| *byte = dice.under(256) as u8),
    }
}
