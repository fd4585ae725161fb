//! The summary a person reads on the terminal.
//!
//! It starts with what matters most and ends with the standing caution. A verdict is a word and a shape; colour, where
//! it is wanted, only repeats what they say. Whatever comes from files passes through [`plain`].

mod page;
mod window;

use crate::cost::by_cost;
use crate::course::{self, all_of, duration};
use crate::run::{ProgramRun, ProgramTime, Run};
use crate::text::{number, plain, short};
use dryturn_check::{Clearance, Cost, Finding, Place, Severity, Verdict};
use page::{Page, Tone};

/// The most findings told; the rest are in the report.
const MOST_FINDINGS: usize = 40;
/// The most clearances told.
const MOST_CLEARANCES: usize = 12;

/// The standing caution, for everything that tells a verdict.
pub const CAUTION: &str = "A simulation proves neither the machine nor the set-up. Run the program in air first, a \
    hand at the stop. Wear eye, ear and dust protection. Guards, the machine maker's manual, local rules and the word \
    of qualified people come before anything said here.";

/// What the summary is made from.
#[derive(Clone, Copy)]
pub struct Summary<'a> {
    /// The results.
    pub run: &'a Run,
    /// Text of a line (from 1) of a program (index from 0), where it can be had.
    pub quote: &'a dyn Fn(usize, u32) -> Option<String>,
    /// Folder the files were written to and how many there are; `None` where none was asked for.
    pub written: Option<(&'a str, usize)>,
    /// How long the run took here, seconds.
    pub seconds: Option<f64>,
    /// Characters a line may have; taken as 40 … 100.
    pub width: usize,
    /// Whether to colour it with the escape sequences of ECMA-48.
    pub colour: bool,
}

impl Summary<'_> {
    /// The text, ended by a line feed.
    pub fn text(&self) -> String {
        let mut page = Page::new(self.width, self.colour);
        self.verdict(&mut page);
        self.course(&mut page);
        self.programs(&mut page);
        self.not_checked(&mut page);
        self.findings(&mut page);
        self.clearances(&mut page);
        window::tell(&mut page, self.run);
        self.volumes(&mut page);
        self.assumed(&mut page);
        self.closing(&mut page);
        page.finish()
    }

    fn verdict(&self, page: &mut Page) {
        let (mark, tone) = match self.run.verdict {
            Verdict::Clear => ("○ CLEAR", Tone::Good),
            Verdict::Caution => ("▲ CAUTION", Tone::Doubt),
            Verdict::Stop => ("■ STOP", Tone::Bad),
        };
        page.marked(tone, mark, &self.run.title);
        let tally = Tally::of(&self.run.findings);
        let mut told = tally.told();
        if self.run.verdict == Verdict::Caution && tally.warnings == 0 {
            told += "; not clear, because the holding or a holder is not described (see “Not checked”)";
        }
        page.paragraph(0, &told);
    }

    fn course(&self, page: &mut Page) {
        let lines = course::lines(self.run);
        if !lines.is_empty() {
            page.heading("At the machine");
            lines.iter().for_each(|line| page.paragraph(2, line));
        }
    }

    fn programs(&self, page: &mut Page) {
        page.heading("Programs");
        for program in &self.run.programs {
            page.paragraph(2, &told_program(program));
        }
    }

    fn findings(&self, page: &mut Page) {
        if self.run.findings.is_empty() {
            return;
        }
        page.heading("Found, the dearest first");
        let ordered = by_cost(&self.run.findings);
        for (index, found) in ordered.iter().take(MOST_FINDINGS).enumerate() {
            if index > 0 {
                page.gap();
            }
            self.finding(page, found);
        }
        if ordered.len() > MOST_FINDINGS {
            page.gap();
            page.paragraph(2, &format!("… and {} more, all in report.json", ordered.len() - MOST_FINDINGS));
        }
    }

    fn finding(&self, page: &mut Page, found: &Finding) {
        let (mark, tone) = match (&found.accepted, found.severity) {
            (Some(_), severity) => (format!("✓ accepted {}", severity.word()), Tone::Quiet),
            (None, Severity::Error) => ("■ error".to_owned(), Tone::Bad),
            (None, Severity::Warning) => ("▲ warning".to_owned(), Tone::Doubt),
            (None, Severity::Note) => ("· note".to_owned(), Tone::Quiet),
        };
        page.marked(tone, &format!("  {mark}"), &format!("{} · {}", found.rule, Cost::of(found.rule).word()));
        page.paragraph(4, &found.text);
        if let (Some(program), Some((first, last))) = (found.program, found.lines) {
            let worst = found.worst_line.filter(|line| (first..=last).contains(line)).unwrap_or(first);
            let line = (self.quote)(program, worst).unwrap_or_default();
            page.quoted(4, &format!("{}:{worst} │ ", plain(self.file(program))), line.trim());
            if last > first {
                let blocks = counted(found.blocks as usize, "block");
                page.paragraph(
                    4,
                    &if worst == first {
                        format!("and on to line {last}, {blocks} in all")
                    } else {
                        format!("the worst of {blocks} in lines {first} to {last}")
                    },
                );
            }
        }
        let details = told_details(found);
        if !details.is_empty() {
            page.paragraph(4, &details);
        }
        match &found.accepted {
            Some(why) => page.paragraph(4, &format!("accepted: {why}")),
            None if !found.cure.is_empty() => page.paragraph(4, &format!("→ {}", found.cure)),
            None => {}
        }
    }

    fn not_checked(&self, page: &mut Page) {
        if self.run.not_checked.is_empty() {
            return;
        }
        page.heading("Not checked, so not known to be safe");
        for row in &self.run.not_checked {
            page.paragraph(2, &format!("{}: {}", row.what, row.because));
            for line in row.how_to_add.lines() {
                page.quoted(6, "+ ", line);
            }
        }
    }

    fn assumed(&self, page: &mut Page) {
        if self.run.assumed.is_empty() {
            return;
        }
        page.heading("Assumed (the reasons stand in report.json)");
        let rows: Vec<String> = self.run.assumed.iter().map(|row| format!("{} = {}", row.key, row.value)).collect();
        page.paragraph(2, &rows.join(" · "));
    }

    fn clearances(&self, page: &mut Page) {
        if self.run.clearances.is_empty() {
            return;
        }
        page.heading("Closest approaches, mm");
        let mut rows: Vec<&Clearance> = self.run.clearances.iter().collect();
        rows.sort_by(|one, other| one.least_mm.total_cmp(&other.least_mm));
        let leasts: Vec<String> = rows.iter().take(MOST_CLEARANCES).map(|row| number(row.least_mm, 2)).collect();
        let widest = leasts.iter().map(|least| least.chars().count()).max().unwrap_or(0);
        for (row, least) in rows.iter().zip(leasts) {
            let pair = format!("{} to {}, cutter {}", row.moving, row.fixed, row.cutter);
            let place = format!("{}:{}, station {}", self.file(row.program), row.line, number(row.station_mm, 1));
            page.hanging(&format!("  {least:>widest$}"), &format!("{pair}, at {place}"));
        }
        if rows.len() > MOST_CLEARANCES {
            page.paragraph(2, &format!("… and {} more pairs, all further apart", rows.len() - MOST_CLEARANCES));
        }
    }

    fn volumes(&self, page: &mut Page) {
        page.heading("Volume, cm³");
        let [blank, removed, left] =
            [self.run.blank_mm3, self.run.removed_mm3, self.run.left_mm3].map(|volume| number(volume / 1000.0, 2));
        page.paragraph(2, &format!("blank {blank} = removed {removed} + left {left}"));
    }

    fn closing(&self, page: &mut Page) {
        page.gap();
        match self.written {
            Some((folder, files)) => page.paragraph(0, &format!("Written: {} in {folder}", counted(files, "file"))),
            None => page.paragraph(0, "Nothing was written; --out DIR keeps the report and the maps."),
        }
        if let Some(seconds) = self.seconds {
            page.paragraph(0, &format!("Time taken: {} s", number(seconds, 1)));
        }
        page.gap();
        page.toned(Tone::Quiet, 0, CAUTION);
    }

    fn file(&self, program: usize) -> &str {
        self.run.programs.get(program).map_or("", |program| program.file.as_str())
    }
}

fn told_program(program: &ProgramRun) -> String {
    let mut told = format!(
        "{}: {}, {}, {} cm³ removed",
        program.file,
        counted(program.lines as usize, "line"),
        counted(program.blocks as usize, "block"),
        number(program.removed_mm3 / 1000.0, 2)
    );
    if let Some(time) = program.time {
        told += &format!(", {}", told_time(&time));
    }
    told
}

/// A program's time, and how much of it feeds through air where that is more than a little.
fn told_time(time: &ProgramTime) -> String {
    let all = all_of(time);
    let air = 100.0 * time.air_s / all.max(f64::MIN_POSITIVE);
    let told = format!("{} at the machine", duration(all));
    if air < 10.0 { told } else { format!("{told}, {} % of it feeding through air", number(air, 0)) }
}

/// Value, place and cutter of a finding.
fn told_details(found: &Finding) -> String {
    let mut parts = Vec::new();
    if let Some(value) = found.value {
        parts.push(format!("{} {}", short(value), found.unit.unwrap_or_default()).trim_end().to_owned());
    }
    if let Some(place) = &found.place {
        parts.push(told_place(place));
    }
    if let Some(cutter) = found.cutter {
        parts.push(format!("cutter {cutter}"));
    }
    parts.join(", ")
}

fn told_place(place: &Place) -> String {
    let [station, angle, radius] = [place.station_mm, place.angle_deg, place.radius_mm].map(short);
    let mut told = format!("at station {station} mm, θ {angle}°, radius {radius} mm");
    if let Some(shown) = place.shown {
        let [x, y, z] = [shown.x, shown.y, shown.z].map(short);
        let a = shown.a.map(|a| format!(", A {}", short(a))).unwrap_or_default();
        told += &format!(" (the controller shows X {x}, Y {y}, Z {z}{a})");
    }
    told
}

/// How many findings there are of each severity, and how many are accepted.
pub(crate) struct Tally {
    errors: usize,
    pub(crate) warnings: usize,
    notes: usize,
    accepted: usize,
}

impl Tally {
    pub(crate) fn of(findings: &[Finding]) -> Tally {
        let open = |severity| findings.iter().filter(|f| f.accepted.is_none() && f.severity == severity).count();
        Tally {
            errors: open(Severity::Error),
            warnings: open(Severity::Warning),
            notes: open(Severity::Note),
            accepted: findings.iter().filter(|found| found.accepted.is_some()).count(),
        }
    }

    pub(crate) fn told(&self) -> String {
        let accepted = if self.accepted > 0 { format!(", {} accepted", self.accepted) } else { String::new() };
        let counts = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")];
        counts.map(|(count, noun)| counted(count, noun)).join(", ") + &accepted
    }
}

/// A count with its noun.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    let ending = if count == 1 { "" } else { "s" };
    format!("{} {noun}{ending}", number(count as f64, 0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use proptest::prelude::*;

    fn told(run: &Run, width: usize, colour: bool) -> String {
        let quote = |_, line| Some(format!("N{line} G1 X-1.5 A720 F600"));
        Summary { run, quote: &quote, written: Some(("out/reel", 11)), seconds: Some(1.26), width, colour }.text()
    }

    #[test]
    fn a_stopped_run_reads_as_it_should() {
        assert_eq!(told(&sample::run(), 80, false), include_str!("../tests/summary.txt"));
    }

    #[test]
    fn a_clear_run_says_so_first() {
        let run = Run { verdict: Verdict::Clear, findings: vec![], not_checked: vec![], ..sample::run() };
        let text = told(&run, 80, false);
        assert!(text.starts_with("○ CLEAR  Reel core, first side\n0 errors, 0 warnings, 0 notes\n"));
        assert!(!text.contains("Found") && !text.contains("Not checked"));
    }

    #[test]
    fn a_caution_without_a_warning_says_why() {
        let run = Run { verdict: Verdict::Caution, findings: vec![], ..sample::run() };
        assert!(told(&run, 100, false).contains("the holding or a holder is not described"));
    }

    #[test]
    fn a_flood_of_findings_is_cut() {
        let run = Run { findings: vec![sample::finding("gouge"); 43], ..sample::run() };
        let text = told(&run, 80, false);
        assert_eq!(text.matches("■ error").count(), MOST_FINDINGS);
        assert!(text.contains("… and 3 more, all in report.json"));
    }

    #[test]
    fn clearances_start_with_the_closest() {
        let text = told(&sample::run(), 80, false);
        assert!(text.find("−2.35  holder").unwrap() < text.find("4.50  shank").unwrap());
    }

    #[test]
    fn a_job_that_hits_something_has_no_room_and_says_what_it_hits() {
        let mut run = sample::run();
        run.zero_window.as_mut().unwrap().together.value = 0.0;
        let text = told(&run, 80, false);
        assert!(text.contains("  not at all: as it is cutter 1 meets jaws 2, groove.nc:13\n\nVolume"), "{text}");
        run.zero_window = None;
        assert!(!told(&run, 80, false).contains("zeros"));
    }

    #[test]
    fn colour_only_repeats_what_the_words_say() {
        let mut plain_text = told(&sample::run(), 72, true);
        assert!(plain_text.contains('\u{1b}'));
        while let Some(start) = plain_text.find('\u{1b}') {
            let end = start + plain_text[start..].find('m').unwrap();
            plain_text.replace_range(start..=end, "");
        }
        assert_eq!(plain_text, told(&sample::run(), 72, false));
    }

    proptest! {
        #[test]
        fn nothing_from_a_file_steers_the_terminal(
            texts in proptest::collection::vec(any::<String>(), 9),
            line in "\\PC{0,20}[\\x00-\\x1f\\x7f-\\x9f\u{202e}]{1,3}\\PC{0,200}",
            width in 0usize..140,
        ) {
            let mut run = sample::run();
            let mut next = texts.into_iter().map(|text| text + &line);
            let mut put = |field: &mut String| *field = next.next().unwrap_or_default();
            put(&mut run.title);
            put(&mut run.programs[0].file);
            put(&mut run.findings[0].text);
            put(&mut run.findings[0].cure);
            put(&mut run.not_checked[0].because);
            put(&mut run.assumed[0].value);
            put(&mut run.clearances[0].moving);
            put(&mut run.zero_window.as_mut().unwrap().together.ended_by.as_mut().unwrap().fixed);
            let folder = next.next().unwrap();
            let quote = |_, _| Some(line.clone());
            let summary =
                Summary { run: &run, quote: &quote, written: Some((&folder, 3)), seconds: None, width, colour: false };
            for shown in summary.text().lines() {
                prop_assert_eq!(plain(shown), shown);
                prop_assert!(shown.chars().count() <= width.clamp(40, 100), "{}", shown);
            }
        }
    }
}
