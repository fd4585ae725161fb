//! What a run is told by: its course in slices.

use crate::common::{assert_near, job, run};
use dryturn_check::{Effort, Telling, Times, prove_in_slices};
use dryturn_scene::Job;

const SCENE: &str = "blank = { diameter = 40, length = 60 }
    grid = { pitch = 2 }
    cutter = [{ number = 1, diameter = 6, stickout = 30, holder = [[20, 20]] }]
    chuck = { hold = 20, body = { diameter = 60, length = 40 }, jaws = { count = 4, width = 14, length = 10, height = 10 } }
    [machine]
    start = { x = 0, y = 0, z = 50, a = 0 }
    change = 10";

/// Two moves of ten seconds with ten seconds of standing between.
fn two_moves() -> Job {
    job(SCENE, &["M3 S9000\nG1 X10 F60\nG4 P10\nG1 X20 F60\n"])
}

fn effort(block: u32, share: (f64, f64), volume_mm3: f64, radius: f64) -> Effort {
    let power = Some([volume_mm3, 2.0 * volume_mm3]);
    Effort { block, last: block, share, volume_mm3, radius_mm: Some(radius), power, ..Effort::default() }
}

#[test]
fn wood_falls_into_the_slices_in_which_it_is_cut() {
    let job = two_moves();
    let times = Times::of(&job);
    let mut telling = Telling::new(&times, 6);
    // The first move in two strokes, of which the second lies in both of its slices; the other move in one.
    telling.take(&times, &effort(0, (0.0, 0.4), 8.0, 20.0));
    telling.take(&times, &effort(0, (0.4, 1.0), 12.0, 10.0));
    telling.take(&times, &effort(1, (0.0, 1.0), 40.0, 5.0));
    let told = telling.finish(&times, &[Some(3.0), None]);
    let series = told.series;
    assert_near(series.step_s, 5.0, 1e-6);
    let moments = &series.moments;
    assert_eq!(moments.iter().map(|moment| moment.block).collect::<Vec<_>>(), [0, 0, 1, 1, 1, 1]);
    for (moment, volume) in moments.iter().zip([10.0, 10.0, 0.0, 0.0, 20.0, 20.0]) {
        assert_near(moment.removal_mm3_s, volume / 5.0, 1e-6);
    }
    assert_eq!(series.starts_s, [0.0]);
    let whole: f64 = moments.iter().map(|moment| moment.removal_mm3_s * series.step_s).sum();
    assert_near(whole, 60.0, 1e-6);
    // By volume: 8 at 20 and 2 at 10.
    assert_near(moments[0].radius_mm.expect("wood is cut"), 18.0, 1e-6);
    assert_near(moments[1].radius_mm.expect("wood is cut"), 10.0, 1e-6);
    assert_eq!(moments[2].radius_mm, None);
    // The greatest of the strokes in it; nothing while it stands; what nobody told is not known.
    assert_eq!(moments[0].power, Some([12.0, 24.0]));
    assert_eq!(moments[3].power, Some([0.0, 0.0]));
    assert_eq!((moments[0].torque, moments[3].torque), (None, None));
    assert_eq!(moments.iter().map(|moment| moment.clearance_mm).collect::<Vec<_>>()[..3], [Some(3.0), None, None]);
    assert_eq!(told.loads.power.map(|peak| (peak.block, peak.range)), Some((1, [40.0, 80.0])));
}

#[test]
fn a_stroke_that_takes_no_time_and_a_job_without_any_are_no_harm() {
    let job = job(SCENE, &["M3 S9000\nG1 X10\nG1 X20 F60\n"]);
    let times = Times::of(&job);
    let mut telling = Telling::new(&times, 2);
    telling.take(&times, &effort(0, (0.0, 1.0), 10.0, 20.0));
    telling.take(&times, &effort(9, (0.0, 1.0), 10.0, 20.0));
    let series = telling.finish(&times, &[]).series;
    assert_near(series.moments[0].removal_mm3_s, 10.0 / series.step_s, 1e-6);
    let nothing = crate::common::job(SCENE, &["M3 S9000\n"]);
    let times = Times::of(&nothing);
    let mut telling = Telling::new(&times, 2);
    telling.take(&times, &effort(0, (0.0, 1.0), 10.0, 20.0));
    assert!(telling.finish(&times, &[]).series.moments.is_empty());
}

#[test]
fn a_slice_has_the_least_distance_of_any_two_bodies_in_it() {
    // Down over the jaws, whose outer face lies at 20 + 10: the tip comes to 35, 40 mm in 40 s, and goes up again.
    let program = "M3 S9000\nG1 X-5 F6000\nG1 Z35 F22.5\nG1 Z50 F22.5\n";
    let proof = prove_in_slices(&job(SCENE, &[program]), &Default::default(), 80).expect("the run ends");
    let series = &proof.told.series;
    let least = |moment: &dryturn_check::Moment| moment.clearance_mm.expect("bodies are described");
    let lowest = series.moments.iter().map(least).fold(f64::INFINITY, f64::min);
    assert_near(lowest, 5.0, 0.11);
    // Halfway down the tip is over the jaws by half of what it comes down more.
    assert_near(least(&series.moments[20]), 5.0 + 7.5, 0.5);
    assert_near(least(&series.moments[60]), 5.0 + 7.5, 0.5);
    let alone = run(&job(
        "blank = { diameter = 40, length = 60 }\ngrid = { pitch = 2 }\ncutter = [{ diameter = 6 }]",
        &["G0 X0 Y0 Z50 A0\nX30\n"],
    ));
    assert!(alone.told.series.moments.iter().all(|moment| moment.clearance_mm.is_none()));
}

#[test]
fn a_finding_stands_at_the_time_of_its_worst_place() {
    // The cutter runs into the jaws toward the end of the third move, and out of them in the fourth.
    let proof = run(&job(SCENE, &["M3 S9000\nG0 X30\nG1 Z12 F60\nG1 X-8 F60\nG1 X30 F60\nG0 Z50\n"]));
    let hit = proof.findings.iter().position(|found| found.rule == "cutter-hits").expect("it hits");
    let at = proof.told.found_s[hit].expect("it has a line");
    let lines = proof.findings[hit].lines.expect("it has lines");
    assert_eq!(lines.0, 4);
    // Down 38 mm and along 38 mm in as many seconds; its edge is at the jaws after 27 mm.
    assert!((65.0..=77.0).contains(&at), "{at}");
    let series = &proof.told.series;
    let near = &series.moments[((at / series.step_s) as usize).min(series.moments.len() - 1)];
    assert_eq!(near.clearance_mm, Some(0.0));
}
