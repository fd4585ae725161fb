//! A job as text, carved, and what its rays and edges are.

use dryturn_carve::{Replay, RunOptions, Solid};
use dryturn_check::Work;
use dryturn_geom::angle;
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

/// What a job leaves of its blank.
pub(crate) struct Wood<'a>(Replay<'a>);

/// A job from the text of its scene, without its format, and its programs 1.nc, 2.nc …, each with what the scene says of it.
pub(crate) fn job(scene: &str, programs: &[(&str, &str)]) -> Job {
    let folder = tempfile::tempdir().expect("a folder");
    let mut text = format!("format = 1\n{scene}\n");
    for (at, (keys, program)) in programs.iter().enumerate() {
        std::fs::write(folder.path().join(format!("{}.nc", at + 1)), program).expect("the program is written");
        text += &format!("[[program]]\nfile = \"{}.nc\"\n{keys}\n", at + 1);
    }
    let scene = Scene::parse(&text, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)));
    Job::read(scene, JobOptions::default()).unwrap_or_else(|error| panic!("{}", error.render(false)))
}

/// Carves a job and looks at what is left.
pub(crate) fn carved<T>(job: &Job, look: impl FnOnce(&Wood<'_>) -> T) -> T {
    let set_up = Work::of(&job.scene);
    let work = set_up.job(job);
    look(&Wood(Replay::new(&work, &RunOptions { threads: 1, ..RunOptions::default() }).expect("a carve")))
}

impl Wood<'_> {
    pub(crate) fn solid(&self, station: f64, degrees: f64) -> Solid {
        self.0.ray(station, angle::radians(degrees)).solid
    }

    /// Outermost solid, mm; 0 where nothing is left.
    pub(crate) fn radius(&self, station: f64, degrees: f64) -> f64 {
        self.solid(station, degrees).first().map_or(0.0, |stretch| stretch.outer)
    }

    pub(crate) fn holds(&self, station: f64, degrees: f64, radius: f64) -> bool {
        self.0.ray(station, angle::radians(degrees)).holds(radius)
    }

    /// Least and greatest radius around a station.
    pub(crate) fn round(&self, station: f64) -> [f64; 2] {
        let radii = (0..720).map(|k| self.radius(station, 0.5 * f64::from(k) + 0.1));
        radii.fold([f64::INFINITY, 0.0], |[least, most], radius| [radius.min(least), radius.max(most)])
    }

    /// Asserts that the piece is a true round of a radius at a station.
    #[track_caller]
    pub(crate) fn is_round(&self, station: f64, radius: f64) {
        let [least, most] = self.round(station);
        near(least, radius, 1e-3);
        near(most, radius, 1e-3);
    }

    /// The angle within so many degrees of another at which a groove is deepest, degrees.
    pub(crate) fn deepest(&self, station: f64, about: f64, within: f64) -> f64 {
        let (mut low, mut high) = (about - within, about + within);
        while high - low > 1e-5 {
            let (one, other) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if self.radius(station, one) < self.radius(station, other) { high = other } else { low = one }
        }
        0.5 * (low + high)
    }

    /// Area of the section at a station, mm².
    pub(crate) fn area(&self, station: f64) -> f64 {
        let count = 7200;
        let step = std::f64::consts::TAU / f64::from(count);
        let half_squares = |k: u32| self.0.ray(station, (f64::from(k) + 0.5) * step).half_squares();
        (0..count).map(half_squares).sum::<f64>() * step
    }
}

/// Where a statement that is true at one end and false at the other turns.
pub(crate) fn turn(mut yes: f64, mut no: f64, is_so: impl Fn(f64) -> bool) -> f64 {
    assert!(is_so(yes) && !is_so(no));
    while (yes - no).abs() > 1e-6 {
        let middle = 0.5 * (yes + no);
        if is_so(middle) { yes = middle } else { no = middle }
    }
    0.5 * (yes + no)
}

#[track_caller]
pub(crate) fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
}
