//! Whole scene files: what is read, what is assumed, what is refused and how it is said.

use std::path::Path;

use dryturn_geom::{Shape, Side};
use dryturn_scene::{BlankShape, LoadOptions, Scene, SceneError, Shank, ZeroHeight};

const LEAST: &str = "format = 1
blank = { diameter = 64, length = 200 }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 6 }]
";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [
        ("part.nc", "G0 Z40\nG1 X10 Z30 F300\nM30\n"),
        ("rough.nc", "G0 X0 Z40 A0\nG1 X10 Z30 A90 F300\nM30\n"),
        ("keyhole.csv", "height, radius\n0, 4\n3, 4\n3, 2\n10, 2\n"),
        ("wanted.stl", ""),
    ] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn parse(text: &str) -> Result<Scene, SceneError> {
    let folder = folder();
    Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default())
}

fn refusal(text: &str) -> String {
    parse(text).expect_err(text).render(false)
}

fn with(line: &str) -> String {
    format!("{LEAST}{line}\n")
}

#[test]
fn show() {
    for text in [
        with("[machine]\nwrap_diametre = 5"),
        with("pitch = 3"),
        LEAST.replace("64", "-64"),
        LEAST.replace("length = 200", ""),
        LEAST.replace("64", "\"2 1/0 in\""),
        with("[machine]\nrotary = \"Y\""),
        with("[tailstock]\ndimple = 2"),
        with("[[cutter]]\ndiameter = 3"),
        "format = 1\n[blank\nx".to_owned(),
        "x".to_owned(),
    ] {
        match parse(&text) {
            Ok(_) => println!("OK?! {text}"),
            Err(e) => println!("{}", e.render(false)),
        }
    }
    match parse(include_str!("data/whole.toml")) {
        Ok(s) => println!("{s:#?}"),
        Err(e) => println!("{}", e.render(false)),
    }
}
