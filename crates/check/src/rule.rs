//! The catalogue of rules: what each looks for, what it would cost, and how to live with it.
//!
//! One table serves the order findings are told in, `dryturn rule`, the help texts in SARIF and the names an
//! `[[accept]]` may carry. A finding can only be made under a name that stands here.

mod cutter;
mod finish;
mod machine;
mod person;
mod piece;
mod reader;

use dryturn_scene::{CutterLimits, Scene, nearest_word};

use crate::finding::Severity;

/// Who or what pays. The classes are common practice, no source: what can hurt a person comes first, then what breaks
/// the machine, the cutter, the piece, and last what only spoils the finish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cost {
    /// Someone may be hurt: the work or a broken cutter is thrown.
    Person,
    /// The machine, its spindle or its holding is struck or asked for what it cannot do.
    Machine,
    /// The cutter burns or breaks.
    Cutter,
    /// The piece is spoiled.
    Piece,
    /// The piece needs more work, or less is known than should be.
    Finish,
}

impl Cost {
    /// All, the dearest first.
    pub const ALL: [Cost; 5] = [Cost::Person, Cost::Machine, Cost::Cutter, Cost::Piece, Cost::Finish];

    /// The class of a rule; a rule that is not in the catalogue costs the piece.
    pub fn of(rule: &str) -> Cost {
        Rule::named(rule).map_or(Cost::Piece, |rule| rule.cost)
    }

    /// The class in a word.
    pub fn word(self) -> &'static str {
        match self {
            Cost::Person => "person",
            Cost::Machine => "machine",
            Cost::Cutter => "cutter",
            Cost::Piece => "piece",
            Cost::Finish => "finish",
        }
    }
}

/// What a rule needs to be described before it can look at anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// Nothing but the blank, a cutter and a program.
    Nothing,
    /// Something that stands in the way: the holding, a tailstock, the bed, or a fixed body.
    Obstacle,
    /// What holds the blank.
    Holding,
    /// A tailstock.
    Tailstock,
    /// The holder of a cutter, and how far the cutter sticks out.
    Holder,
    /// The spindle over the holder.
    Spindle,
    /// How far the machine travels.
    Reach,
    /// The power of the spindle.
    Power,
    /// What holds against turning, or against the live center.
    Torque,
    /// What a cutter may be asked for.
    Limits,
    /// The shape wanted.
    Target,
    /// An `[[accept]]`.
    Accept,
}

impl Needs {
    /// Whether a scene describes it.
    pub fn met_by(self, scene: &Scene) -> bool {
        let reach = &scene.machine.reach;
        match self {
            Needs::Nothing => true,
            Needs::Obstacle => {
                scene.holding_described()
                    || scene.tailstock.is_some()
                    || scene.machine.bed.is_some()
                    || !scene.fixed.is_empty()
            }
            Needs::Holding => scene.holding_described(),
            Needs::Tailstock => scene.tailstock.is_some(),
            Needs::Holder => scene.cutters.iter().any(|cutter| cutter.stickout.is_some() && !cutter.holder.is_empty()),
            Needs::Spindle => !scene.machine.spindle.is_empty(),
            Needs::Reach => [reach.x, reach.y, reach.z, reach.a].iter().any(Option::is_some),
            Needs::Power => scene.machine.spindle_power.is_some(),
            Needs::Torque => {
                let holding = [
                    scene.machine.rotary_torque,
                    scene.chuck.as_ref().and_then(|chuck| chuck.torque),
                    scene.faceplate.as_ref().and_then(|plate| plate.torque),
                    scene.drive.as_ref().and_then(|drive| drive.torque),
                    scene.tailstock.as_ref().and_then(|tailstock| tailstock.force),
                ];
                holding.iter().any(Option::is_some)
            }
            Needs::Limits => {
                let mut cutters = scene.cutters.iter();
                cutters.any(|cutter| cutter.limits != CutterLimits::default() || !cutter.cuts_center)
            }
            Needs::Target => scene.target.is_some(),
            Needs::Accept => !scene.accept.is_empty(),
        }
    }
}

/// One rule, in the words of the workshop. Texts are whole sentences but for `summary`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Its name, in lower case with hyphens.
    pub name: &'static str,
    /// Who or what pays.
    pub cost: Cost,
    /// The gravest it gives.
    pub gravest: Severity,
    /// What must be described for it to look.
    pub needs: Needs,
    /// Whether it looks at the set-up as a whole; otherwise at each program.
    pub of_scene: bool,
    /// What it finds, in a few words.
    pub summary: &'static str,
    /// When it speaks, and how loudly.
    pub when: &'static str,
    /// Why it matters at the machine.
    pub why: &'static str,
    /// What keeps it quiet.
    pub quiet: &'static str,
    /// Keys of the scene that hold its numbers, with their defaults; empty where it has none.
    pub keys: &'static [&'static str],
}

/// The catalogue, by cost.
const TABLES: [&[Rule]; 6] = [person::RULES, machine::RULES, cutter::RULES, piece::RULES, finish::RULES, reader::RULES];

impl Rule {
    /// All rules, table by table.
    pub fn all() -> impl Iterator<Item = &'static Rule> {
        TABLES.into_iter().flatten()
    }

    /// The rule of a name.
    pub fn named(name: &str) -> Option<&'static Rule> {
        Rule::all().find(|rule| rule.name == name)
    }

    /// Whether there is a rule of this name.
    pub fn exists(name: &str) -> bool {
        Rule::named(name).is_some()
    }

    /// The name nearest to a misspelt one, if any is near enough.
    pub fn nearest(name: &str) -> Option<&'static str> {
        nearest_word(name, Rule::all().map(|rule| rule.name))
    }

    /// The names of all rules, for [`dryturn_scene::LoadOptions`].
    pub fn names() -> Vec<&'static str> {
        Rule::all().map(|rule| rule.name).collect()
    }

    /// How a finding of it is accepted, as the lines of a scene.
    pub fn how_to_accept(&self) -> String {
        let place = if self.of_scene { "" } else { "program = 1\nlines = [10, 20]\n" };
        format!("[[accept]]\nrule = \"{}\"\n{place}why = \"who looked at it, and why it is right\"\n", self.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::path::{Path, PathBuf};

    #[test]
    fn every_name_stands_once_and_is_a_name() {
        let names = Rule::names();
        assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
        for name in names {
            assert!(name.chars().all(|letter| letter.is_ascii_lowercase() || letter == '-'), "{name}");
        }
    }

    #[test]
    fn every_text_is_whole() {
        for rule in Rule::all() {
            assert!(!rule.summary.ends_with('.') && rule.summary.len() <= 76, "{}: {}", rule.name, rule.summary);
            for text in [rule.when, rule.why, rule.quiet] {
                assert!(text.ends_with('.') && text.len() > 20, "{}: {text}", rule.name);
                assert!(!text.contains("  "), "{}: {text}", rule.name);
            }
        }
    }

    #[test]
    fn the_reader_can_say_nothing_that_is_not_here() {
        for kind in dryturn_program::Kind::ALL {
            assert!(Rule::exists(kind.name()), "{kind}");
        }
    }

    /// The text of every source file of this crate outside the catalogue.
    fn sources(folder: &Path) -> String {
        let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let text = |path: PathBuf| match path.is_dir() {
            true => sources(&path),
            false => std::fs::read_to_string(path).unwrap(),
        };
        entries.filter(|path| !path.ends_with("src/rule")).map(text).collect()
    }

    /// A rule that nothing speaks would pass for ever.
    #[test]
    fn every_rule_is_spoken() {
        let sources = sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
        let spoken = |rule: &Rule| sources.contains(&format!("\"{}\"", rule.name));
        let of_reader = |rule: &Rule| dryturn_program::Kind::ALL.iter().any(|kind| kind.name() == rule.name);
        let mute: Vec<_> = Rule::all().filter(|rule| !of_reader(rule) && !spoken(rule)).map(|rule| rule.name).collect();
        assert_eq!(mute, Vec::<&str>::new());
    }

    #[test]
    fn a_misspelt_name_has_a_nearest() {
        assert_eq!(Rule::nearest("holder-hit"), Some("holder-hits"));
        assert_eq!(Rule::nearest("gauge"), Some("gouge"));
        assert_eq!(Rule::nearest("xyzzy-and-more"), None);
    }
}
