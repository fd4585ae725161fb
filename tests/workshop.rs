//! A folder of its own and the command, for one test.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

/// The files that `--out` writes where a groove is cut all around, in alphabetical order.
pub(crate) const WRITTEN: [&str; 21] = [
    "kept.npz",
    "maps/chip.npy",
    "maps/chip.png",
    "maps/cut-by-cutter.npy",
    "maps/cut-by-cutter.png",
    "maps/cut-by-program.npy",
    "maps/cut-by-program.png",
    "maps/cut-by.npy",
    "maps/cut-by.png",
    "maps/depth-of-cut.npy",
    "maps/depth-of-cut.png",
    "maps/remaining-radius.npy",
    "maps/remaining-radius.png",
    "maps/solid-length.npy",
    "maps/solid-length.png",
    "report.json",
    "report.schema.json",
    "run.png",
    "run.svg",
    "scene.resolved.toml",
    "timings.json",
];

/// A temporary folder in which commands are run.
pub(crate) struct Workshop {
    folder: TempDir,
}

impl Workshop {
    pub(crate) fn new() -> Workshop {
        Workshop { folder: tempfile::tempdir().unwrap() }
    }

    /// A workshop with these files: name, contents.
    pub(crate) fn with(files: &[(&str, &str)]) -> Workshop {
        let workshop = Workshop::new();
        for (name, text) in files {
            workshop.write(name, text);
        }
        workshop
    }

    /// A workshop with a copy of a folder's files.
    pub(crate) fn copy_of(folder: &Path) -> Workshop {
        let workshop = Workshop::new();
        for (name, bytes) in files_below(folder) {
            workshop.write(&name, bytes);
        }
        workshop
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// Every file in the workshop.
    pub(crate) fn files(&self) -> BTreeMap<String, Vec<u8>> {
        files_below(self.folder.path())
    }

    /// The command with its arguments as one text; a word in quotes may hold blanks.
    pub(crate) fn command(&self, arguments: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dryturn"));
        command.current_dir(self.folder.path()).args(words(arguments));
        for name in ["NO_COLOR", "CLICOLOR_FORCE", "COLUMNS", "DRYTURN_SHOP"] {
            command.env_remove(name);
        }
        // A layer of the software driver complains where there is no desktop.
        command.env("NODEVICE_SELECT", "1");
        command
    }

    pub(crate) fn run(&self, arguments: &str) -> Run {
        Run::of(self.command(arguments).output().unwrap())
    }

    /// Runs, and fails unless the exit code is as it should be.
    pub(crate) fn expect(&self, code: i32, arguments: &str) -> Run {
        let run = self.run(arguments);
        assert_eq!(run.code, code, "{arguments}\n{}{}", run.stdout, run.stderr);
        run
    }

    /// Runs a command that draws; `None`, with the reason told, where there is nothing to draw with.
    #[cfg(feature = "render")]
    pub(crate) fn drawn(&self, arguments: &str) -> Option<Run> {
        let run = self.run(arguments);
        if run.code == 2 && run.stderr.contains("no graphics adapter was found") {
            assert!(std::env::var_os("DRYTURN_REQUIRE_ADAPTER").is_none(), "an adapter is required: {}", run.stderr);
            skipped(run.stderr.trim());
            return None;
        }
        assert_eq!(run.code, 0, "{arguments}\n{}{}", run.stdout, run.stderr);
        Some(run)
    }

    /// The report in a folder. Whoever reads one also holds it against its schema and its own sum.
    pub(crate) fn report(&self, folder: &str) -> Value {
        let json = |name: &str| serde_json::from_str::<Value>(&self.read(&format!("{folder}/{name}"))).unwrap();
        let (report, schema) = (json("report.json"), json("report.schema.json"));
        let validator = jsonschema::validator_for(&schema).unwrap();
        let errors: Vec<String> = validator.iter_errors(&report).map(|error| error.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new());
        let volume = |name: &str| report[name].as_f64().unwrap();
        let rest = volume("blank_mm3") - volume("removed_mm3") - volume("left_mm3");
        assert!(rest.abs() < 1e-5, "blank − removed − left = {rest} mm³");
        report
    }
}

/// What came of a run.
pub(crate) struct Run {
    pub(crate) code: i32,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Run {
    pub(crate) fn of(output: Output) -> Run {
        let run = Run {
            code: output.status.code().expect("the command ends by itself"),
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
        };
        assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
        run
    }
}

fn words(arguments: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for (index, part) in arguments.split('"').enumerate() {
        // Every second part stands within quotes.
        if index % 2 == 1 {
            words.push(part);
        } else {
            words.extend(part.split_whitespace());
        }
    }
    words
}

/// The repository's root.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The folder of an example job.
pub(crate) fn scene(name: &str) -> PathBuf {
    root().join("scenes").join(name)
}

/// A folder of test data.
pub(crate) fn cases(topic: &str) -> PathBuf {
    root().join("tests/cases").join(topic)
}

/// Every file below a folder: its name with forward slashes, and what is in it.
fn files_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            files.extend(files_below(&path).into_iter().map(|(inner, bytes)| (format!("{name}/{inner}"), bytes)));
        } else {
            files.insert(name, fs::read(&path).unwrap());
        }
    }
    files
}

/// Says why a test does not run on this machine.
#[cfg(feature = "render")]
#[expect(clippy::print_stderr, reason = "a test has nothing else to say it with")]
pub(crate) fn skipped(why: &str) {
    eprintln!("skipped: {why}");
}
