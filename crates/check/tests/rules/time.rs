//! How long programs take.

use crate::common::{assert_near, job, job_of, run};
use dryturn_check::{JobTimes, ProgramTimes, Times};
use dryturn_scene::Job;

const ACCEL: &str = "accel = { x = 400, y = 400, z = 200, a = 1500 }";

fn times(machine: &str, program: &str) -> ProgramTimes {
    run(&job_on(machine, &[program])).programs[0].times
}

fn job_on(machine: &str, programs: &[&str]) -> Job {
    let scene = format!(
        "blank = {{ diameter = 40, length = 60 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ number = 1, diameter = 6 }}, {{ number = 2, diameter = 4 }}]
        [machine]
        rapid = {{ x = 6000, y = 6000, z = 3000, a = 3600 }}
        start = {{ x = 0, y = 0, z = 50, a = 0 }}
        {machine}"
    );
    job(&scene, programs)
}

/// What the programs of a job come to.
fn whole(job: &Job) -> JobTimes {
    let times = Times::of(job);
    let programs: Vec<_> = (0..job.programs.len()).map(|program| times.program(program, |_| 0.0)).collect();
    times.whole(&programs)
}

#[test]
fn without_accelerations_a_block_takes_its_way_over_its_speed() {
    // Rapid: X 30 at 6000, Z 10 at 3000: the slower of 0.3 and 0.2 s. Feed: 20 at 600, then 360° with 20 mm at F600,
    // where 360° at 3600 °/min take 6 s.
    let found = times("", "M3 S9000\nG0 X30 Z40\nG1 Z20 F600\nX50 A360\nG4 P1.5\nM5\n");
    assert_near(found.rapid_s, 0.3, 1e-6);
    assert_near(found.cut_s, 2.0 + 6.0, 1e-6);
    assert_near(found.dwell_s, 1.5, 1e-12);
    assert_eq!((found.changes, found.change_s, found.untold), (0, Some(0.0), 0));
}

#[test]
fn what_takes_no_wood_is_air() {
    let found = times("", "M3 S9000\nG1 X30 Z18 F600\nZ50\nX10\nX30\n");
    // The first is slanted, √(30² + 32²) long, and meets the wood at a height of 20, after 30 of its 32 down.
    let slanted = 30.0f64.hypot(32.0);
    assert_near(found.air_s, 7.2 + 0.1 * slanted * 30.0 / 32.0, 1e-3);
}

/// Thousands of turns in one block through the air: their shares add up to all of it.
#[test]
fn no_more_is_air_than_is_fed() {
    for program in
        ["G1 X10 A36000 F6000", "G1 A300000 F7200", "G1 X10 A98765 F6000\nX20 A0\nX30 A33333", "G1 X59 A3600 F600"]
    {
        let found = times("", &format!("M3 S9000\n{program}\n"));
        assert!(found.cut_s > 0.0 && found.air_s <= found.cut_s, "{program}: {found:?}");
        assert_near(found.air_s / found.cut_s, 1.0, 1e-7);
    }
}

/// In from beyond the free end, off it, and straight down.
#[test]
fn air_within_a_stroke_is_air() {
    let air = |program: &str| times("", &format!("M3 S9000\n{program}")).air_s;
    // The free end stands at 60. On the way in the rim of a cutter of 6 is 3 ahead; on the way out it has taken all that the
    // flanks meet when the middle is there.
    assert_near(air("G0 X80 Z18\nG1 X40 F600\n"), 0.1 * (80.0 - 63.0), 1e-3);
    assert_near(air("G0 X40 Z40\nZ18\nG1 X80 F600\n"), 0.1 * (80.0 - 60.0), 1e-3);
    // From 40 down to 18 the wood begins at 20; around it all of the turn is in wood.
    assert_near(air("G0 X50 Z40\nG1 Z18 F600\nA360 F3600\n"), 0.1 * 20.0, 1e-3);
}

#[test]
fn a_lone_move_speeds_up_and_slows_down() {
    // X 30 at 100 mm/s and 400 mm/s²: 100²/400 = 25 mm of ramps, 5 mm between them.
    assert_near(times(ACCEL, "G0 X30\n").rapid_s, 2.0 * 0.25 + 0.05, 1e-6);
    // 10 mm: the speed is not reached, 2·√(10/400).
    assert_near(times(ACCEL, "G0 X10\n").rapid_s, 2.0 * (10.0f64 / 400.0).sqrt(), 1e-6);
    // A by itself: 720° at 60 °/s and 1500 °/s².
    assert_near(times(ACCEL, "G0 A720\n").rapid_s, 12.0 + 60.0 / 1500.0, 1e-6);
}

/// Each axis by its own rapid and acceleration, and the one that comes last counts.
#[test]
fn a_rapid_takes_the_longest_of_the_times_of_its_axes() {
    let trapezoid = |way: f64, rapid: f64, acceleration: f64| way / rapid + rapid / acceleration;
    // X 30 and Z 10 down: X comes last. X 30 and Z 45 down: Z does.
    assert_near(times(ACCEL, "G0 X30 Z40\n").rapid_s, trapezoid(30.0, 100.0, 400.0), 1e-6);
    assert_near(times(ACCEL, "G0 X30 Z5\n").rapid_s, trapezoid(45.0, 50.0, 200.0), 1e-6);
    // X speeds up slowly and is still there first: 2·√(100/50) s beside a turn of 6 s and its ramps.
    let slow = ACCEL.replace("x = 400", "x = 50");
    assert_near(times(&slow, "G0 X100 A360\n").rapid_s, trapezoid(360.0, 60.0, 1500.0), 1e-6);
    assert_near(times(&slow, "G0 X100 A36\n").rapid_s, 2.0 * 2.0f64.sqrt(), 1e-6);
    // At feed they go together, and the slow one holds the other back.
    let fed = times(&slow, "M3 S9000\nG93 G1 X100 A360 F10\n").cut_s;
    assert_near(fed, 6.0 + 100.0 / 6.0 / 50.0, 1e-6);
    // From one rapid on into the next without a stop, as one way does not take longer in two parts.
    assert_near(times(ACCEL, "G0 X30\nX60\n").rapid_s, trapezoid(60.0, 100.0, 400.0), 1e-6);
}

#[test]
fn a_way_cut_into_blocks_takes_as_long_as_in_one() {
    let one = times(ACCEL, "M3 S9000\nG1 X50 F3000\n").cut_s;
    let lines: String = (1..=100).map(|k| format!("X{}\n", f64::from(k) * 0.5)).collect();
    let many = times(ACCEL, &format!("M3 S9000\nG1 F3000\n{lines}")).cut_s;
    assert_near(one, 50.0 / 50.0 + 50.0 / 400.0, 1e-6);
    assert_near(many, one, 1e-5);
}

/// A way aslant, whose thousand lines are rounded to the last digit, and one along two axes with a square corner between.
#[test]
fn a_thousand_lines_of_a_way_take_as_long_as_one() {
    let lines = |from: [f64; 2], to: [f64; 2], count: u32| {
        let at = |axis: usize, k: u32| from[axis] + (to[axis] - from[axis]) * f64::from(k) / f64::from(count);
        (1..=count).map(|k| format!("X{:.3} Y{:.3}\n", at(0, k), at(1, k))).collect::<String>()
    };
    let fed = |lines: &str| times(ACCEL, &format!("M3 S9000\nG1 F3000\n{lines}")).cut_s;
    let aslant = |count: u32| fed(&lines([0.0, 0.0], [53.3, 17.7], count));
    assert_near(aslant(1000) / aslant(1), 1.0, 2e-4);
    let cornered =
        |count: u32| fed(&(lines([0.0, 0.0], [25.0, 0.0], count) + &lines([25.0, 0.0], [25.0, 25.0], count)));
    assert_near(cornered(500), cornered(1), 1e-3);
}

/// A quarter of a circle between two lines that touch it takes the speed √(a·R) (any handbook of mechanics), in lines of a degree or
/// of a quarter of one as in one arc.
#[test]
fn a_bend_in_short_lines_takes_as_long_as_its_arc() {
    let alike = "accel = { x = 400, y = 400, z = 400, a = 1500 }";
    for (plane, [across, second], feed) in [("G17", ["Y", "J"], 6000), ("G18", ["Z", "K"], 3000)] {
        // In X and Z, what goes up turns clockwise seen from where the standard looks.
        let turns = if plane == "G17" { "G3" } else { "G2" };
        let start = if plane == "G17" { 0.0 } else { 50.0 };
        for radius in [0.5, 2.0, 10.0, 25.0] {
            let arc = format!("{plane} {turns} X{} {across}{} I0 {second}{radius}\nG1", 20.0 + radius, start + radius);
            let lines = |degrees: f64| {
                let point = |k: u32| {
                    let (sine, cosine) = (degrees * f64::from(k)).to_radians().sin_cos();
                    format!("X{:.4} {across}{:.4}\n", 20.0 + radius * sine, start + radius * (1.0 - cosine))
                };
                (1..=(90.0 / degrees) as u32).map(point).collect::<String>()
            };
            let fed = |bend: &str| {
                let end = start + radius + 20.0;
                times(alike, &format!("M3 S9000\nG1 X20 F{feed}\n{bend} {across}{end}\n")).cut_s
            };
            let exact = fed(&arc);
            for degrees in [1.0, 0.25] {
                assert_near(fed(&lines(degrees)) / exact, 1.0, 0.03);
            }
        }
    }
}

#[test]
fn it_stands_still_at_a_dwell_and_at_a_turn_back() {
    let one = |way: f64| way / 50.0 + 50.0 / 400.0;
    assert_near(times(ACCEL, "M3 S9000\nG1 X20 F3000\nG4 P1\nX40\n").cut_s, 2.0 * one(20.0), 1e-6);
    assert_near(times(ACCEL, "M3 S9000\nG1 X20 F3000\nX0\n").cut_s, 2.0 * one(20.0), 1e-6);
}

#[test]
fn a_corner_is_taken_at_the_speed_of_its_rounding() {
    // A right angle of X and Y at 400 mm/s²: R = 0.01·s/(1 − s), s = sin 45°; v = √(400·R).
    let s = 0.5f64.sqrt();
    let corner = (400.0 * 0.01 * s / (1.0 - s)).sqrt();
    let leg = |way: f64| {
        let ramps = (2.0 * 50.0 * 50.0 - corner * corner) / 800.0;
        (100.0 - corner) / 400.0 + (way - ramps) / 50.0
    };
    assert_near(times(ACCEL, "M3 S9000\nG1 X20 F3000\nY20\n").cut_s, 2.0 * leg(20.0), 1e-6);
}

#[test]
fn a_wrapped_word_goes_no_faster_than_the_blank_turns() {
    // Half a turn of a blank of 40 is 62.83 mm; at 3600 °/min it takes 3 s, whatever F asks for.
    let machine = "rotary = \"Y\"\nwrap_diameter = 40";
    let found = times(machine, "M3 S9000\nG1 Y62.831853 F60000\n");
    assert_near(found.cut_s, 3.0, 1e-5);
}

#[test]
fn cutter_changes_take_what_the_scene_says() {
    let program = "M3 S9000\nT2 M6\nM3\nG1 X20 F600\n";
    let untold = times("", program);
    assert_eq!((untold.changes, untold.change_s), (1, None));
    assert_eq!(times("change = 45", program).change_s, Some(45.0));
}

#[test]
fn a_block_without_a_feed_is_untold() {
    let found = times("", "M3 S9000\nG1 X20\n");
    assert_eq!((found.untold, found.cut_s), (1, 0.0));
}

#[test]
fn each_block_has_its_time_and_its_place_on_the_clock() {
    let program = "M3 S9000\nG1 X30 F3000\nG4 P1.5\nX60\nG4 P1\nG0 Z40\n";
    let job = job_on(ACCEL, &[program, program]);
    let times = Times::of(&job);
    // 30 mm at 50 mm/s and 400 mm/s².
    let one = 30.0 / 50.0 + 50.0 / 400.0;
    assert_near(times.asked(0).expect("a feed is in force"), 30.0 / 50.0, 1e-6);
    assert_near(times.seconds(0), one, 1e-6);
    assert_near(times.start(0), 0.0, 1e-12);
    // Block 1 begins after the pause.
    assert_near(times.start(1), one + 1.5, 1e-6);
    assert_near(times.start(2), 2.0 * one + 2.5, 1e-6);
    let first: f64 = (0..3).map(|block| times.seconds(block)).sum::<f64>() + 2.5;
    assert_near(times.start(3), first, 1e-6);
    assert_near(times.end(), times.start(5) + times.seconds(5), 1e-6);
    assert_eq!([0.0, one + 1.0, one + 1.6, first + 1e-3, 1e9].map(|moment| times.block_at(moment)), [0, 1, 1, 3, 5]);
    assert_eq!((times.asked(6), times.seconds(6)), (None, 0.0));
}

/// A program begins when the cutter is changed for it, not when the first block after that does.
#[test]
fn a_change_of_the_cutter_belongs_to_the_program_that_wants_it() {
    let scene = "blank = { diameter = 50, length = 100 }
        cutter = [{ number = 1, diameter = 6 }, { number = 2, diameter = 4 }]
        machine = { change = 60, start = { x = 10, y = 0, z = 40, a = 0 } }
        [[program]]
        file = \"1.nc\"
        cutter = 1
        [[program]]
        file = \"2.nc\"
        cutter = 2";
    let program = "M3 S9000\nG1 X70 F1200\nX10\nG4 P5\nM30\n";
    let job = job_of(&format!("format = 1\n{scene}"), &[program, program]);
    let times = Times::of(&job);
    // Twice 60 mm at 20 mm/s, and 5 s at the end that are still the first program's.
    assert_eq!(times.starts().len(), 2);
    assert_near(times.starts()[1], 6.0 + 5.0, 1e-6);
    assert_near(times.start(2), 6.0 + 5.0 + 60.0, 1e-6);
    assert_eq!([4.5, 8.0, 12.0, 70.0, 72.0].map(|moment| times.block_at(moment)), [1, 2, 2, 2, 2]);
    let series = run(&job).told.series;
    let of =
        |seconds: f64| series.moments.iter().rev().find(|it| it.time_s <= seconds).map(|it| job.program_of(it.block));
    assert_eq!((of(1.0), of(40.0), of(72.0)), (Some(0), Some(1), Some(1)));
}

#[test]
fn the_clock_holds_over_many_blocks() {
    let lines: String = (1..=1000).map(|k| format!("X{} F{}\n", f64::from(k % 2) * 10.0, 500 + k)).collect();
    let job = job_on(ACCEL, &[&format!("M3 S9000\nG1\n{lines}")]);
    let times = Times::of(&job);
    let mut clock = 0.0;
    for block in 0..1000 {
        assert_near(times.start(block), clock, 1e-9);
        clock += times.seconds(block);
    }
    assert_near(times.end(), clock, 1e-9);
}

#[test]
fn a_cutter_has_its_own_times() {
    let proof = run(&job_on("", &["M3 S9000\nG1 X30 Z18 F600\nT2 M6\nM3\nG0 Z40\nG1 Z30 F300\n"]));
    let [first, second] = &proof.cutters[..] else { panic!("{:?}", proof.cutters) };
    assert_eq!((first.cutter, second.cutter), (1, 2));
    assert_near(first.cut_s, (30.0f64 * 30.0 + 32.0 * 32.0).sqrt() / 10.0, 1e-5);
    assert_near(second.rapid_s, 22.0 / 50.0, 1e-6);
    assert_near(second.cut_s, 10.0 / 5.0, 1e-6);
    assert_near(second.air_s, 10.0 / 5.0, 1e-6);
    assert_near(proof.times.air_share, proof.times.air_s / proof.times.cut_s, 1e-12);
    assert!(proof.times.air_share > 0.2);
}

#[test]
fn turning_back_takes_the_rapid_from_where_it_ends_to_where_it_started() {
    let back = |programs: &[&str]| whole(&job_on("", programs)).unwinding_s.expect("something moves");
    // Ten turns at 3600 °/min.
    let out = "M3 S9000\nG1 X30 Z18 A3600 F600\n";
    assert_near(back(&[out]), 60.0, 1e-6);
    assert_near(back(&[out, "G0 A0\n"]), 0.0, 1e-12);
    // Zeroed again after ten turns, then one more.
    assert_near(back(&[&format!("{out}G92 A0\nG1 A360\n")]), 6.0, 1e-6);
    assert_near(back(&[&format!("{out}G0 Z40\nG92 A0\n")]), 0.0, 1e-12);
    // Speeding up and slowing down at 1500 °/s².
    let back = whole(&job_on(ACCEL, &[out])).unwinding_s.expect("something moves");
    assert_near(back, 60.0 + 60.0 / 1500.0, 1e-6);
    assert_eq!(whole(&job_on("", &["M3 S9000\n"])).unwinding_s, None);
    // A wrapped word: a blank of 40 turned ten times is turned back as well.
    let wrapped = job_on("rotary = \"Y\"\nwrap_diameter = 40", &["M3 S9000\nG1 Y1256.637061 F60000\n"]);
    assert_near(whole(&wrapped).unwinding_s.expect("something moves"), 60.0, 1e-5);
}

#[test]
fn a_batch_takes_loading_turning_back_and_cutter_changes() {
    let batch =
        |pieces, program: &str| job_on(&format!("change = 45\n[batch]\npieces = {pieces}\nloading = 30"), &[program]);
    let total = |pieces, program: &str| whole(&batch(pieces, program)).batch.expect("a batch").total_s;
    // One cutter, called once: 20 mm at 600 mm/min with a turn that takes 6 s, one turn back, 30 s to load.
    let one = "T1 M6\nM3 S9000\nG1 X20 A360 F600\n";
    let each = 6.0 + 6.0 + 30.0;
    assert_near(total(1, one), each + 45.0, 1e-6);
    assert_near(total(10, one), 10.0 * each + 45.0, 1e-5);
    assert_near(whole(&batch(1, one)).programs_s(), 6.0 + 45.0, 1e-6);
    // Two cutters: every piece changes to the second, and all but the first begin with the change back.
    let two = "M3 S9000\nG1 X20 A360 F600\nT2 M6\nM3\nG1 X0\nG0 A0\n";
    let each = 6.0 + 2.0 + 6.0 + 30.0;
    assert_near(total(1, two), each + 45.0, 1e-5);
    assert_near(total(10, two), 10.0 * each + 19.0 * 45.0, 1e-4);
    // The same where the program calls its first cutter itself.
    assert_near(total(10, &format!("T1 M6\n{two}")), 10.0 * each + 20.0 * 45.0, 1e-4);
}

#[test]
fn a_batch_without_loading_is_told_without_it_and_says_so() {
    let job = job_on("[batch]\npieces = 10", &["M3 S9000\nG1 X20 F600\n"]);
    assert_near(whole(&job).batch.expect("a batch").total_s, 20.0, 1e-5);
    let untold = |job: &Job| run(job).not_checked.iter().any(|row| row.what == "time of loading");
    assert!(untold(&job));
    assert!(!untold(&job_on("[batch]\npieces = 10\nloading = 0", &["M3 S9000\nG1 X20 F600\n"])));
    assert!(!untold(&job_on("", &["M3 S9000\nG1 X20 F600\n"])));
}
