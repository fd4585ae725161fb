//! The maps of a run as the window shows them: whatever has been carved as yet, with the proof or before it.

use dryturn_carve::{Band, Dexel};
use dryturn_check::target::Surface;
use dryturn_check::{Proof, Traces};
use dryturn_report::{Key, KeyScale, Kind};
use dryturn_scene::Job;
use dryturn_view::{MapName, MapOf};

use super::maps::{BESIDE_TARGET, EARLIER_CUT, LAYERS, Layer, Names, Numbers, Of, Rays, TRACED, chosen, per_ray};

/// The maps that can be shown.
pub(crate) fn named(job: &Job, proof: Option<&Proof>) -> impl Iterator<Item = MapName> {
    let known: Vec<&'static Layer> = match proof {
        Some(proof) => chosen(job, proof).collect(),
        None => LAYERS.iter().chain(BESIDE_TARGET.iter().filter(|_| job.target.is_some())).collect(),
    };
    known.into_iter().filter(|layer| layer.is_drawn()).map(|layer| MapName {
        name: layer.name,
        title: layer.title,
        unit: layer.unit,
        is_beside_target: layer.is_beside_target(),
    })
}

/// The numbers of a map; not a number where it has nothing to say.
pub(crate) fn numbers(of: &MapOf<'_>, band: &Band<'_>) -> Vec<f32> {
    let rays = Rays { band, every: of.every };
    let Some(layer) = layer(of.name) else { return per_ray(rays, |_| |_: &Dexel<'_>| f32::NAN) };
    if layer.is_beside_target() && !of.is_proved {
        return beside_target(of, rays);
    }
    let none = Traces::default();
    let traces = of.proof.map_or(&none, |proof| &proof.told.traces);
    let target = of.proof.and_then(|proof| proof.target.as_ref());
    let told = layer.of.numbers(of.job, target, traces, rays);
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

/// The distance of the outermost wood from the target, at any moment of the run; what lies deeper is left to the proof.
fn beside_target(of: &MapOf<'_>, rays: Rays<'_>) -> Vec<f32> {
    let Some((surface, [from, to])) = of.target.zip(compared(of.job)) else {
        return per_ray(rays, |_| |_: &Dexel<'_>| f32::NAN);
    };
    let grid = rays.band.grid();
    per_ray(rays, |row| {
        let station = grid.station(row);
        let is_compared = (from..=to).contains(&station);
        let mut column = 0;
        move |dexel: &Dexel<'_>| {
            let theta = grid.theta(column);
            column += rays.every;
            if is_compared { gap(surface, station, theta, f64::from(dexel.radius())) as f32 } else { f32::NAN }
        }
    })
}

/// The first and the last station that is compared, mm.
fn compared(job: &Job) -> Option<[f64; 2]> {
    Some(job.scene.target.as_ref()?.compared(job.target.as_ref()?))
}

/// The signed shortest distance of the end of a ray's wood, mm. Where no wood is left, none stands over the target.
fn gap(surface: &Surface, station: f64, theta: f64, radius: f64) -> f64 {
    let gap = surface.gap(station, theta, radius);
    if radius > 0.0 { gap } else { gap.min(0.0) }
}

fn layer(name: &str) -> Option<&'static Layer> {
    LAYERS.iter().chain(&EARLIER_CUT).chain(&BESIDE_TARGET).chain(&TRACED).find(|layer| layer.name == name)
}
