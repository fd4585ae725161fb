//! `dryturn new`: a scene for programs of which nobody has said anything yet.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use clap::Args;
use dryturn_check::{Finding, Proof, Rule, Severity, Verdict, prove, read};
use dryturn_plan::new::{self, Entry, Given, Part, Sketch, Standing};
use dryturn_report::{CAUTION, plain};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

use crate::arguments::Color;
use crate::failure::Failure;
use crate::print;
use crate::running::{Running, threads};
use crate::sections::{paragraph, section};

/// What `dryturn new --help` says at its end.
pub(crate) const HELP: &str = "\
Name the programs in the order they run. What they give away is guessed, each guess with its evidence beside it: the word \
that turns the blank, units, zero on the axis or on the skin, diameter, length, cutters by T words and by plain words in \
the comments near them (flat, ball, vee, mm, inch …). What they do not tell is left out in a comment, or stands in and says \
so. The scene is proved once, so that it is known to be whole.

Beside it comes scene.schema.json, from which editors of TOML complete keys and explain them.

Examples:
  dryturn new finial.nc -o scene.toml
  dryturn new rough.nc finish.nc part.nc -o scene.toml

Exit codes: 0 written · 2 usage, or programs that cannot be read · 130 interrupted";

#[derive(Args, Debug)]
pub(crate) struct NewArguments {
    /// Programs, in the order they run
    #[arg(required = true, value_name = "PROGRAM")]
    programs: Vec<PathBuf>,

    /// The scene to write, in the folder of the programs or above it
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,

    /// Replace the scene that is there
    #[arg(long)]
    force: bool,

    /// Number of threads; 0 takes one for each core
    #[arg(long, default_value_t = 0, value_name = "N", value_parser = clap::value_parser!(u16).range(0..=1024))]
    threads: u16,

    /// Print nothing but errors
    #[arg(long, short)]
    quiet: bool,
}

/// Name of the schema beside a scene.
const SCHEMA: &str = "scene.schema.json";

/// Writes the scene; gives the exit code.
pub(crate) fn run(arguments: &NewArguments, interrupted: &AtomicBool) -> u8 {
    let (threads, quiet) = (threads(arguments.threads), arguments.quiet);
    match written(arguments, &Running { threads, memory: u64::MAX, is_pitch_typed: false, quiet, interrupted }) {
        Ok(_) if quiet => 0,
        Ok(text) => print(&text),
        Err(failure) => failure.told(Color::Auto),
    }
}

fn written(arguments: &NewArguments, running: &Running<'_>) -> Result<String, Failure> {
    let output = &arguments.output;
    if output.exists() && !arguments.force {
        return Err(refused(format!(
            "{}: is there already; choose another name, or replace it with --force",
            output.display()
        )));
    }
    let folder = output.parent().unwrap_or(Path::new(""));
    let given = arguments.programs.iter().map(|program| given(program, folder, output));
    let sketch = new::draft(given.collect::<Result<Vec<_>, _>>()?).map_err(|error| refused(error.to_string()))?;
    let text = sketch.text(Some(SCHEMA));
    let proof = proof(&text, output, folder, running)?;
    let schema = folder.join(SCHEMA);
    let beside = (!schema.exists()).then(|| (schema, dryturn_scene::schema().into_bytes()));
    // The scene speaks of its schema, so it is put in its place last.
    let files: Vec<_> = beside.into_iter().chain([(output.clone(), text.into_bytes())]).collect();
    dryturn_report::write_each(&files, running.interrupted)?;
    Ok(told(&sketch, &proof, output, files.len() > 1))
}

fn refused(message: String) -> Failure {
    Failure::Other(plain(&message))
}

/// A program, opened, with its path as a scene in a folder has to write it.
fn given(program: &Path, folder: &Path, output: &Path) -> Result<Given<BufReader<File>>, Failure> {
    let cannot = |path: &Path, error: std::io::Error| refused(format!("cannot read {}: {error}", path.display()));
    let real = program.canonicalize().map_err(|error| cannot(program, error))?;
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let home = here.canonicalize().map_err(|error| cannot(folder, error))?;
    if output.canonicalize().is_ok_and(|output| output == real) {
        return Err(refused(format!("-o names the program {}; write to another file", program.display())));
    }
    let Ok(inside) = real.strip_prefix(&home) else {
        return Err(refused(format!(
            "{} does not lie in the folder of {}: a scene names nothing outside of its own folder, so write it there",
            program.display(),
            output.display()
        )));
    };
    if real.is_dir() {
        return Err(refused(format!("{}: a folder; name the programs in it", program.display())));
    }
    let parts: Vec<_> = inside.iter().map(|part| part.to_string_lossy()).collect();
    let input = BufReader::new(File::open(program).map_err(|error| cannot(program, error))?);
    Ok(Given { file: parts.join("/"), input })
}

/// Proves the scene as it is going to be.
fn proof(text: &str, output: &Path, folder: &Path, running: &Running<'_>) -> Result<(Job, Proof), Failure> {
    let rules = Rule::names();
    let options = LoadOptions { rules: Some(&rules), ..LoadOptions::default() };
    let scene = Scene::parse(text, &output.display().to_string(), folder, options)?;
    let job = running.stage("read", |options| read(scene, JobOptions::default(), options))?;
    let proof = running.stage("prove", |options| prove(&job, options))?;
    Ok((job, proof))
}

fn told(sketch: &Sketch, (job, proof): &(Job, Proof), output: &Path, with_schema: bool) -> String {
    let mut text = String::new();
    let keys = |standing: Standing| -> Vec<String> {
        sketch.entries(standing).map(|(part, entry)| guess(part, entry)).collect()
    };
    paragraph(&mut text, 0, &format!("Sketched {} from what its programs give away.", output.display()));
    section(&mut text, "Guessed, each with what speaks for it", &keys(Standing::Guessed));
    section(&mut text, "Standing in, with nothing to speak for it", &keys(Standing::StandsIn));
    section(&mut text, "Proved once as it is", &verdict(job, proof));
    let unknown = proof.not_checked.iter().map(|row| row.what.as_str()).collect::<Vec<_>>().join(", ");
    section(&mut text, "Still unknown, so not looked at", &[format!("{unknown}.")]);
    text.push('\n');
    let schema = if with_schema { format!(", and {SCHEMA} for editors") } else { String::new() };
    paragraph(
        &mut text,
        0,
        &format!("Written: {}{schema}. Measure, put right what is guessed, and prove it.", output.display()),
    );
    text.push('\n');
    paragraph(&mut text, 0, CAUTION);
    text
}

fn guess(part: &Part, entry: &Entry) -> String {
    let number = |part: &Part| {
        let own =
            |key: &str| part.entries.iter().find(|entry| entry.key == key).map(|entry| entry.value.trim_matches('"'));
        own("number").or(own("file")).map_or(part.name.clone(), |own| format!("{} {own}", part.name))
    };
    let place = match (part.name.as_str(), part.is_entry) {
        ("", _) => String::new(),
        (_, true) => format!("{}: ", number(part)),
        (name, false) => format!("{name}."),
    };
    format!("{place}{} = {}: {}", entry.key, entry.value, entry.because)
}

/// Most findings that are told; `prove` tells them all.
const MOST: usize = 5;

fn verdict(job: &Job, proof: &Proof) -> Vec<String> {
    let word = match proof.verdict {
        Verdict::Clear => "clear",
        Verdict::Caution => "caution",
        Verdict::Stop => "stop",
    };
    let grave: Vec<&Finding> = proof.findings.iter().filter(|found| found.severity >= Severity::Warning).collect();
    let mut lines = vec![format!("{word}: what is found hangs on the guesses as much as on the programs.")];
    lines.extend(grave.iter().take(MOST).map(|found| {
        let file = found.program.and_then(|program| job.programs.get(program)).map_or("line", |run| run.file.as_str());
        let line = found.lines.map_or(String::new(), |(first, _)| format!(" ({file}:{first})"));
        format!("{} {}{line}: {}", found.severity.word(), found.rule, found.text)
    }));
    if grave.len() > MOST {
        lines.push(format!("and {} more; `dryturn prove` tells them all", grave.len() - MOST));
    }
    lines
}
