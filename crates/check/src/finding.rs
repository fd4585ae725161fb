//! What a run has to say: findings, clearances, what was assumed and what was not looked at.

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// May spoil the piece or its finish.
    Warning,
    /// Would spoil the piece or break something.
    Error,
}

impl Severity {
    /// The severity in a word.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// What a run comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing was found, and holding and holder were described.
    Clear,
    /// A warning, or something needed for a verdict was not described.
    Caution,
    /// At least one error.
    Stop,
}

impl Verdict {
    /// The verdict in a word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Clear => "clear",
            Verdict::Caution => "caution",
            Verdict::Stop => "stop",
        }
    }
}

/// A position as the controller would show it, in its own unit and winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// X, in the program's unit.
    pub x: f64,
    /// Y, in the program's unit.
    pub y: f64,
    /// Z, in the program's unit.
    pub z: f64,
    /// The rotary word, degrees; `None` where a linear word turns the blank.
    pub a: Option<f64>,
}

/// Where on the piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Station, mm.
    pub station_mm: f64,
    /// Angle θ of the ray of the blank, degrees, 0 … 360.
    pub angle_deg: f64,
    /// Distance from the rotary axis, mm.
    pub radius_mm: f64,
    /// What the controller would show at that moment.
    pub shown: Option<Shown>,
}

/// One thing wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Name of the rule, for example `holder-hits`.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// Index of the program (from 0), where it belongs to one.
    pub program: Option<usize>,
    /// First and last line (from 1), where it belongs to lines.
    pub lines: Option<(u32, u32)>,
    /// Line (from 1) of the worst place, one of `lines`.
    pub worst_line: Option<u32>,
    /// How many blocks took part.
    pub blocks: u32,
    /// Number of the cutter in the spindle.
    pub cutter: Option<u32>,
    /// The worst place.
    pub place: Option<Place>,
    /// The worst value.
    pub value: Option<f64>,
    /// Unit of the value.
    pub unit: Option<&'static str>,
    /// What is wrong, in one sentence.
    pub text: String,
    /// What to do about it.
    pub cure: String,
    /// The least changes that cure it, each proved against all bodies, the best first.
    pub cures: Vec<Cure>,
    /// Why the scene accepts it; `None` where it does not.
    pub accepted: Option<String>,
}

/// The gravest of what was found and is not accepted.
pub fn gravest(findings: &[Finding]) -> Option<Severity> {
    findings.iter().filter(|found| found.accepted.is_none()).map(|found| found.severity).max()
}

/// A change that cures a contact and brings no other. It is proved for the bodies alone, not for the wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cure {
    /// What is changed.
    pub what: Remedy,
    /// What it is now, where the scene has one number for it, in mm or degrees.
    pub now: Option<f64>,
    /// The change at which the bodies just touch, mm or degrees.
    pub touching: f64,
    /// The change that leaves the distance which is let pass; `None` if none within reach does.
    pub with_near: Option<f64>,
}

/// What a cure changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// The station of the programs' X0, all of them alike; above 0 away from the chuck.
    ZeroX,
    /// How far the cutter sticks out.
    Stickout,
    /// The height of the rapids.
    Retract,
    /// The length of the screws, those longer than the new one.
    ScrewLength,
    /// The circle of the screws.
    ScrewRadius,
    /// The angle of the jaws.
    JawsTurned,
}

impl Remedy {
    /// Its key in the scene; `program.retract` for what is changed in the program.
    pub fn key(self) -> &'static str {
        match self {
            Remedy::ZeroX => "zero.x",
            Remedy::Stickout => "cutter.stickout",
            Remedy::Retract => "program.retract",
            Remedy::ScrewLength => "faceplate.screws.length",
            Remedy::ScrewRadius => "faceplate.screws.radius",
            Remedy::JawsTurned => "chuck.jaws.turned",
        }
    }

    /// Unit of its change.
    pub fn unit(self) -> &'static str {
        if self == Remedy::JawsTurned { "°" } else { "mm" }
    }
}

/// The closest approach of one pair of bodies over the whole job, for one cutter.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// The moving body: `cutter`, `shank`, `holder`, `spindle`, or a name from the scene.
    pub moving: String,
    /// The fixed body: `chuck`, `jaws`, `faceplate`, `screw`, `drive`, `center`, `head`, `quill`, `tailstock`, `bed`,
    /// or a name from the scene.
    pub fixed: String,
    /// Number of the cutter in the spindle.
    pub cutter: u32,
    /// Least distance, mm; below zero: minus the lift that would free the pair at its worst instant.
    pub least_mm: f64,
    /// Index of the program (from 0).
    pub program: usize,
    /// Line of the block (from 1).
    pub line: u32,
    /// Station of the fixed body's nearest point, mm.
    pub station_mm: f64,
}

/// Something the scene did not say, and what was taken in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assumed {
    /// The key of the scene file.
    pub key: String,
    /// The value taken, as text.
    pub value: String,
    /// Where it comes from.
    pub because: String,
}

/// Something that was not looked at, because it was not described or is not there yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotChecked {
    /// What.
    pub what: String,
    /// Why not.
    pub because: String,
    /// What to write in the scene to have it looked at; empty where nothing helps.
    pub how_to_add: String,
}

/// The verdict on a set of findings, those accepted left aside; `described` says whether holding and holders were.
pub fn verdict(findings: &[Finding], described: bool) -> Verdict {
    match gravest(findings) {
        Some(Severity::Error) => Verdict::Stop,
        Some(Severity::Warning) => Verdict::Caution,
        _ if !described => Verdict::Caution,
        _ => Verdict::Clear,
    }
}
