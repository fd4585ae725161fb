//! A corpus of small programs, one fact a file, under `tests/cases/reader` of the repository.
//!
//! Beside each `NAME.ngc` lies `NAME.txt`: its motions, events and diagnostics as written by [`shown::program`].
//! `UPDATE_CASES=1 cargo test -p dryturn-program --test reader` writes them anew; look at each difference.
//! Lines that start with `;!` say what the set-up is, see [`setup::of`].

#![allow(clippy::unwrap_used)]

mod setup;
mod shown;

use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use dryturn_program::{read, read_file};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cases/reader")
}

/// All programs of the corpus, by path.
fn programs() -> Vec<PathBuf> {
    let mut found = Vec::new();
    for topic in fs::read_dir(root()).unwrap() {
        let files = fs::read_dir(topic.unwrap().path()).unwrap();
        found.extend(files.map(|file| file.unwrap().path()).filter(|path| path.extension() == Some("ngc".as_ref())));
    }
    found.sort();
    found
}

#[test]
fn every_program_reads_as_it_is_told() {
    let update = std::env::var_os("UPDATE_CASES").is_some();
    let programs = programs();
    assert!(programs.len() > 10, "the corpus is not found");
    let mut wrong = Vec::new();
    for path in programs {
        let source = fs::read(&path).unwrap();
        let program = read(&source, &setup::of(&source));
        let found = shown::program(&program, &source);
        let expected = path.with_extension("txt");
        if update {
            fs::write(&expected, &found).unwrap();
        } else if fs::read_to_string(&expected).unwrap_or_default() != found {
            wrong.push(format!("{}:\n{found}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{} programs read differently:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_file_that_passes_by_reads_like_its_text() {
    for path in programs() {
        let source = fs::read(&path).unwrap();
        let setup = setup::of(&source);
        let whole = read(&source, &setup);
        let passing = read_file(&mut Cursor::new(&source), &setup).unwrap();
        // As text, for a rapid's feed is not a number.
        assert_eq!(format!("{passing:?}"), format!("{whole:?}"), "{}", path.display());
    }
}
