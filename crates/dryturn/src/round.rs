//! `dryturn round`: writes the program that brings a raw blank to round, to a prism, or to a coupon.

mod request;
mod summary;

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use clap::{ArgGroup, Args, ValueEnum};
use dryturn_plan::round;

use crate::arguments::Color;
use crate::failure::Failure;
use crate::running::{Running, threads};
use crate::scenes::Places;
use crate::{FINDINGS, print};

/// What `dryturn round --help` says at its end.
pub(crate) const HELP: &str = "\
The blank turns under a flat cutter that stands over the rotary axis, and each pass goes from end to end. Before it moves \
on, the cutter steps down over one turn and makes a full turn at rest; at the other end it makes one more. That leaves a \
true cylinder whatever the blank was like, if only there is wood all round: a blank that is off centre or bent leaves \
less, and more than it leaves is refused.

--speed is that over the wood. It stays the same while the radius shrinks, whatever F has to be for that.

One-way winding never turns back, so play in the axis does not show; the axis ends wound up. Wound back and forth it ends \
where it began, or one pass on. Wound one way, the cutter climbs in every other pass; wound back and forth it cuts the \
same way in all of them.

The program expects X0 at the jaw face, Y0 over the axis and Z0 on the axis. It is proved before it is written, on a \
scene of its own that --save-scene keeps: describe chuck, center and holder there and prove it once more, for round knows \
nothing of them. Or give it a scene that describes them: with --scene it takes blank, holding, machine and, where it has \
such a cutter, stickout and holder from there, and writes nothing that hits any of it.

A square bar that runs 0.8 mm off and is bent by 1.2 mm:
  dryturn round --square 50 --runout 0.8 --bow 1.2 --blank-length 300 --to 45 --from 12 \
--length 276
    --cutter flat:12 --speed 2500 --material \"hard maple\" -o round.nc --save-scene round.toml
A blank as a scene holds it:
  dryturn round --scene finial.toml --to 60 --from 20 --length 160 --cutter flat:12 --speed 2500 -o round.nc
In inches, for a controller that counts degrees as lengths, winding back:
  dryturn round --units inch --polygon 8:\"2 1/4\" --to 2 --from 1/2 --length 6
    --cutter flat:1/2 --speed 100 --feed-form all --winding back-and-forth -o round.nc
A hexagon, 32 across its flats:
  dryturn round --diameter 40 --to 32 --flats 6 --from 20 --length 40 --cutter flat:6
    --speed 1200 -o hexagon.nc
A coupon from a piece of scrap, that shows how far Z0 and Y0 are off:
  dryturn round --diameter 32 --to 10 --coupon --from 8 --length 40 --cutter flat:6
    --speed 900 -o coupon.nc

Exit codes: 0 written · 1 its proof found an error, nothing written · 2 usage, or more than the blank leaves · 130 \
interrupted";

/// Lengths are in --units unless they carry their own, as in \"2 1/4 in\".
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("blank").required(true), allow_negative_numbers = true)]
pub(crate) struct RoundArguments {
    /// The blank is a square bar, so wide
    #[arg(long, value_name = "W", group = "blank", help_heading = "The blank")]
    square: Option<String>,

    /// The blank has N flats and is so wide across them, for example 8:60
    #[arg(long, value_name = "N:ACROSS", group = "blank", help_heading = "The blank")]
    polygon: Option<String>,

    /// The blank is a round bar, so thick
    #[arg(long, value_name = "D", group = "blank", help_heading = "The blank")]
    diameter: Option<String>,

    /// A scene that has the blank, what holds it and the machine; its own programs are left aside. Without it nothing is
    /// known of the holding
    #[arg(
        long,
        value_name = "SCENE",
        group = "blank",
        conflicts_with_all = [
            "runout", "bow", "blank_length", "material", "feed_form", "rotary", "along", "chuck_on", "turns", "save_scene"
        ],
        help_heading = "The blank"
    )]
    scene: Option<PathBuf>,

    /// How far its centre is off the axis: half of what a dial indicator swings
    #[arg(long, value_name = "R", default_value = "0", help_heading = "The blank")]
    runout: String,

    /// How far it is bent midway
    #[arg(long, value_name = "B", default_value = "0", help_heading = "The blank")]
    bow: String,

    /// How far it stands out of the jaws; without it the work ends where the blank does
    #[arg(long, value_name = "L", help_heading = "The blank")]
    blank_length: Option<String>,

    /// Its wood, for example "hard maple"; without it no loads are told
    #[arg(long, value_name = "NAME", help_heading = "The blank")]
    material: Option<String>,

    /// Diameter to come to; with --flats or --coupon the size across flats
    #[arg(long, value_name = "D", help_heading = "The work")]
    to: String,

    /// Station at which it begins: nothing nearer to the jaws is touched
    #[arg(long, value_name = "X", help_heading = "The work")]
    from: String,

    /// Its length; the whole cutter stays within
    #[arg(long, value_name = "L", help_heading = "The work")]
    length: String,

    /// Cut so many faces instead, the blank at rest
    #[arg(long, value_name = "N", conflicts_with_all = ["coupon", "winding", "rezero"], help_heading = "The work")]
    flats: Option<u32>,

    /// Cut two flats and two slots instead, that calipers read the errors of Z0 and Y0 from
    #[arg(long, conflicts_with_all = ["winding", "rezero"], help_heading = "The work")]
    coupon: bool,

    /// The cutter: flat:D or bull:D:CORNER
    #[arg(long, value_name = "SHAPE", help_heading = "The cut")]
    cutter: String,

    /// Speed over the wood, lengths a minute
    #[arg(long, value_name = "V", help_heading = "The cut")]
    speed: String,

    /// Most it goes on in a turn, or from row to row; without it half of what the cutter is flat
    #[arg(long, value_name = "P", help_heading = "The cut")]
    advance: Option<String>,

    /// Most a pass takes; without it a quarter of the cutter's diameter
    #[arg(long, value_name = "D", help_heading = "The cut")]
    depth: Option<String>,

    /// Turns a minute of the spindle
    #[arg(long, value_name = "S", default_value_t = 18_000.0, help_heading = "The cut")]
    spindle: f64,

    /// How the blank is wound
    #[arg(long, value_enum, default_value_t = Winding::OneWay, value_name = "WAY", help_heading = "The cut")]
    winding: Winding,

    /// Zero the rotary word where it stands at the end, on a whole turn (G92; the program then ends with %, as M30 would
    /// take the zero back)
    #[arg(long, help_heading = "The cut")]
    rezero: bool,

    /// How far over the blank rapids travel; without it 5 mm
    #[arg(long, value_name = "H", default_value = "5 mm", help_heading = "The cut")]
    clearance: String,

    /// Unit of the program, and of lengths that carry none
    #[arg(long, value_enum, default_value_t = Units::Mm, value_name = "UNIT", help_heading = "The machine")]
    units: Units,

    /// What F counts: the linear words (RS-274), all words alike, or one over minutes (G93)
    #[arg(long, value_enum, default_value_t = FeedForm::Linear, value_name = "FORM", help_heading = "The machine")]
    feed_form: FeedForm,

    /// The word that turns the blank
    #[arg(long, value_enum, default_value_t = Rotary::A, value_name = "WORD", ignore_case = true, help_heading = "The machine")]
    rotary: Rotary,

    /// The axis that the rotary axis lies along
    #[arg(long, value_enum, default_value_t = Along::X, value_name = "AXIS", help_heading = "The machine")]
    along: Along,

    /// The end of that axis that the chuck stands at: minus where X grows away from it
    #[arg(long, value_enum, default_value_t = Side::Minus, value_name = "SIDE", help_heading = "The machine")]
    chuck_on: Side,

    /// The sense of the rotary word: ISO 841, or the other way
    #[arg(long, value_enum, default_value_t = Turns::Iso, value_name = "SENSE", help_heading = "The machine")]
    turns: Turns,

    /// Most that the rotary axis turns at feed, degrees a minute; where it is not enough the cut slows down
    #[arg(long, value_name = "RATE", help_heading = "The machine")]
    fastest_turn: Option<f64>,

    /// Number the lines
    #[arg(long, help_heading = "The machine")]
    numbers: bool,

    /// The program to write; one that is there is replaced
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,

    /// Keep the scene it was proved on, in the program's folder
    #[arg(long, value_name = "FILE")]
    save_scene: Option<PathBuf>,

    #[command(flatten)]
    places: Places,

    /// Number of threads; 0 takes one for each core
    #[arg(long, default_value_t = 0, value_name = "N", value_parser = clap::value_parser!(u16).range(0..=1024))]
    threads: u16,

    /// Print the verdict only
    #[arg(long, short)]
    quiet: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Winding {
    OneWay,
    BackAndForth,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Units {
    Mm,
    Inch,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum FeedForm {
    Linear,
    All,
    Inverse,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Rotary {
    A,
    B,
    C,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Along {
    X,
    Y,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Side {
    Minus,
    Plus,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Turns {
    Iso,
    Reversed,
}

/// Writes a program; gives the exit code.
pub(crate) fn run(arguments: &RoundArguments, interrupted: &AtomicBool) -> u8 {
    let (threads, quiet) = (threads(arguments.threads), arguments.quiet);
    let running = Running { threads, memory: u64::MAX, is_pitch_typed: false, quiet, interrupted };
    written(arguments, &running).unwrap_or_else(|failure| failure.told(Color::Auto))
}

fn written(arguments: &RoundArguments, running: &Running<'_>) -> Result<u8, Failure> {
    if arguments.output.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml")) {
        return Err(refused(format!(
            "{}: a scene is called so; name the program to write",
            arguments.output.display()
        )));
    }
    let scene = scene_file(arguments)?;
    let request = request::of(arguments)?;
    let (draft, account) = running.stage("round", |options| round::draft(&request, options))?;
    let told = summary::Told { request: &request, draft: &draft, account: &account, output: &arguments.output };
    if !draft.is_sound() {
        let text = if arguments.quiet { told.verdict() } else { told.refusal() };
        return Ok(print(&text).max(FINDINGS));
    }
    // The program speaks for the scene, so it is put in its place last.
    let beside = scene.map(|scene| (scene.to_owned(), draft.scene.clone().into_bytes()));
    let program = (arguments.output.clone(), draft.program.clone().into_bytes());
    let files: Vec<_> = beside.into_iter().chain([program]).collect();
    dryturn_report::write_each(&files, running.interrupted)?;
    Ok(print(&if arguments.quiet { told.verdict() } else { told.text(scene) }))
}

fn refused(message: String) -> Failure {
    Failure::Other(dryturn_report::plain(&message))
}

/// The file that keeps the scene: new, and in the program's folder, as a scene names nothing outside of its own.
fn scene_file(arguments: &RoundArguments) -> Result<Option<&Path>, Failure> {
    let Some(scene) = arguments.save_scene.as_deref() else { return Ok(None) };
    if scene.parent() != arguments.output.parent() {
        return Err(refused(format!("{}: keep the scene in the folder of the program", scene.display())));
    }
    if scene.exists() || scene == arguments.output {
        return Err(refused(format!("{}: is there already; choose another name", scene.display())));
    }
    Ok(Some(scene))
}
