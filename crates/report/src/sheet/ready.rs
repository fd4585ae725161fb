//! What is got ready: blank, holding, zeros, and what to look at before the first run.

use dryturn_check::{WindowLimit, ZeroWindow};
use dryturn_geom::{Along, Axis, Pose, Side};
use dryturn_scene::{BlankShape, FeedCounts, Grip, SYSTEM_NAMES, Scene, SpindleSwitch, ZeroHeight};

use super::holding::mm;
use super::steps::{Turning, degrees};
use crate::run::Run;
use crate::text::{plain, trimmed};

/// The blank in a line.
pub(super) fn about(scene: &Scene) -> String {
    let blank = &scene.blank;
    let section = match &blank.shape {
        BlankShape::Round { diameter } => format!("⌀\u{a0}{}", trimmed(*diameter, 2)),
        BlankShape::Tube { diameter, bore } => {
            format!("tube ⌀\u{a0}{}, bore {}", trimmed(*diameter, 2), trimmed(*bore, 2))
        }
        BlankShape::Square { across_flats } => format!("{} square", trimmed(*across_flats, 2)),
        BlankShape::Polygon { across_flats, sides } => {
            format!("{sides} sides, {} across flats", trimmed(*across_flats, 2))
        }
        BlankShape::Mesh { file, .. } => format!("as in {}", plain(file)),
        BlankShape::Kept(kept) => format!("the piece kept in {}", plain(&kept.file)),
    };
    let wood = blank.material.as_ref().map_or(String::new(), |material| format!("{}, ", plain(&material.name)));
    format!("{wood}{section}, {} long", mm(blank.length))
}

/// The words of the controller along the axis and across it.
fn words(scene: &Scene) -> [char; 2] {
    if scene.machine.along == Along::X { ['X', 'Y'] } else { ['Y', 'X'] }
}

/// Zeros, the first cut and the room there is, as the drawing shows them.
pub(super) fn places(run: &Run, scene: &Scene) -> Vec<[String; 2]> {
    let [along, across] = words(scene);
    let system = first_system(run);
    let zero = scene.zero(0, system);
    let of = if system == 0 { String::new() } else { format!(" of {}", SYSTEM_NAMES[system]) };
    // A word that turns the blank does not bring the cutter across.
    let turning = Turning::of(scene);
    let crossing = if turning.is_rotary() { across.to_string() } else { "Cutter across".to_owned() };
    let across_zero = if turning.is_rotary() { format!("{across} zero{of}") } else { "Cutter".to_owned() };
    let mut rows = vec![
        ["Station 0".to_owned(), front(scene).to_owned()],
        [format!("{along} zero{of}"), format!("station {}", mm(zero.x))],
        [across_zero, offset(zero.y)],
        [format!("Z zero{of}"), height(scene, system, zero.z)],
        [format!("{} zero{of}", turning.letter), mark(&zero)],
    ];
    rows.extend(first_cut(run));
    rows.extend(room(run, [&along.to_string(), &crossing]));
    rows
}

/// The coordinate system that the first motion is counted in.
pub(super) fn first_system(run: &Run) -> usize {
    let used = run.programs.first().and_then(|program| program.systems.first());
    used.copied().unwrap_or(0).min(SYSTEM_NAMES.len() - 1)
}

/// Where a zero of the word that turns the blank lies.
fn mark(zero: &Pose) -> String {
    let turn = dryturn_geom::angle::degrees(zero.turn);
    if turn == 0.0 { "the mark on top".to_owned() } else { format!("{} on from the mark", degrees(turn)) }
}

fn front(scene: &Scene) -> &'static str {
    match (&scene.faceplate, &scene.drive, &scene.chuck) {
        (Some(_), ..) => "front of the faceplate",
        (_, Some(_), _) => "the blank's end at the drive",
        (_, _, Some(_)) => "front of the jaws",
        _ => "the blank's end",
    }
}

fn offset(y: f64) -> String {
    if y == 0.0 { "over the axis".to_owned() } else { format!("{} off the axis", mm(y)) }
}

fn height(scene: &Scene, system: usize, z: f64) -> String {
    match scene.zero_keys(0, system).z.unwrap_or(ZeroHeight::Axis) {
        ZeroHeight::Axis => "on the rotary axis".to_owned(),
        ZeroHeight::Surface => format!("on the blank's skin, {} over the axis", mm(z)),
        ZeroHeight::Flat => format!("on a flat, {} over the axis", mm(z)),
        ZeroHeight::Height(_) => format!("{} over the axis", mm(z)),
        ZeroHeight::Touch { station, .. } => format!("touched off at station {}, {} over the axis", mm(station), mm(z)),
    }
}

fn first_cut(run: &Run) -> Option<[String; 2]> {
    let cut = run.preparation.as_ref()?.first_cut?;
    let file = run.programs.get(cut.program).map_or("", |program| program.file.as_str());
    let place = format!("station {}, {} over the axis", mm(cut.station_mm), mm(cut.height_mm));
    Some(["First cut".to_owned(), format!("cutter {}, {}:{}, at {place}", cut.cutter, plain(file), cut.line)])
}

/// How far the zeros may be off before bodies meet. The piece is spoilt by far less.
fn room(run: &Run, [along, across]: [&str; 2]) -> Vec<[String; 2]> {
    let Some(window) = &run.zero_window else { return Vec::new() };
    if is_hit(window) {
        return vec![["Room".to_owned(), "none: as it is, something is hit".to_owned()]];
    }
    vec![
        [format!("{along} may be off"), between(&window.x)],
        [format!("{across} may be off"), between(&window.y)],
        ["Z may be off".to_owned(), between(&window.z)],
        ["All three at once".to_owned(), format!("±\u{a0}{}", mm(window.together.value))],
        ["This far".to_owned(), "bodies do not meet; the piece is spoilt long before".to_owned()],
    ]
}

/// Whether something is hit without any zero being off.
pub(super) fn is_hit(window: &ZeroWindow) -> bool {
    window.together.value <= 0.0 && window.together.ended_by.is_some()
}

/// How far a zero may be off either way, mm.
pub(super) fn between(limits: &[WindowLimit; 2]) -> String {
    let [least, most] = limits.each_ref().map(|limit| {
        let more = if limit.ended_by.is_some() { "" } else { " or more" };
        format!("{}{more}", mm(limit.value))
    });
    format!("{least} … +{most}")
}

/// The zeros that are to be set before a program, where they are others than those before.
pub(super) fn own_zero(run: &Run, scene: &Scene, program: usize) -> Option<String> {
    let systems = run.programs.get(program)?.systems.iter().copied().filter(|system| *system < SYSTEM_NAMES.len());
    let told = systems.filter_map(|system| {
        let before = zero_before(run, scene, program, system);
        let words = words_of_zero(scene, &scene.zero(program, system), before.as_ref())?;
        Some(format!("{}: {words}", SYSTEM_NAMES[system]))
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Set its zeros first. {}.", told.join(". ")))
}

/// The zero of a system as it was set last before a program; the first one of all is told beside the drawing.
fn zero_before(run: &Run, scene: &Scene, program: usize, system: usize) -> Option<Pose> {
    let uses = |at: &usize| run.programs.get(*at).is_some_and(|before| before.systems.contains(&system));
    let last = (0..program).rev().find(uses).map(|before| scene.zero(before, system));
    last.or_else(|| (system == first_system(run)).then(|| scene.zero(0, system)))
}

/// The words of a zero that are others than before, or all of them.
fn words_of_zero(scene: &Scene, zero: &Pose, before: Option<&Pose>) -> Option<String> {
    let ([along, across], turning) = (words(scene), Turning::of(scene));
    let is_other = |of: fn(&Pose) -> f64| before.is_none_or(|before| of(before) != of(zero));
    let height = if zero.z == 0.0 { "on the axis".to_owned() } else { format!("{} over the axis", mm(zero.z)) };
    let parts = [
        is_other(|pose| pose.x).then(|| format!("{along}0 at station {}", mm(zero.x))),
        (turning.is_rotary() && is_other(|pose| pose.y)).then(|| format!("{across}0 {}", offset(zero.y))),
        is_other(|pose| pose.z).then(|| format!("Z0 {height}")),
        is_other(|pose| pose.turn)
            .then(|| format!("{}0 {} {}", turning.letter, if zero.turn == 0.0 { "with" } else { "at" }, mark(zero))),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// The blank to buy or saw.
pub(super) fn blank(run: &Run, scene: &Scene) -> Vec<[String; 2]> {
    let Some(wood) = run.preparation.as_ref().and_then(|ready| ready.wood.as_ref()) else { return Vec::new() };
    if let BlankShape::Kept(kept) = &scene.blank.shape {
        return vec![["Blank".to_owned(), format!("the piece of the set-up before, kept in {}", plain(&kept.file))]];
    }
    let mut rows = Vec::new();
    let least = match (wood.is_skin, wood.is_from_skin) {
        (true, _) => "as it is: its own skin stays on the piece",
        (_, true) => "as it is: Z zero is on its skin, so a thinner blank gives a thinner piece",
        _ => "at the least",
    };
    rows.push(["Round".to_owned(), format!("⌀\u{a0}{} {least}", mm(wood.round_mm))]);
    if let Some(square) = wood.square_mm {
        rows.push(["Square".to_owned(), format!("{} across its flats {least}", mm(square))]);
    }
    rows.push(["Length".to_owned(), length(scene)]);
    let spare = if wood.spare_mm > 0.0 {
        format!("{} of it for a blank as bent and off centre as this scene has it", mm(wood.spare_mm))
    } else {
        "none: straight, and running true".to_owned()
    };
    rows.push(["Spare".to_owned(), format!("{spare}; add 2 mm for each millimetre that it is bent, or off centre")]);
    rows
}

fn length(scene: &Scene) -> String {
    let all = mm(scene.blank.length);
    match scene.blank_start() {
        0.0 => all,
        start => format!("{all}: {} in the jaws, {} beyond", mm(-start), mm(scene.blank.length + start)),
    }
}

/// What to look at before the first run, one sentence each.
pub(super) fn checks(run: &Run, scene: &Scene) -> Vec<String> {
    let mut checks = holding(scene);
    checks.extend(cutters(run, scene));
    checks.push(along(scene));
    checks.extend(turning(scene));
    checks.push(feed(scene));
    if scene.machine.spindle_switch == SpindleSwitch::Hand {
        checks.push("No program switches the spindle: switch it on by hand before each of them.".to_owned());
    }
    let lift = trimmed(2.0 * scene.swept_radius() + 5.0, 0);
    checks.push(format!(
        "Raise the Z zero by {lift} mm and run all of it in the air; set it back, and measure it again."
    ));
    checks
}

fn holding(scene: &Scene) -> Vec<String> {
    let mut checks = Vec::new();
    if let Some(chuck) = scene.gripping() {
        let how = match chuck.jaws.as_ref().map(|jaws| jaws.grip) {
            Some(Grip::Inside) => "gripped from within its bore",
            _ => "in the jaws",
        };
        checks.push(format!("{} of the blank {how}, tight; the chuck key out.", mm(scene.held())));
    }
    if let Some(faceplate) = &scene.faceplate {
        checks.push(match faceplate.screws.first() {
            Some(screw) => format!(
                "{} screws ⌀\u{a0}{}, {} deep in the wood, {} from the axis.",
                faceplate.screws.len(),
                mm(screw.diameter),
                mm(screw.length),
                mm(screw.radius)
            ),
            None => "The blank fast on the faceplate.".to_owned(),
        });
    }
    if let Some(drive) = &scene.drive {
        checks.push(format!("The drive center {} in the wood.", mm(drive.bite)));
    }
    if let Some(tailstock) = &scene.tailstock {
        checks.push(format!(
            "The live center {} deep in the end, its quill {} out, tailstock and quill locked.",
            mm(tailstock.dimple),
            mm(tailstock.extension)
        ));
    }
    if scene.machine.bed.is_some() || scene.chuck.is_some() {
        checks.push("The blank turned once by hand, past bed and spindle: it touches nothing.".to_owned());
    }
    checks
}

/// Stickouts of the cutters that move.
fn cutters(run: &Run, scene: &Scene) -> Option<String> {
    let out = scene.cutters.iter().filter(|cutter| run.cutters.iter().any(|times| times.cutter == cutter.number));
    let told: Vec<String> =
        out.filter_map(|cutter| Some(format!("cutter {} {}", cutter.number, mm(cutter.stickout?)))).collect();
    (!told.is_empty()).then(|| format!("Out of the holder, measured: {}.", told.join(", ")))
}

/// Which way the word along the axis goes.
fn along(scene: &Scene) -> String {
    let [along, _] = words(scene);
    let away = if scene.machine.chuck_on == Side::Minus { "away from" } else { "toward" };
    format!("Jog {along} by +10: the cutter goes {away} the holding.")
}

/// Which way the blank turns.
fn turning(scene: &Scene) -> Option<String> {
    let frame = scene.frame_as_set(0);
    let (word, drive) = (0..6).find_map(|word| {
        let drive = frame.drive(word)?;
        (drive.axis == Axis::Turn).then_some((['X', 'Y', 'Z', 'A', 'B', 'C'][word], drive))
    })?;
    Some(format!("Jog {word} by +10: the top of the blank goes toward {}.", top_goes(scene, drive.scale)))
}

/// Where the top of the blank goes as the angle on top grows with a word: the ray a little further on lies at −Y before.
pub(super) fn top_goes(scene: &Scene, scale: f64) -> &'static str {
    match (scene.machine.along, scale > 0.0) {
        (Along::X, true) => "Y+",
        (Along::X, false) => "Y−",
        // Internal Y is machine −X.
        (Along::Y, true) => "X−",
        (Along::Y, false) => "X+",
    }
}

fn feed(scene: &Scene) -> String {
    let stated = !scene.assumed.iter().any(|row| row.key == "machine.feed_counts");
    let how = match scene.machine.feed_counts {
        FeedCounts::Linear => "the way of X, Y and Z alone",
        FeedCounts::All => "all words alike, a degree as a millimetre",
        FeedCounts::Each => "the way of X, Y and Z, the rotary word held to its own greatest rate",
    };
    let doubt = if stated { "" } else { " (taken, nobody has said it)" };
    format!("The controller counts F over {how}{doubt}: time one block that turns the blank, and compare.")
}
