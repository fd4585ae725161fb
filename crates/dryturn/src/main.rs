//! dryturn proves out rotary router programs before a blank is committed.
//!
//! The command line is thin: [`arguments`] says what was typed, [`prove`] runs a scene and [`output`] lays out what is
//! written; [`mesh`] writes the piece as a solid; [`inspect`] describes programs alone, [`rule`] explains a rule, [`new`]
//! sketches a scene for programs, [`round`] writes the program that brings a blank to round, [`restart`] the one that takes
//! a job up, [`sheet`] the page to take to the machine; `view` opens the window. [`piece`] and [`holding`] are
//! what is shown of a scene without proving it. Exit codes are an interface: 0 nothing at or above `--fail-on`, 1 findings,
//! 2 usage or unreadable input, 130 interrupted.

#![forbid(unsafe_code)]

mod arguments;
#[cfg(feature = "render")]
mod doctor;
mod failure;
mod holding;
mod inspect;
mod memory;
mod mesh;
mod new;
mod output;
mod piece;
mod progress;
mod prove;
mod restart;
mod round;
mod rule;
mod running;
mod scenes;
mod sections;
mod sheet;
mod sink;
#[cfg(feature = "render")]
mod still;
#[cfg(feature = "view")]
mod view;

use std::io::Write;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Parser;

use arguments::{Arguments, Command, SchemaOf};

/// Exit code: usage, or input that cannot be read or output that cannot be written.
const REFUSED: u8 = 2;
/// Exit code: told to stop.
const INTERRUPTED: u8 = 130;
/// Exit code: something was found that stops.
const FINDINGS: u8 = 1;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let code = match &arguments.command {
        Command::Prove(arguments) => prove::run_all(arguments, &interrupts()),
        Command::Mesh(arguments) => mesh::run(arguments, &interrupts()),
        #[cfg(feature = "render")]
        Command::Still(arguments) => still::run(arguments, &interrupts()),
        #[cfg(feature = "view")]
        Command::View(arguments) => view::run(arguments),
        Command::Inspect(arguments) => inspect::run_all(arguments),
        Command::New(arguments) => new::run(arguments, &interrupts()),
        Command::Round(arguments) => round::run(arguments, &interrupts()),
        Command::Sheet(arguments) => sheet::run(arguments, &interrupts()),
        Command::Restart(arguments) => restart::run(arguments, &interrupts()),
        Command::Rule { name } => rule::explain(name.as_deref()),
        #[cfg(feature = "render")]
        Command::Doctor { adapter } => doctor::examine(adapter.as_deref()),
        Command::Schema { of: SchemaOf::Scene } => print(&dryturn_scene::schema()),
        Command::Schema { of: SchemaOf::Report } => print(&dryturn_report::schema()),
    };
    ExitCode::from(code)
}

/// What Ctrl-C sets from here on, instead of ending everything at once.
fn interrupts() -> Arc<AtomicBool> {
    let interrupted = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&interrupted);
    if let Err(error) = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed)) {
        tell(&format!("note: Ctrl-C will end the run at once: {error}"));
    }
    interrupted
}

/// Writes to standard output; a reader that has gone away is no error.
fn print(text: &str) -> u8 {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            tell(&format!("error: standard output cannot be written: {error}"));
            REFUSED
        }
        _ => 0,
    }
}

/// Writes a line to standard error, if anyone listens.
fn tell(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Width to fold text to where nobody says otherwise, characters.
const WIDTH: usize = 96;

/// Characters a line may have.
fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok()).unwrap_or(WIDTH)
}
