//! The maps of a run as the window shows them: whatever has been carved as yet, with the proof or before it.

use dryturn_carve::Band;
use dryturn_check::{Proof, Traces};
use dryturn_report::{Key, KeyScale, Kind};
use dryturn_scene::Job;

use super::maps::{BESIDE_TARGET, EARLIER_CUT, LAYERS, Layer, Names, Numbers, Of, TRACED, chosen};

/// Name, title and unit of the maps that can be shown.
pub(crate) fn named(
    job: &Job,
    proof: Option<&Proof>,
) -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    let known: Vec<&'static Layer> = match proof {
        Some(proof) => chosen(job, proof).collect(),
        None => LAYERS.iter().collect(),
    };
    known.into_iter().filter(|layer| layer.is_drawn()).map(|layer| (layer.name, layer.title, layer.unit))
}

/// The numbers of a map; not a number where it has nothing to say. Distances to the target are known after the whole run
/// alone, on the rays of its proof.
pub(crate) fn numbers(name: &str, job: &Job, proof: Option<&Proof>, band: &Band<'_>) -> Vec<f32> {
    let rays = band.rows().len() * band.grid().angles;
    let nothing = || vec![f32::NAN; rays];
    let Some(layer) = layer(name) else { return nothing() };
    let is_beside = matches!(layer.of, Of::Gap | Of::OverTarget);
    let target = proof.filter(|proof| proof.carved.grid() == band.grid()).and_then(|proof| proof.target.as_ref());
    if is_beside && target.is_none() {
        return nothing();
    }
    let none = Traces::default();
    let traces = proof.map_or(&none, |proof| &proof.told.traces);
    let told = layer.of.numbers(job, target, traces, band);
    match told {
        Numbers::Measures(values) => values,
        Numbers::Lines(lines) => lines.into_iter().map(|line| if line < 1 { f32::NAN } else { line as f32 }).collect(),
        Numbers::Codes(codes) => {
            codes.into_iter().map(|code| if code < 0 { f32::NAN } else { f32::from(code) }).collect()
        }
    }
}

/// What the colours of a map stand for.
pub(crate) fn key(name: &str, job: &Job, numbers: &[f32]) -> Key {
    // Where nothing is left there is nothing to measure.
    let is_measure = layer(name).is_some_and(|layer| matches!(layer.of, Of::Measure(_) | Of::Sprung));
    let told = numbers.iter().map(|value| f64::from(*value));
    let told = told.filter(|value| value.is_finite() && !(is_measure && *value <= 0.0));
    let (least, greatest) = told.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), it| (a.min(it), b.max(it)));
    let (least, greatest) = if least <= greatest { (least, greatest) } else { (0.0, 0.0) };
    let Some(layer) = layer(name) else {
        return Key { title: name.to_owned(), scale: KeyScale::Rising { least, greatest } };
    };
    let names = Names::of(job, None);
    let named = |names: &[(i16, String)]| {
        let is_used = |code: i16| numbers.iter().any(|value| *value == f32::from(code));
        let used = names.iter().filter(|(code, _)| is_used(*code));
        KeyScale::Named(used.map(|(code, name)| (usize::try_from(*code).unwrap_or(0), name.clone())).collect())
    };
    let scale = match layer.of.kind(&names) {
        Kind::Deviations { .. } => KeyScale::Signed { limit: greatest.max(-least).max(0.0) },
        Kind::Categories(names) => named(names),
        Kind::Measures | Kind::Lines => KeyScale::Rising { least, greatest },
    };
    let unit = if layer.unit.is_empty() { String::new() } else { format!(", {}", layer.unit) };
    Key { title: format!("{}{unit}", layer.title), scale }
}

fn layer(name: &str) -> Option<&'static Layer> {
    LAYERS.iter().chain(&EARLIER_CUT).chain(&BESIDE_TARGET).chain(&TRACED).find(|layer| layer.name == name)
}
