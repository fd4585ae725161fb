//! What `round` writes, looked at as a machine would run it.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::f64::consts::PI;

use dryturn_check::{RunOptions, Severity};
use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Along, Motion, Motions, Side, Turns, angle};
use dryturn_plan::round::{Account, Request, Winding, Work, draft};
use dryturn_plan::{Blank, Draft, FeedForm, PlanError, Posting, Section};
use proptest::prelude::*;

fn blank(section: Section) -> Blank {
    Blank { section, length: 40.0, runout: 0.3, bow: 0.4 }
}

fn polygon(sides: u32, across: f64) -> Section {
    Section::Polygon { sides, across }
}

fn request(section: Section, to: f64) -> Request {
    let request = Request::cylinder(blank(section), to, "flat:8", 1500.0);
    Request { from: 8.0, length: 26.0, ..request }
}

fn written(request: &Request) -> (Draft, Account) {
    draft(request, &RunOptions { threads: 1, ..RunOptions::default() }).unwrap()
}

/// The motions of a program with the minutes its own F asks for.
fn fed(draft: &Draft, form: FeedForm) -> Vec<(Motion, f64)> {
    let reading = match form {
        FeedForm::All => dryturn_program::FeedReading::All,
        _ => dryturn_program::FeedReading::Linear,
    };
    let program = &draft.job.programs[0].program;
    let motions = (0..draft.job.count()).filter_map(|block| draft.job.motion(block)).filter(|motion| !motion.rapid);
    motions.map(|motion| (motion, program.minutes_asked(motion.block as usize, reading).unwrap())).collect()
}

fn turned(motion: &Motion) -> f64 {
    (motion.to.turn - motion.from.turn).abs()
}

/// Checks all that must hold of a cylinder, whatever was asked for.
fn holds(request: &Request, draft: &Draft, account: &Account) -> Result<(), TestCaseError> {
    let grave: Vec<_> = draft.proof.findings.iter().filter(|found| found.severity > Severity::Note).collect();
    prop_assert!(grave.is_empty(), "{grave:?}\n{}", draft.program);
    prop_assert!(draft.proof.carved.rapids.is_empty());
    prop_assert!(account.truth.worst_mm <= 0.001 && account.truth.rays > 1000, "{:?}", account.truth);
    nothing_beyond(request, draft)?;
    speeds(request, draft, account)?;
    turns(request, draft, account)
}

/// Nothing is cut outside of the length.
fn nothing_beyond(request: &Request, draft: &Draft) -> Result<(), TestCaseError> {
    let (carved, stock) = (&draft.proof.carved, draft.job.scene.stock());
    let grid = carved.grid();
    for row in
        (0..grid.stations).filter(|&row| !(request.from..=request.from + request.length).contains(&grid.station(row)))
    {
        for column in 0..grid.angles {
            let before = stock.spans(grid.station(row), grid.theta(column)).as_slice()[0].1;
            prop_assert_eq!(carved.radius(row, column), before as f32);
        }
    }
    Ok(())
}

/// The tip goes at its speed along the greatest radius that still stands: what the pass before has left.
fn speeds(request: &Request, draft: &Draft, account: &Account) -> Result<(), TestCaseError> {
    let moves = fed(draft, request.posting.feed);
    let mut standing = account.swept_radius;
    let mut height = standing;
    for (motion, minutes) in &moves {
        if motion.to.z < height - 1e-9 {
            (standing, height) = (height, motion.to.z);
        }
        if turned(motion) > 0.0 {
            let along = angle::diagonal(motion.to.x - motion.from.x, motion.to.z - motion.from.z);
            let speed = angle::hypot(along, standing * turned(motion)) / minutes;
            let limit = request.posting.turning.map_or(f64::INFINITY, |turning| angle::radians(turning) * standing);
            let wanted = request.speed.min(limit * 1.001);
            prop_assert!((speed / wanted - 1.0).abs() < 0.01, "{speed} at {motion:?}\n{}", draft.program);
        }
    }
    Ok(())
}

/// At most a turn a block, a full turn at rest at both ends of each pass, and the end where the account says.
fn turns(request: &Request, draft: &Draft, account: &Account) -> Result<(), TestCaseError> {
    let moves = fed(draft, request.posting.feed);
    prop_assert!(moves.iter().all(|(motion, _)| turned(motion) <= 2.0 * PI * (1.0 + 1e-9)));
    for &height in &account.heights {
        let at_rest = |motion: &&(Motion, f64)| {
            let Motion { from, to, .. } = motion.0;
            (from.x, from.z) == (to.x, to.z)
                && (to.z - height).abs() < 1e-3
                && turned(&motion.0) > 2.0 * PI * (1.0 - 1e-9)
        };
        let ends: Vec<f64> = moves.iter().filter(at_rest).map(|(motion, _)| motion.to.x).collect();
        prop_assert_eq!(ends.len(), 2, "height {} in\n{}", height, draft.program);
        prop_assert!((ends[0] - ends[1]).abs() >= request.length - 8.0 - 1e-3);
    }
    let shown = draft.proof.programs[0].winding.unwrap()[1];
    let Work::Cylinder { rezero, winding, .. } = request.work else { unreachable!() };
    prop_assert!((shown.abs() - 360.0 * account.wound_turns.abs()).abs() < 1e-6);
    prop_assert!(rezero || (shown - account.rotary_shown).abs() < 1e-6);
    prop_assert_eq!(account.wound_turns.fract(), 0.0);
    if winding == Winding::BackAndForth {
        prop_assert!(account.wound_turns <= account.turns_a_pass as f64);
    }
    // A zero set at the end is what the next piece starts from.
    let back = draft.proof.times.unwinding_s.unwrap();
    prop_assert_eq!(rezero && account.wound_turns > 0.0, back == 0.0 && account.wound_turns > 0.0);
    Ok(())
}

fn postings() -> impl Strategy<Value = Posting> {
    let form = prop_oneof![Just(FeedForm::Linear), Just(FeedForm::All), Just(FeedForm::Inverse)];
    let unit = prop_oneof![Just(LengthUnit::Millimetre), Just(LengthUnit::Inch)];
    let machine = (any::<bool>(), any::<bool>(), any::<bool>(), 0usize..3);
    let turning = prop_oneof![Just(None), Just(Some(2400.0))];
    (form, unit, machine, any::<bool>(), turning).prop_map(
        |(feed, unit, (y, plus, reversed, rotary), numbered, turning)| Posting {
            unit,
            feed,
            along: if y { Along::Y } else { Along::X },
            chuck_on: if plus { Side::Plus } else { Side::Minus },
            turns: if reversed { Turns::Reversed } else { Turns::Iso },
            rotary,
            numbered,
            turning,
        },
    )
}

fn requests() -> impl Strategy<Value = Request> {
    let section = prop_oneof![
        (20.0..44.0).prop_map(|across| polygon(4, across)),
        (3u32..9, 24.0..40.0).prop_map(|(sides, across)| polygon(sides, across)),
        (20.0..50.0).prop_map(|diameter| Section::Round { diameter }),
    ];
    let winding = prop_oneof![Just(Winding::OneWay), Just(Winding::BackAndForth)];
    let sizes = (0.6..1.0f64, 0.5..7.9f64, 0.8..6.0f64, 300.0..4000.0f64);
    (section, winding, any::<bool>(), sizes, postings()).prop_map(
        |(section, winding, rezero, (share, advance, depth, speed), posting)| {
            let blank = blank(section);
            let to = (blank.clean() * share * 1000.0).round() / 1000.0;
            let work = Work::Cylinder { to: to.min(blank.clean()), winding, rezero };
            let cutter = if posting.unit == LengthUnit::Inch { "flat:8mm" } else { "flat:8" }.to_owned();
            let (advance, depth) = (Some(advance), Some(depth));
            Request { work, advance, depth, speed, posting, cutter, ..request(section, to) }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]

    #[test]
    fn whatever_is_asked_for_comes_out_true(request in requests()) {
        let (draft, account) = written(&request);
        holds(&request, &draft, &account)?;
    }
}

#[test]
fn every_mix_of_blank_winding_feed_and_unit() {
    for section in [polygon(4, 30.0), polygon(6, 30.0), Section::Round { diameter: 30.0 }] {
        for winding in [Winding::OneWay, Winding::BackAndForth] {
            for feed in [FeedForm::Linear, FeedForm::All, FeedForm::Inverse] {
                for (unit, cutter) in [(LengthUnit::Millimetre, "flat:8"), (LengthUnit::Inch, "flat:8mm")] {
                    let request = Request {
                        work: Work::Cylinder { to: 27.0, winding, rezero: false },
                        cutter: cutter.to_owned(),
                        posting: Posting { feed, unit, ..Posting::default() },
                        ..request(section, 27.0)
                    };
                    let (draft, account) = written(&request);
                    holds(&request, &draft, &account).unwrap();
                }
            }
        }
    }
}

#[test]
fn a_turn_removes_what_the_handbooks_say() {
    let round = Blank { section: Section::Round { diameter: 50.0 }, length: 60.0, runout: 0.0, bow: 0.0 };
    let request = Request {
        // From radius 25 to 20 in one pass, 3 mm a turn, ten turns a minute: 21 205.7504 mm³/min.
        speed: angle::hypot(3.0, 2.0 * PI * 25.0) * 10.0,
        advance: Some(3.0),
        depth: Some(5.0),
        cutter: "flat:12".to_owned(),
        length: 60.0,
        from: 0.0,
        ..request(round.section, 40.0)
    };
    let (draft, account) = written(&Request { blank: round, ..request });
    let [along, down] = account.removal_rates;
    assert!((along - 21_205.750_4).abs() < 1e-3, "{along}");
    // All 12 mm of the cutter at the end of the turn that steps down, which takes a little longer than a turn along.
    let slower = angle::hypot(3.0, 2.0 * PI * 25.0) / angle::hypot(5.0, 2.0 * PI * 25.0);
    assert!((down - 4.0 * 21_205.750_4 * slower).abs() < 1e-2, "{down}");
    let helix: Vec<_> =
        fed(&draft, FeedForm::Linear).into_iter().filter(|(m, _)| m.from.x != m.to.x && turned(m) > 6.0).collect();
    assert_eq!(helix.len(), 16);
    for (motion, minutes) in &helix[1..] {
        let rate = draft.proof.carved.removed_by(motion.block) / minutes;
        assert!((rate / 21_205.750_4 - 1.0).abs() < 0.002, "{rate}");
    }
}

/// The blank turns on while the cutter comes back: what climbed now cuts conventionally. Where both come back it is as it was.
#[test]
fn the_way_of_cutting_changes_with_the_pass_only_where_the_axis_winds_one_way() {
    for (winding, turns) in [(Winding::OneWay, Turns::Iso), (Winding::BackAndForth, Turns::Reversed)] {
        let request = Request {
            work: Work::Cylinder { to: 24.0, winding, rezero: false },
            material: Some("hard maple".to_owned()),
            advance: Some(2.0),
            posting: Posting { turns, ..Posting::default() },
            ..request(Section::Round { diameter: 40.0 }, 24.0)
        };
        let (draft, account) = written(&request);
        let climbs = |height: f64| {
            let helix =
                fed(&draft, FeedForm::Linear).into_iter().filter(|(m, _)| m.from.x != m.to.x && turned(m) > 6.0);
            let mut ways = helix.filter(|(m, _)| (m.to.z - height).abs() < 1e-3).skip(2).take(5);
            ways.all(|(m, _)| draft.proof.told.traces.at(m.block, None).way <= 4)
        };
        let ways: Vec<bool> = account.heights.iter().map(|&height| climbs(height)).collect();
        let alternates = ways.windows(2).all(|pair| pair[0] != pair[1]);
        let stays = ways.windows(2).all(|pair| pair[0] == pair[1]);
        assert!(ways.len() > 2 && (if winding == Winding::OneWay { alternates } else { stays }), "{ways:?}");
    }
}

#[test]
fn what_the_blank_does_not_hold_is_refused_with_the_number() {
    let blank = Blank { runout: 0.8, bow: 1.2, ..Blank::square(50.0, 120.0) };
    let refused = |to| draft(&Request::cylinder(blank, to, "flat:12", 2500.0), &RunOptions::default()).map(drop);
    assert!(refused(46.0).is_ok());
    let Err(PlanError::TooLarge { clean, .. }) = refused(46.01) else { panic!("not refused") };
    assert!((clean.mm - 46.0).abs() < 1e-9);
}

#[test]
fn numbers_and_cutters_that_cannot_be_are_refused() {
    let ask = |change: fn(&mut Request)| {
        let mut asked = request(polygon(4, 30.0), 27.0);
        change(&mut asked);
        draft(&asked, &RunOptions::default()).map(drop).unwrap_err().to_string()
    };
    for (change, expected) in [
        ((|r| r.speed = 0.0) as fn(&mut Request), "the speed cannot be 0 mm/min: it must be above 0"),
        (|r| r.from = -1.0, "the station it begins at cannot be -1 mm"),
        (|r| r.depth = Some(f64::NAN), "the depth cannot be NaN mm"),
        (|r| r.advance = Some(8.0), "an advance of 8 mm leaves ridges: it must be less than the 8 mm"),
        (|r| r.length = 7.0, "a length of 7 mm is too short for a cutter of 8 mm"),
        (|r| r.length = 60.0, "the work ends at station 68 mm, and the blank at 40 mm"),
        (|r| r.cutter = "ball:8".to_owned(), "a cutter shaped as ball:8 leaves no true surface"),
        (|r| r.cutter = "bull:8:4".to_owned(), "a cutter shaped as bull:8:4 leaves no true surface"),
        (|r| r.cutter = "spoon:8".to_owned(), "`spoon:8` is not a cutter"),
        (|r| r.material = Some("unobtainium".to_owned()), "the scene beside the program:"),
        (|r| r.advance = Some(1e-5), "that is a program of"),
        (|r| r.blank.section = polygon(2, 30.0), "the number of sides cannot be 2"),
        (|r| r.work = Work::Prism { to: 26.0, faces: 6 }, "30.022 mm over its corners is more than"),
        (|r| r.work = Work::Coupon { to: 6.0 }, "a coupon 6 mm thick would break"),
        (|r| r.work = Work::Coupon { to: 12.0 }, "the flats of this coupon come out"),
    ] {
        let told = ask(change);
        assert!(told.starts_with(expected), "{told}");
    }
}

#[test]
fn a_bull_is_true_as_far_as_it_is_flat() {
    let request = Request { cutter: "bull:8:1".to_owned(), ..request(polygon(4, 30.0), 27.0) };
    let (draft, account) = written(&request);
    holds(&request, &draft, &account).unwrap();
    assert_eq!(account.truth.span, [9.0, 33.0]);
    let too_far = Request { advance: Some(6.0), ..request };
    assert!(matches!(dryturn_plan::round::draft(&too_far, &RunOptions::default()), Err(PlanError::Advance { .. })));
}

#[test]
fn faces_make_a_prism() {
    for (section, to, faces, feed) in [
        (Section::Round { diameter: 30.0 }, 22.0, 6, FeedForm::Inverse),
        (polygon(4, 30.0), 28.0, 4, FeedForm::Linear),
        (polygon(6, 30.0), 20.0, 4, FeedForm::All),
        (Section::Round { diameter: 30.0 }, 12.0, 3, FeedForm::Linear),
    ] {
        let work = Work::Prism { to, faces };
        let request = Request { work, posting: Posting { feed, ..Posting::default() }, ..request(section, to) };
        let (draft, account) = written(&request);
        let grave: Vec<_> = draft.proof.findings.iter().filter(|found| found.severity > Severity::Note).collect();
        assert!(grave.is_empty() && draft.proof.carved.rapids.is_empty(), "{grave:?}");
        assert!(account.truth.worst_mm <= 0.001 && account.truth.rays > 1000);
        assert_eq!((account.wound_turns, account.rotary_shown), (0.0, 0.0));
        nothing_beyond(&request, &draft).unwrap();
        for (motion, minutes) in fed(&draft, feed) {
            let way = angle::hypot(
                motion.to.x - motion.from.x,
                angle::hypot(motion.to.y - motion.from.y, motion.to.z - motion.from.z),
            );
            assert!((way / minutes / request.speed - 1.0).abs() < 0.01);
        }
    }
}

#[test]
fn a_coupon_tells_the_errors_of_both_zeros() {
    let request = Request {
        work: Work::Coupon { to: 10.0 },
        cutter: "flat:6".to_owned(),
        ..request(Section::Round { diameter: 32.0 }, 10.0)
    };
    let request = Request { length: 32.0, ..request };
    let (draft, account) = written(&request);
    let grave: Vec<_> = draft.proof.findings.iter().filter(|found| found.severity > Severity::Note).collect();
    assert!(grave.is_empty() && draft.proof.carved.rapids.is_empty(), "{grave:?}");
    let coupon = account.coupon.unwrap();
    for (y, z) in [(0.0, 0.0), (0.3, 0.2), (-0.25, 0.1), (0.1, -0.4)] {
        // The same program at a machine whose zeros are off, and a cutter that is not quite its size.
        let scene =
            draft.scene.replace("\ny = 0 ", &format!("\ny = {y} ")).replace("z = \"axis\"", &format!("z = {z}"));
        let scene = scene.replace("shape = \"flat\"\ndiameter = 6\n", "shape = \"flat\"\ndiameter = 5.9\n");
        assert!(scene.contains("5.9"));
        let options = dryturn_scene::LoadOptions { programs_at_hand: true, ..Default::default() };
        let scene = dryturn_scene::Scene::parse(&scene, "off", "".as_ref(), options).unwrap();
        let job =
            dryturn_scene::Job::from_sources(scene, vec![draft.program.clone().into()], Default::default()).unwrap();
        let carved = dryturn_check::prove(&job, &RunOptions::default()).unwrap().carved;
        let grid = carved.grid();
        let row = (0..grid.stations).find(|&row| grid.station(row) > coupon.slots.from + 5.0).unwrap();
        let (right, left) = (3 * grid.angles / 4, grid.angles / 4);
        let flats = f64::from(carved.radius(row, 0)) + f64::from(carved.radius(row, grid.angles / 2));
        let solid = |column| carved.spans(row, column).collect::<Vec<_>>();
        let between: f32 = [right, left].iter().map(|&column| solid(column)[1].outer).sum();
        let slot = solid(right)[0].inner - solid(right)[1].outer;
        assert!((coupon.height_error(flats) - z).abs() < 0.001, "{flats}");
        assert!((coupon.side_error(f64::from(between), f64::from(slot)) - y).abs() < 0.001, "{between} {slot}");
    }
}
