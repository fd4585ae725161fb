//! Parameters #1 … #5399 and named ones (NISTIR 6556 sections 3.2.1 and 3.3.2.2).
//!
//! The numbers from 5161 on that the standard reserves are not stored here: they are read off what they stand for, in
//! the length unit in force.

use std::collections::BTreeMap;

use super::reader::Reader;
use crate::diagnostic::{At, Kind, Severity, Span};
use crate::evaluate;
use crate::listing::{Formula, Line, Target, axis, plain_name};
use crate::program::Setup;

/// What is stored under a number or a name.
#[derive(Debug, Clone, Default)]
pub(super) struct Parameters {
    /// By number; empty until one is set.
    values: Vec<Option<f64>>,
    /// Names that start with `_`, known everywhere.
    global: BTreeMap<String, f64>,
    /// Other names, by depth of calls.
    pub(super) local: Vec<BTreeMap<String, f64>>,
    /// Stored points of G28 and G30, machine coordinates.
    pub(super) homes: [[f64; 6]; 2],
    /// Numbers that were read before anything set them, since the last evaluation.
    unset: Vec<u16>,
}

/// How many parameters there are, and one that is not used.
const COUNT: usize = 5400;

/// A named parameter takes memory: more of them than anyone writes are refused.
const MOST_NAMES: usize = 10_000;

const NO_FORMULAS: &str = "this controller takes no parameters or expressions";

const TAKES_FORMULAS: &str = "if it does take them, say so in the scene: [controller] expressions = true";

/// Why a machine coordinate says nothing.
pub(super) const NO_HOME: &str = "machine zero is not given ([machine] home in the scene)";

/// What a reserved number stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reserved {
    Probe,
    /// Home 0 (G28) or 1 (G30), and the axis.
    Home(usize, usize),
    Kept(usize),
    System,
    /// System 0 … 8 and the axis.
    Origin(usize, usize),
}

fn reserved(index: u16) -> Option<Reserved> {
    let from = |first: u16| usize::from(index - first);
    match index {
        5061..=5066 => Some(Reserved::Probe),
        5161..=5166 => Some(Reserved::Home(0, from(5161))),
        5181..=5186 => Some(Reserved::Home(1, from(5181))),
        5211..=5216 => Some(Reserved::Kept(from(5211))),
        5220 => Some(Reserved::System),
        5221..=5386 if from(5221) % 20 < 6 => Some(Reserved::Origin(from(5221) / 20, from(5221) % 20)),
        _ => None,
    }
}

impl Parameters {
    pub(super) fn new(setup: &Setup) -> Self {
        let mut parameters = Self { local: vec![BTreeMap::new()], ..Self::default() };
        for (&index, &value) in &setup.parameters {
            match reserved(index) {
                Some(Reserved::Home(which, axis)) => parameters.homes[which][axis] = value,
                Some(_) => {}
                None => parameters.store(index, value),
            }
        }
        parameters
    }

    /// The coordinate system that parameter 5220 puts in force, 0 for G54.
    pub(super) fn system_at_start(setup: &Setup) -> usize {
        let number = setup.parameters.get(&5220).copied().unwrap_or(1.0);
        if (1.0..=9.0).contains(&number) { number as usize - 1 } else { 0 }
    }

    /// The G92 offset that the set-up remembers.
    pub(super) fn kept_at_start(setup: &Setup) -> [f64; 6] {
        std::array::from_fn(|axis| setup.parameters.get(&(5211 + axis as u16)).copied().unwrap_or(0.0))
    }

    pub(super) fn stored(&self, index: u16) -> Option<f64> {
        self.values.get(usize::from(index)).copied().flatten()
    }

    pub(super) fn store(&mut self, index: u16, value: f64) {
        self.put(index, Some(value));
    }

    pub(super) fn put(&mut self, index: u16, value: Option<f64>) {
        if self.values.is_empty() {
            self.values = vec![None; COUNT];
        }
        if let Some(slot) = self.values.get_mut(usize::from(index)) {
            *slot = value;
        }
    }

    pub(super) fn store_name(&mut self, name: String, value: f64) -> Result<(), String> {
        let names = match self.local.last_mut() {
            Some(local) if !name.starts_with('_') => local,
            _ => &mut self.global,
        };
        if names.len() >= MOST_NAMES && !names.contains_key(&name) {
            return Err(format!("more than {MOST_NAMES} named parameters"));
        }
        names.insert(name, value);
        Ok(())
    }
}

impl evaluate::Parameters for Reader<'_> {
    fn numbered(&mut self, index: u16) -> Result<f64, String> {
        let scale = |axis| self.modes.scale(axis);
        match reserved(index) {
            Some(Reserved::Home(which, axis)) => Ok(self.parameters.homes[which][axis] / scale(axis)),
            Some(Reserved::Kept(axis)) => Ok(self.g92_kept[axis] / scale(axis)),
            Some(Reserved::System) => Ok(self.modes.system as f64 + 1.0),
            Some(Reserved::Origin(system, axis)) => match self.in_machine(axis, self.origins[system][axis]) {
                Some(origin) => Ok(origin / scale(axis)),
                None => Err(format!("#{index} holds an origin in machine coordinates, and {NO_HOME}")),
            },
            reserved => match self.parameters.stored(index) {
                Some(value) => Ok(value),
                None if reserved == Some(Reserved::Probe) => {
                    Err(format!("#{index} holds where a probe touched, which cannot be foretold"))
                }
                None => {
                    self.parameters.unset.push(index);
                    Ok(0.0)
                }
            },
        }
    }

    fn named(&mut self, name: &str) -> Result<f64, String> {
        let local = self.parameters.local.last().and_then(|local| local.get(name));
        let found = local.or_else(|| self.parameters.global.get(name));
        found.copied().ok_or_else(|| format!("nothing has set #<{name}>"))
    }
}

impl Reader<'_> {
    /// Evaluates all formulas of a line, then sets its parameters (NISTIR 6556 section 3.3.2.3). A word without a
    /// value is lost, with an error.
    pub(super) fn evaluate(&mut self, at: At<'_>, line: &mut Line) {
        if line.steps.is_empty() {
            return;
        }
        if !self.setup.expressions {
            self.refuse_formulas(at, line);
            return;
        }
        let mut words = std::mem::take(&mut line.words);
        words.retain_mut(|word| {
            let Some(formula) = word.formula else {
                return true;
            };
            let value = self.formula(at, line, formula, word.span);
            match value {
                Some(value) => word.value = value,
                None => line.lost |= axis(word.letter).map_or(0, |axis| 1 << axis),
            }
            value.is_some()
        });
        line.words = words;
        let mut settings = Vec::new();
        for index in 0..line.settings.len() {
            let setting = line.settings[index];
            let value = self.formula(at, line, setting.value, setting.span);
            let target = match setting.target {
                Target::Index(formula) => self.formula(at, line, formula, setting.span).map(Ok),
                Target::Name(name) => Some(Err(plain_name(&at.text[name.start as usize..name.end as usize]))),
            };
            settings.extend(target.zip(value).map(|(target, value)| (target, value, setting.span)));
        }
        for (target, value, span) in settings {
            let done = match target {
                Ok(index) => evaluate::index_of(index).and_then(|index| self.set_parameter(at, span, index, value)),
                Err(name) => self.parameters.store_name(name, value),
            };
            if let Err(message) = done {
                line.diagnostics.push(at.diagnostic(Severity::Error, Kind::Expression, span, message));
            }
        }
    }

    /// Drops what would have to be reckoned, with one error.
    fn refuse_formulas(&self, at: At<'_>, line: &mut Line) {
        let words = line.words.iter().filter(|word| word.formula.is_some());
        let lost = words.clone().filter_map(|word| axis(word.letter)).fold(0, |lost, axis| lost | 1 << axis);
        let spans = words.map(|word| word.span).chain(line.settings.iter().map(|setting| setting.span));
        let Some(span) = spans.min_by_key(|span| span.start) else {
            return;
        };
        line.diagnostics
            .push(at.diagnostic(Severity::Error, Kind::NotUnderstood, span, NO_FORMULAS).help(TAKES_FORMULAS));
        line.words.retain(|word| word.formula.is_none());
        line.lost |= lost;
    }

    /// The value of one formula; an error at `span` goes to the line.
    pub(super) fn formula(&mut self, at: At<'_>, line: &mut Line, formula: Formula, span: Span) -> Option<f64> {
        if !self.setup.expressions {
            line.diagnostics
                .push(at.diagnostic(Severity::Error, Kind::NotUnderstood, span, NO_FORMULAS).help(TAKES_FORMULAS));
            return None;
        }
        let mut stack = std::mem::take(&mut self.stack);
        let found = evaluate::value(line, at.text, formula, self, &mut stack);
        self.stack = stack;
        for index in std::mem::take(&mut self.parameters.unset) {
            let message = format!("#{index} is read, but nothing has set it: taken as 0");
            self.warn(at, Kind::Expression, span, message);
        }
        match found {
            Ok(value) => Some(value),
            Err(message) => {
                line.diagnostics.push(at.diagnostic(Severity::Error, Kind::Expression, span, message));
                None
            }
        }
    }

    fn set_parameter(&mut self, at: At<'_>, span: Span, index: u16, value: f64) -> Result<(), String> {
        match reserved(index) {
            Some(Reserved::Home(which, axis)) => {
                self.parameters.homes[which][axis] = value * self.modes.scale(axis);
            }
            Some(Reserved::Kept(axis)) => self.g92_kept[axis] = value * self.modes.scale(axis),
            Some(Reserved::System) => {
                let message = "#5220 says which system is in force at power on; setting it does nothing here";
                self.warn(at, Kind::Expression, span, message);
            }
            Some(Reserved::Origin(system, axis)) => {
                self.set_origin(system, axis, value * self.modes.scale(axis))?;
                let message = "the origin is taken to be set at once; the standard waits for G54 … G59.3";
                self.note(at, Kind::Expression, span, message);
            }
            _ => self.parameters.store(index, value),
        }
        Ok(())
    }

    /// Puts the origin of a system, 0 for G54, at a machine coordinate.
    pub(super) fn set_origin(&mut self, system: usize, axis: usize, machine: f64) -> Result<(), String> {
        let Some(origin) = self.off_machine(axis, machine) else {
            return Err(format!("where this puts the origin is unknown: {NO_HOME}"));
        };
        if self.is_too_far(origin) {
            return Err("this puts the origin too far away".to_owned());
        }
        self.origins[system][axis] = origin;
        self.offsets_changed();
        Ok(())
    }

    /// A place in G54 terms as a machine coordinate.
    pub(super) fn in_machine(&self, axis: usize, place: f64) -> Option<f64> {
        Some(place - self.off_machine(axis, 0.0)?)
    }

    /// What the controller keeps, as it stands now.
    pub(super) fn parameters_at_end(&self) -> BTreeMap<u16, f64> {
        let mut kept = self.setup.parameters.clone();
        for index in 1..COUNT as u16 {
            if let Some(value) = self.parameters.stored(index) {
                kept.insert(index, value);
            }
        }
        let mut changed = |index: usize, value: f64, before: f64| {
            if value != before {
                kept.insert(index as u16, value);
            }
        };
        let before = Parameters::new(self.setup);
        for (axis, kept_before) in Parameters::kept_at_start(self.setup).into_iter().enumerate() {
            changed(5161 + axis, self.parameters.homes[0][axis], before.homes[0][axis]);
            changed(5181 + axis, self.parameters.homes[1][axis], before.homes[1][axis]);
            changed(5211 + axis, self.g92_kept[axis], kept_before);
            for system in 0..9 {
                let (origin, before) = (self.origins[system][axis], self.setup.origins[system][axis]);
                if let Some(machine) = self.in_machine(axis, origin) {
                    changed(5221 + 20 * system + axis, machine, machine - (origin - before));
                }
            }
        }
        changed(5220, self.modes.system as f64 + 1.0, Parameters::system_at_start(self.setup) as f64 + 1.0);
        kept
    }
}
