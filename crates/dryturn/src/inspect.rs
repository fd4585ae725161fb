//! `dryturn inspect`: what programs are, without a scene.

mod json;
mod text;

use std::fs::File;
use std::io::{self, Read, Seek};
use std::path::Path;

use dryturn_program::{Description, Kind, Program, Severity};
use dryturn_report::plain;

use crate::arguments::InspectArguments;
use crate::{REFUSED, print, tell, width};

/// How `-` is called.
const STANDARD_INPUT: &str = "standard input";

/// What came of one program.
enum Inspected {
    /// It was read; whether to its end.
    Told { description: Box<Description>, whole: bool },
    /// Nothing can be told of it, and why.
    Refused(String),
}

/// Describes all programs that were named. One that cannot be read costs the exit code and none of the others.
pub(crate) fn run_all(arguments: &InspectArguments) -> u8 {
    let mut code = 0;
    let mut all = Vec::new();
    for (index, path) in arguments.programs.iter().enumerate() {
        let name = name_of(path);
        let inspected = inspect(path);
        match &inspected {
            Inspected::Refused(reason) => tell(&format!("error: {}: {}", plain(&name), plain(reason))),
            Inspected::Told { description, .. } if !arguments.json => {
                let gap = if index > 0 { "\n" } else { "" };
                code = code.max(print(&format!("{gap}{}", text::told(&name, description, width().clamp(50, 120)))));
            }
            Inspected::Told { .. } => {}
        }
        if !matches!(inspected, Inspected::Told { whole: true, .. }) {
            code = REFUSED;
        }
        if arguments.json {
            all.push(json::one(&name, &inspected));
        }
    }
    if arguments.json {
        code = code.max(print(&json::document(all)));
    }
    code
}

fn inspect(path: &Path) -> Inspected {
    match opened(path).and_then(|mut file| Description::of_file(&mut file)) {
        Ok((program, description)) => match refusal(&program) {
            Some(reason) => Inspected::Refused(reason),
            None => Inspected::Told { description: Box::new(description), whole: !program.stopped() },
        },
        Err(error) => Inspected::Refused(error.to_string()),
    }
}

/// A file that can be read more than once: what comes through a pipe goes through one that has no name.
fn opened(path: &Path) -> io::Result<File> {
    if path == Path::new("-") {
        return kept(io::stdin().lock());
    }
    let mut file = File::open(path)?;
    if file.rewind().is_ok() { Ok(file) } else { kept(file) }
}

fn kept(mut input: impl Read) -> io::Result<File> {
    let mut file = tempfile::tempfile()?;
    io::copy(&mut input, &mut file)?;
    Ok(file)
}

/// Why a file is no program: the first line that could not be read tells more than that nothing was.
fn refusal(program: &Program) -> Option<String> {
    let found = program.diagnostics.iter().find(|one| one.kind == Kind::NotAProgram)?;
    let first = program.diagnostics.iter().find(|one| one.severity == Severity::Error && one.kind != found.kind);
    Some(match first {
        Some(first) => format!("{}; line {}: {}", found.message, first.line, first.message),
        None => found.message.clone(),
    })
}

fn name_of(path: &Path) -> String {
    if path == Path::new("-") { STANDARD_INPUT.to_owned() } else { path.display().to_string() }
}
