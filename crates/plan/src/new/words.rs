//! Plain words of the trade in a comment: shapes of cutters, sizes, units. Nothing else of a comment is understood.

use dryturn_geom::units::LengthUnit;

/// Shapes that have a plain word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ShapeWord {
    Flat,
    Ball,
    Bull,
    Vee,
    Taper,
    Drill,
}

impl ShapeWord {
    /// The word as a scene writes it.
    pub(super) fn name(self) -> &'static str {
        match self {
            ShapeWord::Flat => "flat",
            ShapeWord::Ball => "ball",
            ShapeWord::Bull => "bull",
            ShapeWord::Vee => "vee",
            ShapeWord::Taper => "taper",
            ShapeWord::Drill => "drill",
        }
    }
}

/// What a comment says of a cutter.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Said {
    pub(super) shape: Option<ShapeWord>,
    /// mm.
    pub(super) diameter: Option<f64>,
    /// Degrees.
    pub(super) angle: Option<f64>,
    /// Diameter of a taper's tip, or radius of a bull's corner, mm.
    pub(super) part: Option<f64>,
}

impl Said {
    /// How much it says.
    pub(super) fn count(&self) -> usize {
        let numbers = [self.diameter, self.angle, self.part];
        usize::from(self.shape.is_some()) + numbers.iter().flatten().count()
    }

    /// Reads a comment; numbers without a unit are in that of the program.
    pub(super) fn of(comment: &str, unit: LengthUnit) -> Said {
        let mut tokens = tokens(comment);
        // A word that a value is given to is a name, not a shape.
        let is_name = |at: usize| word_at(&tokens, Some(at + 1)) == Some(ASSIGNED);
        let shapes = tokens.iter().enumerate().filter_map(|(at, token)| Some((at, token.shape()?)));
        let shapes: Vec<(usize, ShapeWord)> = shapes.filter(|(at, _)| !is_name(*at)).collect();
        // A tapered ball is a taper.
        let taper = shapes.iter().find(|(_, shape)| *shape == ShapeWord::Taper);
        // Nobody has a cutter of so many inches: that is millimetres.
        let in_unit = |value: f64| if value > MOST_INCHES { value } else { value * unit.in_mm() };
        let Some(&(at, shape)) = taper.or(shapes.first()) else {
            let diameter = size_of_a_cutter(&tokens, in_unit).filter(|diameter| SIZES.contains(diameter));
            return Said { diameter, ..Said::default() };
        };
        let part = match shape {
            ShapeWord::Taper => beside_word(&mut tokens, "tip", in_unit),
            ShapeWord::Bull => beside_word(&mut tokens, "corner", in_unit),
            _ => None,
        };
        let beside = after(&tokens, at).or_else(|| before(&tokens, at));
        let is_angle = |value: &f64| shape == ShapeWord::Vee && (10.0..=175.0).contains(value);
        let stated = tokens.iter().find_map(Token::angle).or(beside.filter(is_angle));
        let plain = beside.filter(|value| !is_angle(value)).map(in_unit);
        let sized = match sized(&tokens, at) {
            Sized::Once(diameter) => Some(diameter),
            Sized::Variously => None,
            Sized::Never => plain.or_else(|| twice_the_radius(&tokens, shape)),
        };
        let diameter = sized.filter(|diameter| SIZES.contains(diameter));
        let angles = match shape {
            ShapeWord::Vee | ShapeWord::Drill => Some(1.0..=179.0),
            ShapeWord::Taper => Some(0.1..=89.0),
            _ => None,
        };
        let most = if shape == ShapeWord::Bull { 0.5 } else { 1.0 };
        Said {
            shape: Some(shape),
            diameter,
            angle: stated.filter(|angle| angles.is_some_and(|angles| angles.contains(angle))),
            part: part.filter(|part| diameter.is_none_or(|diameter| *part < most * diameter)),
        }
    }
}

/// How many thicknesses a comment gives.
enum Sized {
    Never,
    /// mm.
    Once(f64),
    /// Nobody knows which it is.
    Variously,
}

/// The size with its unit that is a cutter's thickness: the only one that is not of something else, or of several the one
/// beside its shape.
fn sized(tokens: &[Token], shape: usize) -> Sized {
    let lengths = || (0..tokens.len()).filter(|&at| !is_of_something_else(tokens, at));
    let lengths: Vec<(usize, f64)> = lengths().filter_map(|at| Some((at, tokens[at].length()?))).collect();
    let is_one = |lengths: &[(usize, f64)]| lengths.windows(2).all(|pair| (pair[0].1 - pair[1].1).abs() < 1e-9);
    let is_beside = |at: usize| (at.min(shape) + 1..at.max(shape)).all(|at| may_stand_between(tokens, at));
    let beside: Vec<(usize, f64)> = lengths.iter().copied().filter(|(at, _)| is_beside(*at)).collect();
    match (lengths.first(), beside.first()) {
        (None, _) => Sized::Never,
        (Some((_, only)), _) if is_one(&lengths) => Sized::Once(*only),
        (_, Some((_, only))) if is_one(&beside) => Sized::Once(*only),
        _ => Sized::Variously,
    }
}

/// The thickness of a ball whose radius is given.
fn twice_the_radius(tokens: &[Token], shape: ShapeWord) -> Option<f64> {
    let at = tokens.iter().position(|token| *token == Token::Word("radius".to_owned()))?;
    let beside = [at.checked_sub(1), Some(at + 1)].into_iter().flatten();
    let radius = beside.filter_map(|at| tokens.get(at)?.length()).next()?;
    (shape == ShapeWord::Ball).then_some(2.0 * radius)
}

/// Words that say of a size beside them that it is not how thick a cutter is.
const OF_SOMETHING_ELSE: [&str; 24] = [
    "long", "length", "depth", "deep", "loc", "stickout", "reach", "out", "shank", "radius", "r", "feed", "per",
    "step", "stepdown", "stepover", "z", "zmin", "zmax", "tip", "corner", "stock", "high", "wide",
];

/// Whether a number is of something that a word beside it names, or assigned to a letter.
fn is_of_something_else(tokens: &[Token], at: usize) -> bool {
    let [before, after] = [at.checked_sub(1), Some(at + 1)].map(|at| word_at(tokens, at));
    let is_thickness = || word_at(tokens, at.checked_sub(2)).is_some_and(|word| ["dia", "diameter"].contains(&word));
    let is_assigned = before == Some(ASSIGNED) && !is_thickness();
    is_assigned || [before, after].into_iter().flatten().any(is_another)
}

fn is_another(word: &str) -> bool {
    OF_SOMETHING_ELSE.contains(&word)
}

fn word_at(tokens: &[Token], at: Option<usize>) -> Option<&str> {
    match tokens.get(at?) {
        Some(Token::Word(word)) => Some(word),
        _ => None,
    }
}

/// What stands for a sign that gives a number to a letter.
const ASSIGNED: &str = "=";

/// The size that a comment without a shape gives a cutter: right before the word, or after it with its unit.
fn size_of_a_cutter(tokens: &[Token], in_unit: impl Fn(f64) -> f64) -> Option<f64> {
    let is_cutter = |token: &Token| matches!(token, Token::Word(word) if CUTTERS.contains(&word.as_str()));
    let at = tokens.iter().position(is_cutter)?;
    // The end of an end mill stands between.
    let first = if at > 0 && tokens[at - 1] == Token::Word("end".to_owned()) { at - 1 } else { at };
    let is_its = |place: &usize| !is_of_something_else(tokens, *place);
    let before = first.checked_sub(1).filter(is_its);
    let before = before.and_then(|place| tokens[place].length().or(tokens[place].number().map(in_unit)));
    before.or_else(|| beyond(tokens, at).filter(is_its).and_then(|place| tokens[place].length()))
}

/// Words for a cutter that say nothing of its shape.
const CUTTERS: [&str; 5] = ["endmill", "mill", "cutter", "bit", "tool"];

/// Plain numbers over this are no inches.
const MOST_INCHES: f64 = 2.5;

/// The size beside a word that says of which part of a cutter it is; both are taken out of what is left to be read.
fn beside_word(tokens: &mut [Token], word: &str, in_unit: impl Fn(f64) -> f64) -> Option<f64> {
    let at = tokens.iter().position(|token| matches!(token, Token::Word(it) if it == word))?;
    let size = |token: &Token| token.length().or(token.number().map(&in_unit));
    // A size with its unit on either side comes before a plain number.
    let beside = [Some(at + 1), at.checked_sub(1)].into_iter().flatten().filter(|&it| it < tokens.len());
    // One behind the word may have another word behind it: corner 2 mm, but 2 mm corner 30 mm long.
    let beside = beside.filter(|&it| it < at || !word_at(tokens, Some(it + 1)).is_some_and(is_another));
    let place = beside.clone().find(|&it| tokens[it].length().is_some());
    let place = place.or_else(|| beside.clone().find(|&it| tokens[it].number().is_some()))?;
    tokens[at] = Token::Mark;
    size(&std::mem::replace(&mut tokens[place], Token::Mark))
}

/// Diameters that cutters have, mm.
const SIZES: std::ops::RangeInclusive<f64> = 0.05..=150.0;

/// Words that may stand between a shape and its size.
const BETWEEN: [&str; 10] = ["of", "cutter", "nose", "end", "mill", "bit", "diameter", "dia", "with", "size"];

/// What follows a word, those left aside that may stand between.
fn beyond(tokens: &[Token], at: usize) -> Option<usize> {
    (at + 1..tokens.len()).find(|&place| !may_stand_between(tokens, place))
}

fn may_stand_between(tokens: &[Token], at: usize) -> bool {
    word_at(tokens, Some(at)).is_some_and(|word| BETWEEN.contains(&word))
}

/// A plain number that follows a shape.
fn after(tokens: &[Token], at: usize) -> Option<f64> {
    beyond(tokens, at).filter(|&place| !is_of_something_else(tokens, place)).and_then(|place| tokens[place].number())
}

/// A plain number right before a shape.
fn before(tokens: &[Token], at: usize) -> Option<f64> {
    let place = at.checked_sub(1).filter(|&place| !is_of_something_else(tokens, place))?;
    tokens[place].number()
}

#[derive(Clone, Debug, PartialEq)]
enum Token {
    /// Letters, in lower case, with digits that follow at once: `ball`, `t1`.
    Word(String),
    /// A number with nothing that says its unit.
    Number(f64),
    /// A number with a unit of length, as mm.
    Length(f64),
    /// A number of degrees.
    Angle(f64),
    /// Anything else that parts words.
    Mark,
}

impl Token {
    fn shape(&self) -> Option<ShapeWord> {
        let Token::Word(word) = self else { return None };
        Some(match word.as_str() {
            "flat" => ShapeWord::Flat,
            "ball" => ShapeWord::Ball,
            "bull" => ShapeWord::Bull,
            "vee" | "v" => ShapeWord::Vee,
            "taper" | "tapered" => ShapeWord::Taper,
            "drill" => ShapeWord::Drill,
            _ => return None,
        })
    }

    fn number(&self) -> Option<f64> {
        if let Token::Number(value) = self { Some(*value) } else { None }
    }

    fn length(&self) -> Option<f64> {
        if let Token::Length(mm) = self { Some(*mm) } else { None }
    }

    fn angle(&self) -> Option<f64> {
        if let Token::Angle(degrees) = self { Some(*degrees) } else { None }
    }
}

/// Most characters of a comment that are looked at.
const LONGEST: usize = 400;

fn tokens(comment: &str) -> Vec<Token> {
    let text: Vec<char> = comment.chars().take(LONGEST).flat_map(char::to_lowercase).collect();
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let end_of = |from: usize, is: fn(char) -> bool| from + text[from..].iter().take_while(|c| is(**c)).count();
        let next = match text[at] {
            c if c.is_alphabetic() => end_of(at, char::is_alphanumeric),
            c if c.is_ascii_digit() => end_of(at, |c| c.is_ascii_digit() || c == '.' || c == '/'),
            _ => at + 1,
        };
        let piece: String = text[at..next].iter().collect();
        match piece.chars().next() {
            Some(c) if c.is_alphabetic() => unit_or_word(&mut tokens, piece),
            Some(c) if c.is_ascii_digit() => push_number(&mut tokens, &piece),
            Some('"' | '″') => measured(&mut tokens, |value| Token::Length(value * LengthUnit::Inch.in_mm())),
            Some('°') => measured(&mut tokens, Token::Angle),
            Some('=') => tokens.push(Token::Word(ASSIGNED.to_owned())),
            Some('/') => tokens.push(Token::Word("per".to_owned())),
            Some('-') => tokens.extend(dash(at.checked_sub(1).map(|before| text[before]), text.get(next).copied())),
            Some(c) if c.is_whitespace() || c == '⌀' => {}
            _ => tokens.push(Token::Mark),
        }
        at = next;
    }
    tokens
}

/// What a dash between two characters is: nothing within a word or a number such as 1-1/4, a sign before a number, or what
/// parts words.
fn dash(before: Option<char>, after: Option<char>) -> Option<Token> {
    let is_within = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    match (is_within(before), after) {
        (true, after) if is_within(after) => None,
        (_, Some(c)) if c.is_ascii_digit() => Some(Token::Word(ASSIGNED.to_owned())),
        _ => Some(Token::Mark),
    }
}

/// A unit belongs to the number before it.
fn unit_or_word(tokens: &mut Vec<Token>, word: String) {
    let is_number = matches!(tokens.last(), Some(Token::Number(_)));
    match word.as_str() {
        "mm" if is_number => measured(tokens, Token::Length),
        "inch" | "inches" | "in" if is_number => {
            measured(tokens, |value| Token::Length(value * LengthUnit::Inch.in_mm()));
        }
        "degrees" | "degree" | "deg" if is_number => measured(tokens, Token::Angle),
        _ => tokens.push(Token::Word(word)),
    }
}

/// Makes the last number one of something.
fn measured(tokens: &mut Vec<Token>, make: impl Fn(f64) -> Token) {
    if let Some(&Token::Number(value)) = tokens.last() {
        tokens.pop();
        tokens.push(make(value));
    }
}

/// A number, or the fraction behind a whole one: 1 1/4.
fn push_number(tokens: &mut Vec<Token>, text: &str) {
    let Some(value) = value(text) else { return tokens.push(Token::Mark) };
    match tokens.last_mut() {
        Some(Token::Number(whole)) if text.contains('/') && value < 1.0 && whole.fract() == 0.0 => *whole += value,
        _ => tokens.push(Token::Number(value)),
    }
}

/// A decimal number or a fraction.
fn value(text: &str) -> Option<f64> {
    let plain = |text: &str| text.trim_end_matches('.').parse::<f64>().ok();
    match text.split_once('/') {
        Some((above, below)) => {
            let below = plain(below).filter(|&below| below > 0.0)?;
            Some(plain(above)? / below)
        }
        None => plain(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(comment: &str) -> (Option<&'static str>, Option<f64>, Option<f64>) {
        let said = Said::of(comment, LengthUnit::Millimetre);
        (said.shape.map(ShapeWord::name), said.diameter, said.angle)
    }

    #[test]
    fn plain_words_are_understood() {
        for (comment, expected) in [
            ("(cutter 1, flat 10; Z0 on the flat)", (Some("flat"), Some(10.0), None)),
            ("(flat cutter of 6, two depths)", (Some("flat"), Some(6.0), None)),
            ("; 6 mm ball nose", (Some("ball"), Some(6.0), None)),
            ("(1/4 in flat)", (Some("flat"), Some(6.35), None)),
            ("(Bull 1 1/4\" in the second collet)", (Some("bull"), Some(31.75), None)),
            ("(vee of 90: the point runs outside)", (Some("vee"), None, Some(90.0))),
            ("(vee 60 degrees, 1/2 inch)", (Some("vee"), Some(12.7), Some(60.0))),
            ("(drill of 5)", (Some("drill"), Some(5.0), None)),
            ("(tapered ball, 5 deg, 6mm)", (Some("taper"), Some(6.0), Some(5.0))),
            ("(6 flat)", (Some("flat"), Some(6.0), None)),
            ("(flat)", (Some("flat"), None, None)),
            ("(T1 D=6 CR=0 - ZMIN=-4)", (None, None, None)),
            ("(1/4\" endmill)", (None, Some(6.35), None)),
            ("(6 end mill)", (None, Some(6.0), None)),
            ("(cutter of 8 mm)", (None, Some(8.0), None)),
            ("(tool 2: feed 100 mm/min)", (None, None, None)),
            ("(T1 D=6. CR=0. - ZMIN=-3.5 - flat end mill)", (Some("flat"), None, None)),
            ("(T1 D=6. CR=0. - ZMIN=10. - flat end mill)", (Some("flat"), None, None)),
            ("(flat, dia = 6 mm, 3 mm deep)", (Some("flat"), Some(6.0), None)),
            ("(T1 end mill 50 mm long, 6 mm flat)", (Some("flat"), Some(6.0), None)),
            ("(T1 depth 2 mm flat 6 mm)", (Some("flat"), Some(6.0), None)),
            ("(flat 6 mm, 8 mm)", (Some("flat"), Some(6.0), None)),
            ("(6 mm, 8 mm, flat)", (Some("flat"), None, None)),
            ("(T1 ball 3 mm radius)", (Some("ball"), Some(6.0), None)),
            ("(end mill 50 mm long)", (None, None, None)),
            ("(vee 180 deg)", (Some("vee"), None, None)),
            ("(taper 0 deg)", (Some("taper"), None, None)),
            ("(T1 D=6. TAPER=0deg - flat end mill)", (Some("flat"), None, None)),
            ("(30 mm from the end)", (None, None, None)),
            ("(a flatter curve, balls, 5 mm)", (None, None, None)),
            ("(flat 5000)", (Some("flat"), None, None)),
            ("", (None, None, None)),
        ] {
            let found = said(comment);
            let near = |one: Option<f64>, other: Option<f64>| match (one, other) {
                (Some(one), Some(other)) => (one - other).abs() < 1e-9,
                (one, other) => one.is_none() && other.is_none(),
            };
            let same = found.0 == expected.0 && near(found.1, expected.1) && near(found.2, expected.2);
            assert!(same, "{comment}: {found:?} is not {expected:?}");
        }
    }

    #[test]
    fn a_number_without_a_unit_is_of_the_program() {
        assert_eq!(Said::of("(ball 1/2)", LengthUnit::Inch).diameter, Some(12.7));
        assert!(Said::of("(ball 1 1/2)", LengthUnit::Inch).diameter.is_some_and(|mm| (mm - 38.1).abs() < 1e-9));
        assert_eq!(Said::of("(ball 3 mm)", LengthUnit::Inch).diameter, Some(3.0));
        assert_eq!(Said::of("(flat 12)", LengthUnit::Inch).diameter, Some(12.0));
    }

    #[test]
    fn parts_of_a_cutter_are_told_from_its_thickness() {
        let part = |comment| {
            let said = Said::of(comment, LengthUnit::Millimetre);
            (said.diameter, said.angle, said.part)
        };
        assert_eq!(part("(tapered ball 1 mm tip 6 deg)"), (None, Some(6.0), Some(1.0)));
        assert_eq!(part("(taper 6 mm, tip 1, 5 deg)"), (Some(6.0), Some(5.0), Some(1.0)));
        assert_eq!(part("(bull 12 corner 2)"), (Some(12.0), None, Some(2.0)));
        assert_eq!(part("(bull 12 mm, 2 mm corner)"), (Some(12.0), None, Some(2.0)));
        assert_eq!(part("(bull 12 mm corner 2 mm, 30 mm long)"), (Some(12.0), None, Some(2.0)));
        // No bull has such a corner.
        assert_eq!(part("(bull 6 mm corner 5 mm)"), (Some(6.0), None, None));
        assert_eq!(part("(60 deg V-bit, 12 mm dia)"), (Some(12.0), Some(60.0), None));
    }

    #[test]
    fn what_letters_begin_is_no_number() {
        assert_eq!(said("(flat Z15.74 of the corner)"), (Some("flat"), None, None));
        assert_eq!(said("(T6 flat)"), (Some("flat"), None, None));
    }
}
