//! What speaks of all scenes of a call: SARIF, JUnit, Markdown, and whatever but text goes to standard output.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use dryturn_check::{Finding, Rule, Severity};
use dryturn_report::{Outcome, Proved, Quote, Refusal, Run};
use dryturn_scene::{Job, LineRemark, SceneError};

use super::OutputError;
use super::root::Root;
use crate::arguments::{Format, ProveArguments};
use crate::print;

/// How standard output is called.
const STANDARD_OUTPUT: &str = "-";

/// The outcomes of the scenes so far, kept only where something asks for them.
pub(crate) struct Gathered<'a> {
    arguments: &'a ProveArguments,
    root: Root,
    outcomes: Vec<Outcome>,
}

/// A file that speaks of all scenes.
#[derive(Clone, Copy)]
enum Kind {
    Sarif,
    Junit,
    Markdown,
}

/// The files that are asked for.
fn files(arguments: &ProveArguments) -> Vec<(Kind, &Path)> {
    let named =
        [(Kind::Sarif, &arguments.sarif), (Kind::Junit, &arguments.junit), (Kind::Markdown, &arguments.markdown)];
    named.into_iter().filter_map(|(kind, path)| Some((kind, path.as_deref()?))).collect()
}

fn to_standard_output(path: &Path) -> bool {
    path == Path::new(STANDARD_OUTPUT)
}

/// Whether the summary for people goes to standard output.
pub(crate) fn shows_text(arguments: &ProveArguments) -> bool {
    let taken = files(arguments).iter().any(|(_, path)| to_standard_output(path));
    !taken && matches!(arguments.format, None | Some(Format::Text))
}

/// What is wrong with where the outputs are to go.
pub(crate) fn clash(arguments: &ProveArguments) -> Option<String> {
    let files = files(arguments);
    let taking = files.iter().filter(|(_, path)| to_standard_output(path)).count();
    if taking + usize::from(arguments.format.is_some()) > 1 {
        return Some("only one of --format, --sarif, --junit and --markdown can go to standard output".to_owned());
    }
    let mut seen = BTreeSet::new();
    let twice = files.iter().find(|(_, path)| !seen.insert(*path));
    twice.map(|(_, path)| format!("{}: two outputs cannot go into one file", path.display()))
}

impl<'a> Gathered<'a> {
    pub(crate) fn new(arguments: &'a ProveArguments, scenes: &[PathBuf]) -> Gathered<'a> {
        Gathered { arguments, root: Root::above(scenes), outcomes: Vec::new() }
    }

    fn is_asked_for(&self) -> bool {
        !files(self.arguments).is_empty() || !matches!(self.arguments.format, None | Some(Format::Text))
    }

    /// Takes the results of a scene.
    pub(crate) fn proved(&mut self, scene: &Path, job: &Job, run: &Run) {
        if !self.is_asked_for() {
            return;
        }
        let proved = Proved {
            run: run.clone(),
            rules: Rule::all().filter(|rule| rule.needs.met_by(&job.scene)).collect(),
            files: job.scene.programs.iter().map(|entry| self.root.name(&entry.path)).collect(),
            quotes: quotes(job, run),
        };
        self.outcomes.push(Outcome { scene: self.root.name(scene), result: Ok(proved) });
    }

    /// Takes why a scene could not be proved.
    pub(crate) fn refused(&mut self, scene: &Path, error: &SceneError) {
        let refusals = match error {
            SceneError::Lines { remarks, .. } => remarks.iter().map(|remark| self.refused_line(remark)).collect(),
            error => vec![self.refusal(scene, error.to_string())],
        };
        self.outcomes.push(Outcome { scene: self.root.name(scene), result: Err(refusals) });
    }

    /// Takes a reason that has no line.
    pub(crate) fn failed(&mut self, scene: &Path, reason: &str) {
        let refusal = self.refusal(scene, reason.to_owned());
        self.outcomes.push(Outcome { scene: self.root.name(scene), result: Err(vec![refusal]) });
    }

    fn refusal(&self, scene: &Path, text: String) -> Refusal {
        Refusal { file: self.root.name(scene), line: None, text }
    }

    fn refused_line(&self, remark: &LineRemark) -> Refusal {
        let help = remark.help.as_ref().map(|help| format!(" ({help})")).unwrap_or_default();
        let text = remark.message.clone() + &help;
        Refusal { file: self.root.name(Path::new(&remark.path)), line: Some(remark.line), text }
    }

    /// Writes the files, all or none, then prints what goes to standard output; gives an exit code.
    pub(crate) fn write(&self, interrupted: &AtomicBool) -> Result<u8, OutputError> {
        let (mut written, mut printed) = (Vec::new(), self.in_format()?);
        for (kind, path) in files(self.arguments) {
            let text = self.text(kind)?;
            if to_standard_output(path) {
                printed = Some(text);
            } else {
                written.push((path.to_owned(), text.into_bytes()));
            }
        }
        dryturn_report::write_each(&written, interrupted)?;
        Ok(printed.map_or(0, |text| print(&text)))
    }

    fn text(&self, kind: Kind) -> Result<String, OutputError> {
        Ok(match kind {
            Kind::Sarif => dryturn_report::sarif(&self.outcomes)?,
            Kind::Junit => dryturn_report::junit(&self.outcomes, self.fails_from())?,
            Kind::Markdown => dryturn_report::markdown(&self.outcomes),
        })
    }

    /// Severity from which a JUnit case fails.
    fn fails_from(&self) -> Severity {
        self.arguments.fail_on.least().unwrap_or(Severity::Error)
    }

    fn in_format(&self) -> Result<Option<String>, OutputError> {
        let runs = || self.outcomes.iter().filter_map(|outcome| Some(&outcome.result.as_ref().ok()?.run));
        Ok(match self.arguments.format {
            None | Some(Format::Text) => None,
            Some(Format::Json) if self.arguments.scenes.len() == 1 => {
                runs().next().map(dryturn_report::report).transpose()?
            }
            Some(Format::Json) => Some(dryturn_report::reports(&runs().collect::<Vec<_>>())?),
            Some(Format::Github) => Some(dryturn_report::annotations(&self.outcomes)),
            Some(Format::Gitlab) => Some(dryturn_report::quality(&self.outcomes)?),
        })
    }
}

fn quotes(job: &Job, run: &Run) -> Vec<Option<Quote>> {
    let texts: Vec<_> = (0..job.programs.len())
        .map(|program| {
            let found = run.findings.iter().filter(|found| found.program == Some(program));
            let lines = found.filter_map(|found| found.lines).flat_map(|(first, last)| [first, last]);
            job.line_texts(program, &lines.collect())
        })
        .collect();
    let quote = |found: &Finding| {
        let (texts, (first, last)) = (texts.get(found.program?)?, found.lines?);
        Some(Quote::new(texts.get(&first)?, texts.get(&last)?))
    };
    run.findings.iter().map(quote).collect()
}
