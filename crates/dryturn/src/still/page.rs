//! The page on which a piece is turned by hand: one file that asks for nothing else.

mod packed;

use askama::Template;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use dryturn_geom::angle;
use dryturn_render::{Finish, View};
use dryturn_report::plain;
use dryturn_surface::Mesh;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use crate::failure::Failure;
use crate::running::Running;
use packed::Packed;

/// What is told and shown.
pub(super) struct Told<'a> {
    pub(super) title: &'a str,
    /// Length and greatest diameter.
    pub(super) size: &'a str,
    /// What the blank is made of, as the scene names it.
    pub(super) material: Option<&'a str>,
    pub(super) finish: Finish,
    /// From where the piece is seen at first.
    pub(super) view: View,
    /// A picture (PNG) for browsers that cannot show the piece itself.
    pub(super) picture: Option<Vec<u8>>,
}

#[derive(Template)]
#[template(path = "piece.html")]
struct Page<'a> {
    title: String,
    size: &'a str,
    material: Option<String>,
    alt: String,
    picture: Option<String>,
    about: String,
    mesh: String,
    style: &'a str,
    style_hash: String,
    script: &'a str,
    script_hash: String,
}

const STYLE: &str = include_str!("../../templates/piece.css");
const SCRIPT: &str = include_str!("../../templates/piece.js");

/// How far the page's mesh may stray from the piece to begin with, mm.
const WITHIN: f64 = 0.02;
/// Most triangles of a page: more make a file that is slow to send.
const MOST: usize = 400_000;
/// How often the mesh may stray twice as far.
const ROUNDS: usize = 4;

/// The mesh with as few triangles as a page needs.
pub(super) fn thinned(mesh: &Mesh, running: &Running<'_>) -> Result<Mesh, Failure> {
    running.stage("thinning the mesh", |options| {
        let mut thinned = mesh.thinned(WITHIN, options)?;
        for round in 1..=ROUNDS {
            if thinned.triangles.len() <= MOST {
                break;
            }
            thinned = thinned.thinned(WITHIN * f64::from(1 << round), options)?;
        }
        Ok::<_, Failure>(thinned)
    })
}

/// The page of a mesh.
///
/// # Errors
/// Where a template cannot be filled or a mesh not be packed; neither has been seen.
pub(super) fn page(mesh: &Mesh, told: &Told<'_>) -> Result<String, Failure> {
    let packed = Packed::of(mesh).map_err(|error| Failure::Other(format!("the mesh cannot be packed: {error}")))?;
    let (title, material) = (plain(told.title), told.material.map(plain));
    let made_of = material.as_ref().map_or(String::new(), |material| format!(", {material}"));
    let page = Page {
        alt: format!("{title}: a turned piece, {}{made_of}", told.size),
        title,
        size: told.size,
        material,
        picture: told.picture.as_ref().map(|picture| BASE64_STANDARD.encode(picture)),
        about: about(&packed, told).to_string(),
        mesh: BASE64_STANDARD.encode(&packed.bytes),
        style: STYLE,
        style_hash: hash(STYLE),
        script: SCRIPT,
        script_hash: hash(SCRIPT),
    };
    page.render().map_err(|error| Failure::Other(format!("the page cannot be made: {error}")))
}

/// How a security policy names a text that may stand in the page.
fn hash(text: &str) -> String {
    format!("sha256-{}", BASE64_STANDARD.encode(Sha256::digest(text.as_bytes())))
}

/// The numbers that the page's script needs beside the mesh.
fn about(packed: &Packed, told: &Told<'_>) -> Value {
    let Packed { vertices, triangles, least, extent, .. } = packed;
    let mut about = Map::new();
    let mut put = |name: &str, value: Value| about.insert(name.to_owned(), value);
    put("vertices", json!(vertices));
    put("triangles", json!(triangles));
    put("least", json!(least));
    put("extent", json!(extent));
    put("turn", json!(angle::radians(told.view.turn)));
    put("tilt", json!(angle::radians(told.view.tilt)));
    put("standing", json!(told.view.standing));
    put("finish", finish(&told.finish));
    Value::Object(about)
}

/// Where the pith stands beside the axis, mm: blanks are sawn beside it.
const PITH: [f64; 2] = [-38.0, 57.0];

fn finish(finish: &Finish) -> Value {
    match finish {
        Finish::Wood(wood) => json!({
            "wood": true,
            "early": linear(wood.early),
            "late": linear(wood.late),
            "pore": linear(wood.pore),
            "ring": wood.ring,
            "lateShare": wood.late_share,
            "gradual": wood.gradual,
            "poreWidth": wood.pore_width,
            "poreLength": wood.pore_length,
            "pores": wood.pores,
            "ringPorous": wood.ring_porous,
            "streaks": wood.streaks,
            "roughness": wood.roughness,
            "metallic": 0,
            "pith": PITH,
        }),
        Finish::Plain { color, roughness, metallic } => {
            json!({ "wood": false, "early": linear(*color), "roughness": roughness, "metallic": metallic })
        }
    }
}

/// sRGB as shares of light (IEC 61966-2-1), to four decimals: more is not seen.
fn linear(color: [u8; 3]) -> [f64; 3] {
    color.map(|part| {
        let part = f64::from(part) / 255.0;
        let light = if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) };
        (light * 1e4).round() / 1e4
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(title: &str) -> Told<'_> {
        let (finish, view) = (Finish::of("hard maple", true), View::default());
        Told { title, size: "150 mm × ⌀ 40 mm", material: Some("hard maple"), finish, view, picture: None }
    }

    #[test]
    fn what_is_written_in_a_scene_stays_text() {
        let title = "<script>alert(1)</script> \"Bed & post\"\u{202e}";
        let page = page(&Mesh::turned(&[[0.0, 5.0], [9.0, 5.0]], 0.1), &told(title)).ok().unwrap();
        assert!(
            !page.contains("<script>alert") && !page.contains('\u{202e}') && page.contains("Bed &#38; post"),
            "{page}"
        );
    }

    #[test]
    fn the_policy_names_the_only_style_and_the_only_script() {
        let page = page(&Mesh::turned(&[[0.0, 5.0], [9.0, 5.0]], 0.1), &told("A peg")).ok().unwrap();
        assert!(page.contains("default-src 'none'"));
        for text in [STYLE, SCRIPT] {
            assert!(page.contains(&hash(text)) && page.contains(&format!(">{text}</")));
        }
        // Nothing is asked for from anywhere.
        for word in ["http:", "https:", "//cdn", "@import", "url("] {
            assert!(!page.contains(word), "{word}");
        }
    }
}
