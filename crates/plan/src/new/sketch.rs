//! All guesses together, and the scene they make.

use dryturn_geom::units::LengthUnit;
use dryturn_program::describe::{MeasuredFrom, Units};

use super::Reading;
use super::axes::{Axes, Turning, fed, rotary_words, span};
use super::cuts::{Cuts, Height, Stretch};
use super::cutters::{Drawer, unit_of};
use super::entry::{Entry, Part, Standing};
use super::sizes::Sizes;
use crate::scene::quoted;

/// A scene that has been sketched.
#[derive(Clone, Debug, PartialEq)]
pub struct Sketch {
    /// Its tables with their keys, and what speaks for each.
    pub parts: Vec<Part>,
}

impl Sketch {
    /// The scene as text; `schema` is the file that editors complete it from, as the scene names it.
    pub fn text(&self, schema: Option<&str>) -> String {
        let mut text = schema.map_or(String::new(), |schema| format!("#:schema {schema}\n"));
        text += HEAD;
        self.parts.iter().for_each(|part| part.write(&mut text));
        text
    }

    /// Every key of a standing, with its table.
    pub fn entries(&self, standing: Standing) -> impl Iterator<Item = (&Part, &Entry)> {
        let all = self.parts.iter().flat_map(|part| part.entries.iter().map(move |entry| (part, entry)));
        all.filter(move |(_, entry)| entry.standing == standing)
    }
}

const HEAD: &str = "\
# Sketched from the programs. Over each key stands what speaks for it; what STANDS IN has nothing to
# speak for it, and what is commented out is not known. Measure, put it right, and prove it again.
";

/// Where the zero of a program's heights is taken to be.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Zero {
    Axis,
    Surface,
}

impl Zero {
    fn word(self) -> &'static str {
        if self == Zero::Axis { "\"axis\"" } else { "\"surface\"" }
    }
}

/// A height and the program that says it.
struct Bound<'a> {
    height: Height,
    file: &'a str,
}

impl Bound<'_> {
    fn compared(&self, other: &Self) -> std::cmp::Ordering {
        self.height.mm.total_cmp(&other.height.mm)
    }
}

impl std::fmt::Display for Bound<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.file, self.height.line)
    }
}

/// More than this a first pass hardly takes, mm (a choice of ours): rapids that end higher over it travel.
const FIRST_PASS: f64 = 5.0;

/// All that was found out.
struct Finds<'a> {
    readings: &'a [Reading],
    axes: Axes,
    cuts: Vec<Cuts>,
    zeros: Vec<(Zero, String)>,
    sizes: Sizes,
    drawer: Drawer,
}

pub(super) fn of(readings: &[Reading]) -> Sketch {
    let deepest = span(readings, |told| fed(told, 2)).map_or(0.0, |[low, _]| low);
    let axes = Axes::of(readings, deepest);
    let reach = span(readings, |told| fed(told, axes.along)).unwrap_or([0.0, 1.0]);
    let mut wood = Stretch::over(reach);
    let cuts: Vec<Cuts> = readings.iter().map(|reading| Cuts::of(&reading.program, &axes, &mut wood)).collect();
    let in_inches = readings.iter().all(|reading| unit_of(reading) == LengthUnit::Inch);
    let sizes = Sizes(if in_inches { LengthUnit::Inch } else { LengthUnit::Millimetre });
    let zeros = zeros(readings, &cuts, sizes);
    Finds { readings, axes, cuts, zeros, sizes, drawer: Drawer::of(readings) }.sketch()
}

/// Where each program measures its heights from; one that does not say follows the others.
fn zeros(readings: &[Reading], cuts: &[Cuts], sizes: Sizes) -> Vec<(Zero, String)> {
    let own: Vec<Option<(Zero, String)>> =
        readings.iter().zip(cuts).map(|(reading, cuts)| zero_of(reading, cuts, sizes)).collect();
    let known = own.iter().flatten().map(|(zero, _)| *zero).next();
    let other = match known {
        Some(zero) => {
            (zero, "The heights of this program leave it open; it is taken to be zeroed as the others.".to_owned())
        }
        None => (
            Zero::Axis,
            "The heights leave it open; on the axis is usual for work that turns (common practice).".to_owned(),
        ),
    };
    own.into_iter().map(|zero| zero.unwrap_or_else(|| other.clone())).collect()
}

fn zero_of(reading: &Reading, cuts: &Cuts, sizes: Sizes) -> Option<(Zero, String)> {
    let file = &reading.file;
    if let Some(Height { mm, line }) = cuts.turned_under_zero {
        let told = format!(
            "{file}:{line} turns wood away at Z {}; with Z0 on the axis nothing would be left there.",
            sizes.number(mm)
        );
        return Some((Zero::Surface, told));
    }
    let found = reading.told.cutting_z?;
    let heights = format!(
        "{file} cuts at Z {} to {}, in the middle {}, {:.0} % of it at or under zero",
        sizes.number(found.least),
        sizes.number(found.greatest),
        sizes.number(found.median),
        100.0 * found.at_or_under_zero
    );
    match found.measured_from {
        MeasuredFrom::Surface => Some((Zero::Surface, format!("{heights}: depths under a skin."))),
        MeasuredFrom::Axis => Some((Zero::Axis, format!("{heights}: radii over the axis."))),
        MeasuredFrom::Unclear => None,
    }
}

impl Finds<'_> {
    fn sketch(&self) -> Sketch {
        let mut parts = vec![self.top(), self.machine()];
        parts.extend(self.controller());
        let (length, zero_x) = self.length();
        parts.push(Part::new("blank", false, [self.diameter(), vec![length, material()]].concat()));
        parts.extend(holding(self.sizes));
        parts.push(self.zero(zero_x));
        parts.extend(self.drawer.cutters.iter().map(|cutter| cutter.part(&self.sizes)));
        parts.extend((0..self.readings.len()).map(|index| self.program(index)));
        Sketch { parts }
    }

    fn top(&self) -> Part {
        let title = self.readings.first().map_or("", |reading| &reading.file);
        let title = title.rsplit('/').next().unwrap_or_default();
        let title = title.rsplit_once('.').map_or(title, |(stem, _)| stem);
        let mut entries = vec![Entry::plain("format", "1"), Entry::plain("title", quoted(title))];
        let first = self.readings.first();
        if self.sizes.0 == LengthUnit::Inch {
            let line = first.map(|reading| match reading.told.units {
                Units::Inches(line) => format!("{}:{line}", reading.file),
                _ => reading.file.clone(),
            });
            let because = format!("The programs count inches (G20, {}), so the scene does.", line.unwrap_or_default());
            entries.push(Entry::guessed("units", "\"inch\"", because));
        }
        if let Some(reading) = self.readings.iter().find(|reading| reading.told.units == Units::Unstated) {
            let because = format!(
                "{} says neither G20 nor G21 and is read as millimetres. If the controller counts inches, put G20 at its head.",
                reading.file
            );
            entries.push(Entry::open("units", "\"mm\"", because));
        }
        Part::new("", false, entries)
    }

    fn machine(&self) -> Part {
        let along = if self.axes.along == 0 { "x" } else { "y" };
        let mut entries = Vec::new();
        if self.axes.along == 1 {
            let because = "The programs go along Y and hardly along X while the blank turns.";
            entries.push(Entry::guessed("along", "\"y\"", because));
        }
        entries.extend(self.rotary());
        let turns =
            "Looked at from where the axis points, some machines turn the other way: a mirrored piece shows it.";
        entries.push(Entry::open("turns", "\"iso\"", turns));
        entries.push(Entry::open(
            "chuck_on",
            format!("\"-{along}\""),
            "The side that the chuck stands on; taken to be this.",
        ));
        let counts =
            "\"linear\": F is the speed along X, Y and Z; \"all\": over all words alike. Time and load hang on it.";
        entries.push(Entry::open("feed_counts", "\"linear\"", counts));
        if self.readings.iter().all(|reading| !reading.told.spindle[0] && !reading.told.spindle[1]) {
            let because = "No program switches the spindle on (M3), so a hand does.";
            entries.push(Entry::guessed("spindle_switch", "\"hand\"", because));
        }
        let n = |mm: f64| self.sizes.number(mm);
        let rates = format!("{{ x = {}, y = {}, z = {}, a = 3600 }}", n(3000.0), n(3000.0), n(2000.0));
        entries.push(Entry::open("rapid", rates, "Rapid rates a minute, those taken where none are given."));
        entries.push(Entry::open("bed", n(75.0), "Depth of the bed under the axis."));
        Part::new("machine", false, entries)
    }

    fn rotary(&self) -> Vec<Entry> {
        match self.axes.turning {
            Turning::Word(word) => self.rotary_word(word),
            Turning::Wrapped { diameter, program, line, on_skin } => {
                let place = format!("{}:{line}", self.readings[program].file);
                let round = self.sizes.told(diameter * std::f64::consts::PI);
                let because = if on_skin {
                    format!(
                        "No A, B or C turns the blank, and {place} cuts once across the whole width of {round}: a drawing to be \
                         wound on. If it is meant to be cut flat, take these two keys out."
                    )
                } else {
                    "No A, B or C turns the blank, and Y goes farther than a blank of these heights is wide.".to_owned()
                };
                let turn = format!("{place} goes {round} by Y alone: a turn, and that over π.");
                vec![
                    Entry::guessed("rotary", "\"Y\"", because),
                    Entry::guessed("wrap_diameter", self.sizes.number(diameter), turn),
                ]
            }
            Turning::Nothing => {
                let because = "No word turns the blank in these programs. A drawing that is wound on has rotary = \"Y\" and a \
                     wrap_diameter.";
                vec![Entry::open("rotary", "\"A\"", because)]
            }
        }
    }

    fn rotary_word(&self, word: usize) -> Vec<Entry> {
        let uses = self.readings.iter().filter_map(|reading| Some((reading, reading.told.words[word].as_ref()?)));
        let told: Vec<String> = uses
            .filter(|(_, used)| used.moves)
            .filter_map(|(reading, used)| {
                let (all, winding) = (used.all?, used.winding?);
                let place = used.line.map_or(reading.file.clone(), |line| format!("{}:{line}", reading.file));
                let left = match crate::measure::trimmed(winding.net, 2).as_str() {
                    "0" => "where it began".to_owned(),
                    turns => format!("{turns} turns on"),
                };
                Some(format!("{place} turns it from {:.0}° to {:.0}°, and leaves it {left}.", all.least, all.greatest))
            })
            .collect();
        let letter = |word: usize| ["X", "Y", "Z", "A", "B", "C"][word];
        let others: Vec<&str> = rotary_words(self.readings).into_iter().skip(1).map(letter).collect();
        let others = match others.is_empty() {
            true => String::new(),
            false => format!(" {} moves, too; a scene has one rotary word.", others.join(" and ")),
        };
        vec![Entry::guessed("rotary", format!("\"{}\"", letter(word)), format!("{}{others}", told.join(" ")))]
    }

    /// What the controller must take for the programs to run at all.
    fn controller(&self) -> Option<Part> {
        let needs = super::controller::needs(self.readings);
        (!needs.is_empty()).then(|| Part::new("controller", false, needs))
    }

    /// The diameter: from radii over the axis, or from what is wound on, or standing in.
    fn diameter(&self) -> Vec<Entry> {
        if let Turning::Wrapped { diameter, on_skin: true, .. } = self.axes.turning {
            let because = "What it is wound on, if the drawing is one of its skin.";
            return vec![Entry::guessed("diameter", self.sizes.number(self.sizes.nearest(diameter)), because)];
        }
        if let Some((radius, because)) = self.radius() {
            let diameter = self.sizes.nearest(2.0 * radius);
            let because = format!("{because} A square or other blank: across_flats and sides in place of it.");
            return vec![Entry::guessed("diameter", self.sizes.number(diameter), because)];
        }
        let [turning, deepest] = self.depths();
        let radius = (turning.max(deepest / 2.0) * 1.25).max(10.0);
        let told = |what: &str, mm: f64| (mm > 0.0).then(|| format!("its {what}, {}", self.sizes.told(mm)));
        let least = [
            told("radius is more than the deepest cut while it turns", turning),
            told("thickness is more than the deepest cut", deepest),
        ];
        let least: Vec<String> = least.into_iter().flatten().collect();
        let but = if least.is_empty() { String::new() } else { format!(" but that {}", least.join(", and ")) };
        let because = format!("heights from the skin say nothing of it{but}.");
        vec![Entry::stands_in("diameter", self.sizes.number(self.sizes.at_least(2.0 * radius)), because)]
    }

    /// The radius between what is cut and where rapids end over it, for programs with their zero on the axis.
    fn radius(&self) -> Option<(f64, String)> {
        let lowest = |of: fn(&Cuts) -> Option<Height>| self.heights(of).into_iter().min_by(Bound::compared);
        let highest = |of: fn(&Cuts) -> Option<Height>| self.heights(of).into_iter().max_by(Bound::compared);
        let cut = highest(|cuts| cuts.first).or_else(|| highest(|cuts| cuts.any_first));
        let coming = lowest(|cuts| cuts.approach).or_else(|| lowest(|cuts| cuts.any_approach));
        let over = cut.as_ref().map_or(0.0, |cut| cut.height.mm);
        let told =
            |bound: &Bound<'_>| format!("{bound} comes down to {} before it feeds", self.sizes.told(bound.height.mm));
        let (radius, because) = match (&cut, coming.filter(|coming| coming.height.mm > over)) {
            // Rapids end a little over the skin; the first pass takes the greater part of what is between.
            (Some(_), Some(coming)) => {
                let gap = coming.height.mm - over;
                let told = format!(", and {}: the skin lies between", told(&coming));
                (over + (0.75 * gap).min(FIRST_PASS), told)
            }
            (Some(_), None) => (over, ", and no rapid ends over that: the skin lies there or higher".to_owned()),
            (None, Some(coming)) => (coming.height.mm, format!("{}: the skin lies under that", told(&coming))),
            (None, None) => return None,
        };
        let cuts = cut.map_or(String::new(), |cut| format!("{cut} cuts at {}", self.sizes.told(over)));
        (radius > 0.0).then(|| (radius, format!("Measured from the axis, {cuts}{because}.")))
    }

    /// A height of each program that has its zero on the axis.
    fn heights(&self, of: fn(&Cuts) -> Option<Height>) -> Vec<Bound<'_>> {
        let on_axis = self.zeros.iter().map(|(zero, _)| *zero == Zero::Axis);
        let programs = self.readings.iter().zip(&self.cuts).zip(on_axis).filter(|(_, on_axis)| *on_axis);
        programs.filter_map(|((reading, cuts), _)| Some(Bound { height: of(cuts)?, file: &reading.file })).collect()
    }

    /// How deep the programs with their zero on the skin go while the blank turns, and at all, mm.
    fn depths(&self) -> [f64; 2] {
        let deepest = |of: fn(&Cuts) -> Option<Height>| {
            self.cuts.iter().filter_map(of).map(|height| -height.mm).fold(0.0, f64::max)
        };
        [deepest(|cuts| cuts.deepest_turning), deepest(|cuts| cuts.deepest)]
    }

    /// The length and the station of X0.
    fn length(&self) -> (Entry, Entry) {
        let sizes = self.sizes;
        let letter = if self.axes.along == 0 { "X" } else { "Y" };
        let Some([low, high]) = span(self.readings, |told| fed(told, self.axes.along)) else {
            let stands = sizes.at_least(100.0);
            let because = format!("no program ever moves {letter}.");
            return (
                Entry::stands_in("length", sizes.number(stands), because.clone()),
                Entry::stands_in("x", sizes.number(sizes.nearest(stands / 2.0)), because),
            );
        };
        let beyond = 1.0 + self.drawer.cutters.iter().map(|cutter| cutter.radius(&sizes)).fold(0.0, f64::max);
        let cut = format!("The cuts go from {letter} {} to {}", sizes.told(low), sizes.told(high));
        let more = "what the jaws hold comes on top, with `hold` under [chuck]";
        let (length, zero, place) = if low >= -beyond {
            (high, 0.0, format!("{letter}0 is taken to be where the blank stands out of the jaws."))
        } else if high <= beyond {
            (
                -low,
                -low,
                format!("The cuts lie on the minus side of {letter}0, so that is taken to be at the free end."),
            )
        } else {
            (high - low, -low, format!("The cuts lie on both sides of {letter}0."))
        };
        let (length, zero) = (sizes.at_least(length), if zero > 0.0 { sizes.at_least(zero) } else { 0.0 });
        (
            Entry::guessed(
                "length",
                sizes.number(length),
                format!("{cut}; so far it must reach at the least, and {more}."),
            ),
            Entry::guessed("x", sizes.number(zero), format!("{cut}. {place}")),
        )
    }

    fn zero(&self, x: Entry) -> Part {
        let (zero, because) = &self.zeros[0];
        Part::new("zero", false, vec![x, Entry::guessed("z", zero.word(), because.clone())])
    }

    fn program(&self, index: usize) -> Part {
        let (reading, cuts) = (&self.readings[index], &self.cuts[index]);
        let mut entries = vec![Entry::plain("file", quoted(&reading.file))];
        if let Some(beginning) = &self.drawer.begins[index] {
            entries.push(Entry::guessed("cutter", beginning.number.to_string(), beginning.because.clone()));
        }
        let (zero, because) = &self.zeros[index];
        if *zero != self.zeros[0].0 {
            entries.push(Entry::guessed("zero", format!("{{ z = {} }}", zero.word()), because.clone()));
        }
        if cuts.turns && !cuts.turns_at_feed {
            let because = "The blank turns in rapids only and stands still while it is cut.";
            entries.push(Entry::guessed("indexed", "true", because));
        }
        Part::new("program", true, entries)
    }
}

fn material() -> Entry {
    Entry::open("material", "\"hard maple\"", "The wood: for loads, spring and strength.")
}

/// What holds the blank: no program says that.
fn holding(sizes: Sizes) -> Vec<Part> {
    let n = |mm: f64| sizes.number(mm);
    let cylinder = |diameter: f64, length: f64| format!("{{ diameter = {}, length = {} }}", n(diameter), n(length));
    let chuck = vec![
        Entry::open(
            "hold",
            n(20.0),
            "What holds the blank no program says, and nothing is checked against what is not described. The blank's length \
             counts what the jaws hold.",
        ),
        Entry::open("body", cylinder(80.0, 45.0), ""),
        Entry::open(
            "jaws",
            format!("{{ count = 4, width = {}, length = {}, height = {} }}", n(14.0), n(22.0), n(18.0)),
            "",
        ),
    ];
    let tailstock = vec![Entry::open(
        "center",
        format!("{{ angle = 60, diameter = {}, quill = {}, extension = {} }}", n(12.0), n(16.0), n(3.0)),
        "",
    )];
    vec![Part::new("chuck", false, chuck), Part::new("tailstock", false, tailstock)]
}
