//! A description for people: what is told of, then a sentence. Whatever comes from the file passes through
//! [`plain`](dryturn_report::plain()).

use dryturn_program::describe::{
    CutterCall, CuttingZ, Extent, Feature, MeasuredFrom, Times, Uncommon, Units, Unreadable, Used, Value, WordUse,
};
use dryturn_program::{Description, Diagnostic, Severity};
use dryturn_report::{cut, plain, trimmed, wrapped};

/// Columns of what is told of.
const MARGIN: usize = 12;

const INCH: f64 = 25.4;

/// The most values, cutters, comments of one cutter, codes and remarks that are told.
const VALUES: usize = 6;
const CUTTERS: usize = 40;
const COMMENTS: usize = 6;
const CODES: usize = 20;
const REMARKS: usize = 6;

/// Characters of a quoted line.
const QUOTED: usize = 72;

/// Everything about one program, each line at most so many characters where words allow.
pub(super) fn told(name: &str, told: &Description, width: usize) -> String {
    let mut page = Page { text: String::new(), width };
    let unit = Unit::of(told.units);
    page.text.push_str(&format!("{}\n", plain(name)));
    if let Some(Unreadable { lines, of }) = told.unreadable {
        let all = counted(of, "line");
        page.row("file", &format!("hardly a program: {} of {all} that say anything cannot be read", grouped(lines)));
    }
    page.row("size", &size(told));
    page.row("unit", &units(told.units));
    words(&mut page, told, &unit);
    if let Some(seen) = told.compensation {
        page.row("radius", &compensation(seen.line));
    }
    if let Some(z) = &told.cutting_z {
        page.row("cuts at", &cutting_z(z, may_turn(told), &unit));
    }
    cutters(&mut page, told);
    feeds(&mut page, told, &unit);
    page.row("spindle", &spindle(told));
    arcs(&mut page, told, &unit);
    page.row("time", &time(told));
    if !told.uncommon.is_empty() {
        page.row("beyond", &uncommon(&told.uncommon));
    }
    reading(&mut page, told);
    page.text
}

/// Rows of a name and a text that is folded beside it.
struct Page {
    text: String,
    width: usize,
}

impl Page {
    fn row(&mut self, name: &str, text: &str) {
        let column = MARGIN.max(name.chars().count() + 3);
        let lines = wrapped(text, self.width.saturating_sub(column));
        self.text.push_str(&format!("{:column$}{}\n", format!("  {name}"), lines.join(&format!("\n{:column$}", ""))));
    }

    /// A line of a program as it stands there, made safe and cut.
    fn quote(&mut self, text: &str) {
        self.text.push_str(&format!("{:MARGIN$}│ {}\n", "", cut(&plain(text.trim()), QUOTED)));
    }
}

/// The length unit that is shown.
struct Unit {
    name: &'static str,
    mm: f64,
}

impl Unit {
    fn of(units: Units) -> Self {
        match units {
            Units::Inches(_) => Unit { name: "in", mm: INCH },
            _ => Unit { name: "mm", mm: 1.0 },
        }
    }

    /// Three decimals of a millimetre, four of an inch.
    fn bare(&self, mm: f64) -> String {
        trimmed(mm / self.mm, if self.mm > 1.0 { 4 } else { 3 })
    }
}

fn size(told: &Description) -> String {
    let blocks = told.blocks;
    let mut text = format!(
        "{}, {}: {} at feed, {} rapid",
        counted(told.lines, "line"),
        counted(blocks.all, "block"),
        grouped(blocks.fed),
        grouped(blocks.rapid)
    );
    if !told.ended {
        text += "; it ends without M2 or M30: is the file whole?";
    }
    text
}

fn units(units: Units) -> String {
    match units {
        Units::Unstated => "millimetres, as at power on: it holds neither G20 nor G21".to_owned(),
        Units::Millimetres(line) => format!("millimetres: G21 on line {line}"),
        Units::Inches(line) => format!("inches: G20 on line {line}"),
        Units::Both(line) => format!("inches and millimetres by turns, from line {line} on; here all is in mm"),
    }
}

/// Whether any word may turn the blank, be it by lines that cannot be read.
fn may_turn(told: &Description) -> bool {
    told.idle.iter().any(|letter| ('A'..='C').contains(letter)) || told.words[3..].iter().any(Option::is_some)
}

fn words(page: &mut Page, told: &Description, unit: &Unit) {
    let named = |moves: bool| -> Vec<String> {
        let used = told.words.iter().flatten().filter(|word| word.moves == moves && (moves || word.all.is_some()));
        used.map(|word| word.letter.to_string()).collect()
    };
    let mut text = match named(true).as_slice() {
        [] => "nothing".to_owned(),
        moving => listed(moving),
    };
    let still = named(false);
    if !still.is_empty() {
        let verb = if still.len() == 1 { "comes" } else { "come" };
        text += &format!("; {} {verb} to one place only", listed(&still));
    }
    let idle: Vec<String> = told.idle.iter().map(char::to_string).collect();
    if !idle.is_empty() {
        let verb = if idle.len() == 1 { "stands" } else { "stand" };
        text += &format!("; {} {verb} only where nothing can be read or is executed", listed(&idle));
    }
    page.row("moves", &text);
    for (index, word) in told.words.iter().enumerate() {
        if let Some(word) = word {
            page.row(&word.letter.to_string(), &way(word, index, told, unit));
        }
    }
}

fn way(word: &WordUse, index: usize, told: &Description, unit: &Unit) -> String {
    let Some(all) = word.all else {
        return "never comes to a place that is known".to_owned();
    };
    let shown = |extent: Extent| {
        let place = |place: f64| if index < 3 { unit.bare(place) } else { format!("{}°", trimmed(place, 3)) };
        let span = span(place(extent.least), place(extent.greatest));
        if index < 3 { format!("{span} {}", unit.name) } else { span }
    };
    let mut text = shown(all);
    match word.fed {
        Some(fed) if fed == all => {}
        Some(fed) => text += &format!("; at feed {}", shown(fed)),
        None => text += "; never at feed",
    }
    if let Some(winding) = word.winding {
        let (net, greatest) = (trimmed(winding.net, 2), trimmed(winding.greatest, 2));
        text += &match net == greatest {
            true => format!("; winds {net} turns"),
            false => format!("; ends {net} turns from its first place, {greatest} at the most"),
        };
    }
    if told.from_zero & 1 << index != 0 {
        text += "; moved by increments only, so taken to start at 0";
    }
    text
}

fn compensation(line: u32) -> String {
    format!(
        "compensated from line {line} on (G41 or G42); no cutter's radius is known here, so extents and times are those \
         of the path as written"
    )
}

fn cutting_z(z: &CuttingZ, may_turn: bool, unit: &Unit) -> String {
    let mut text = format!(
        "Z {} {}, median {}; {} % of {} at or under 0",
        span(unit.bare(z.least), unit.bare(z.greatest)),
        unit.name,
        unit.bare(z.median),
        trimmed(100.0 * z.at_or_under_zero, 0),
        counted(z.blocks, "cutting block")
    );
    let median = format!("{} {}", unit.bare(z.median.abs()), unit.name);
    match z.measured_from {
        _ if !may_turn => text += ". No word turns the blank",
        MeasuredFrom::Surface => {
            text += &format!(". As measured from the surface, {median} deep; from the axis the tip would be under it");
        }
        MeasuredFrom::Axis => {
            text += &format!(". As measured from the axis, at a radius of {median}; from the surface it would cut air");
        }
        MeasuredFrom::Unclear => text += ". Measured from the axis or from the surface: these heights do not say",
    }
    text
}

fn cutters(page: &mut Page, told: &Description) {
    if told.cutters.is_empty() {
        page.row("cutters", "none is called");
    }
    for call in told.cutters.iter().take(CUTTERS) {
        cutter(page, call);
    }
    if told.cutters.len() > CUTTERS {
        page.row("cutters", &format!("and {} more", told.cutters.len() - CUTTERS));
    }
}

fn cutter(page: &mut Page, call: &CutterCall) {
    let name = if call.number == 0 { "T0, empty".to_owned() } else { format!("T{}", call.number) };
    let changes = match call.changes {
        0 => "never put in".to_owned(),
        1 => "put in once".to_owned(),
        times => format!("put in {} times", grouped(times)),
    };
    page.row(&name, &format!("line {}, {changes}, {} at feed", call.line, counted(call.fed, "block")));
    for comment in call.comments.iter().take(COMMENTS) {
        page.quote(&comment.text);
    }
}

fn feeds(page: &mut Page, told: &Description, unit: &Unit) {
    if let Some(seen) = told.per_revolution {
        page.row("feed", &format!("per revolution from line {} on (G95), which is not told apart here", seen.line));
    }
    let kinds = [
        ("feed", &told.feeds, format!("{}/min", unit.name), unit.mm),
        ("turning", &told.rotary_feeds, "°/min".to_owned(), 1.0),
        ("inverse", &told.inverse_feeds, "per minute (G93)".to_owned(), 1.0),
    ];
    for (name, used, per, scale) in kinds.iter().filter(|(_, used, ..)| used.times > 0) {
        page.row(name, &values(used, per, *scale, "block"));
    }
    if told.without_feed > 0 {
        page.row("no feed", &format!("{} at feed with no F in force", counted(told.without_feed, "block")));
    }
}

/// Values that are used, each with how often, or from where to where.
fn values(used: &Used, per: &str, scale: f64, what: &str) -> String {
    let shown = |value: f32| trimmed(f64::from(value) / scale, 3);
    let [least, greatest] = used.span.unwrap_or_default().map(shown);
    match used.values.as_deref() {
        Some([_]) => format!("{least} {per}"),
        Some(values) if values.len() <= VALUES => {
            let each = |one: &Value| format!("{} in {}", shown(one.value), counted(one.times, what));
            let each: Vec<String> = values.iter().map(each).collect();
            format!("{per}: {}", each.join(", "))
        }
        Some(values) => {
            let count = values.len();
            let often = values.first().map_or(0.0, |one| one.value);
            format!("{least} … {greatest} {per}, {count} different ones, most often {}", shown(often))
        }
        None => format!("{least} … {greatest} {per}, a great many different ones"),
    }
}

fn spindle(told: &Description) -> String {
    let occurring = ["M3", "M4", "M5"].iter().zip(told.spindle).filter(|(_, occurs)| *occurs);
    let codes: Vec<String> = occurring.map(|(code, _)| (*code).to_owned()).collect();
    let codes = if codes.is_empty() { "no M3, M4 or M5".to_owned() } else { listed(&codes) };
    match told.speeds.times {
        0 => format!("no S word; {codes}"),
        _ => format!("S {}; {codes}", values(&told.speeds, "per minute", 1.0, "place")),
    }
}

fn arcs(page: &mut Page, told: &Description, unit: &Unit) {
    for (plane, arcs) in ["XY", "ZX", "YZ"].iter().zip(&told.arcs) {
        if let Some(arcs) = arcs {
            let radii = span(unit.bare(arcs.least), unit.bare(arcs.greatest));
            let count = counted(arcs.count, "arc");
            let (unit, line) = (unit.name, arcs.line);
            page.row("arcs", &format!("{count} in the plane {plane}, radius {radii} {unit}, the first on line {line}"));
        }
    }
}

fn time(told: &Description) -> String {
    let times = &told.times;
    let mut text = match told.per_revolution {
        Some(seen) => format!("at feed not known, as F is per revolution (G95 on line {})", seen.line),
        None => at_feed(times, told.blocks.fed),
    };
    if times.dwell_seconds > 0.0 {
        text += &format!("; dwells {}", minutes_text(times.dwell_seconds / 60.0));
    }
    let (metres, degrees) = (trimmed(times.rapid_way / 1000.0, 2), trimmed(times.rapid_turn, 0));
    let rapids = [(metres, " m"), (degrees, "°")];
    let rapids: Vec<String> =
        rapids.iter().filter(|(way, _)| way != "0").map(|(way, unit)| format!("{way}{unit}")).collect();
    if !rapids.is_empty() {
        text += &format!("; rapids of {} come on top", listed(&rapids));
    }
    text
}

fn at_feed(times: &Times, blocks: u32) -> String {
    if times.untold > 0 && times.untold == blocks {
        return "at feed not known, as of no block both way and feed are".to_owned();
    }
    let [linear, all, inverse] = times.fed.map(minutes_text);
    let text = format!(
        "at feed {linear} with F along X, Y, Z; {all} with F over all words alike; {inverse} with F as inverse time"
    );
    match times.untold {
        0 => text,
        untold => format!(
            "{text}; {} of {} not counted, as way or feed is unknown",
            grouped(untold),
            counted(blocks, "block")
        ),
    }
}

fn uncommon(all: &[Uncommon]) -> String {
    let one = |one: &Uncommon| {
        let what = match one.what {
            Feature::Code(code) => code.to_string(),
            Feature::Formulas => "parameters or expressions".to_owned(),
            Feature::Flow => "subprograms, loops or conditions".to_owned(),
        };
        match one.seen.times {
            1 => format!("{what} on line {}", one.seen.line),
            times => format!("{what} ({times}×, from line {} on)", one.seen.line),
        }
    };
    let mut named: Vec<String> = all.iter().take(CODES).map(one).collect();
    if all.len() > CODES {
        named.push(format!("{} more", all.len() - CODES));
    }
    format!("{}: not every small controller takes these", listed(&named))
}

fn reading(page: &mut Page, told: &Description) {
    let [notes, warnings, errors] = told.counted.map(|count| u32::try_from(count).unwrap_or(u32::MAX));
    if told.remarks.is_empty() {
        page.row("reading", "nothing to remark");
        return;
    }
    let all = notes.saturating_add(warnings).saturating_add(errors);
    let more = if all as usize > REMARKS { format!("; {REMARKS} of them:") } else { ":".to_owned() };
    let counts = [counted(errors, "error"), counted(warnings, "warning"), counted(notes, "note")];
    page.row("reading", &format!("{}{more}", counts.join(", ")));
    for (one, text) in told.remarks.iter().take(REMARKS) {
        remark(page, one, text);
    }
}

fn remark(page: &mut Page, one: &Diagnostic, text: &str) {
    let severity = match one.severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    };
    let help = one.help.as_deref().map_or_else(String::new, |help| format!(" ({help})"));
    let (line, column) = (one.line, column(one, text));
    page.row("", &plain(&format!("{severity}, line {line}, column {column}: {}{help}", one.message)));
    if !text.trim().is_empty() && !one.span.is_empty() {
        page.quote(text);
    }
}

/// The character of its line that a remark is about, from 1.
pub(super) fn column(one: &Diagnostic, text: &str) -> usize {
    text.get(..one.span.start).map_or(0, |before| before.chars().count()) + 1
}

/// Minutes as a person reads them.
fn minutes_text(minutes: f64) -> String {
    match minutes {
        _ if minutes < 1.0 => format!("{} s", trimmed(minutes * 60.0, 1)),
        _ if minutes < 180.0 => format!("{} min", trimmed(minutes, 1)),
        _ => format!("{} h", trimmed(minutes / 60.0, 1)),
    }
}

/// From one number to another, or the one they both are.
fn span(least: String, greatest: String) -> String {
    if least == greatest { least } else { format!("{least} … {greatest}") }
}

/// Names with commas, and one `and`.
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn counted(count: u32, what: &str) -> String {
    format!("{} {what}{}", grouped(count), if count == 1 { "" } else { "s" })
}

/// A whole number with blanks between thousands that hold it together.
fn grouped(count: u32) -> String {
    trimmed(f64::from(count), 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(source: &[u8], width: usize) -> String {
        told("part.nc", &Description::of(source).1, width)
    }

    #[test]
    fn rows_are_folded_and_nothing_steers_the_terminal() {
        let text = page(b"G91 G1 X1 F5\n(\x1b[31m \xe2\x80\xae)\nT1\nX!\x07\nM2", 60);
        assert!(text.lines().all(|line| line.chars().count() <= MARGIN + 2 + QUOTED), "{text}");
        assert!(!text.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'), "{text:?}");
        let words: Vec<&str> = text.split_whitespace().collect();
        assert!(words.join(" ").contains("by increments only"), "{text}");
        let sentence = page(b"G21 G0 X1\nM2", 60);
        assert!(sentence.lines().all(|line| line.chars().count() <= 60), "{sentence}");
    }

    /// The text with single blanks.
    fn folded(source: &str) -> String {
        page(source.as_bytes(), 96).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn words_without_a_place_are_told_of_once() {
        let text = folded("X5 A90\nG0 Z5\nG1 Z-1 F100\nG1 X5\nX6\nM2");
        assert!(text.contains("A never comes to a place that is known"), "{text}");
        assert!(!text.contains("A comes to one place only") && !text.contains("increments"), "{text}");
        assert!(!text.contains("No word turns"), "{text}");
        let text = folded("G0 Z5 X0\nG1 Z-1 F100\nX6 !A90\nM2");
        assert!(text.contains("A stands only where") && !text.contains("No word turns"), "{text}");
        let text = folded("G0 Z5 X0\nG1 Z-1 F100\nX6\nM2");
        assert!(text.contains("No word turns the blank"), "{text}");
    }

    #[test]
    fn compensation_is_said() {
        let text = folded("T1 M6\nG0 X0 Y0\nG42 D1 G1 X5 F100\nG40 X9\nM2");
        assert!(text.contains("radius compensated from line 3 on") && text.contains("the path as written"), "{text}");
    }

    #[test]
    fn a_handful_of_remarks_with_errors_first() {
        let text = folded(&format!("G21 G90\n{}(\u{e9}) G1 X1 !\nM2", "G0 X1 Q5\n".repeat(20)));
        assert!(text.contains("6 of them: error, line 22, column 11:"), "{text}");
        assert_eq!(text.matches(", column ").count(), REMARKS);
    }

    #[test]
    fn no_times_by_feeds_per_revolution() {
        let text = folded("G0 X0\nG95 F0.1\nG1 X5\nG4 P2\nM2");
        assert!(text.contains("at feed not known, as F is per revolution (G95 on line 2); dwells 2 s"), "{text}");
        assert!(!text.contains("with F along"), "{text}");
    }

    #[test]
    fn numbers_as_people_read_them() {
        assert_eq!(counted(12_034, "line"), "12\u{a0}034 lines");
        assert_eq!([0.5, 12.0, 600.0].map(minutes_text), ["30 s", "12 min", "10 h"]);
        assert_eq!(listed(&["X", "Y", "Z"].map(str::to_owned)), "X, Y and Z");
        assert_eq!(span("1".to_owned(), "1".to_owned()), "1");
    }
}
