//! What is asked for.

use dryturn_geom::{Flutes, Shape};

use super::held::Held;
use super::plan::Account;
use crate::blank::{Blank, Section};
use crate::error::PlanError;
use crate::measure::{Measure, trimmed};
use crate::writer::Posting;

/// What to cut, from what, with what. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The wood.
    pub blank: Blank,
    /// The scene that it is held in, if there is one; blank and posting are then to be taken from there.
    pub held: Option<Held>,
    /// What it is made of, a row of the material table, if loads are to be told.
    pub material: Option<String>,
    /// What is to become of it.
    pub work: Work,
    /// Station at which the work begins; nothing nearer to the jaws is touched.
    pub from: f64,
    /// Length of the work.
    pub length: f64,
    /// The cutter in a few characters, such as `flat:12`.
    pub cutter: String,
    /// Advance a turn, or from row to row on a face; `None` takes half the width that the cutter is flat.
    pub advance: Option<f64>,
    /// Most that a pass takes; `None` takes a quarter of the cutter's diameter.
    pub depth: Option<f64>,
    /// Speed over the wood, mm/min.
    pub speed: f64,
    /// Turns a minute of the spindle.
    pub spindle: f64,
    /// How far over the circle of the corners the tip travels by rapid.
    pub clearance: f64,
    /// What the controller wants.
    pub posting: Posting,
    /// What the program's file is called.
    pub file: String,
}

/// What is to become of the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Work {
    /// A cylinder.
    Cylinder {
        /// Diameter, mm.
        to: f64,
        /// How the blank is wound.
        winding: Winding,
        /// Whether the rotary word is zeroed where it stands at the end.
        rezero: bool,
    },
    /// A prism, face by face.
    Prism {
        /// Size across flats, mm.
        to: f64,
        /// How many faces.
        faces: u32,
    },
    /// A piece that shows how far the zeros are off.
    Coupon {
        /// Flat to flat, mm.
        to: f64,
    },
}

/// How the blank is wound while it is brought to round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Winding {
    /// On and on in one sense while the cutter goes there and back: play of the axis does not show, and it ends wound up.
    OneWay,
    /// There and back with the cutter: it ends wound up by one pass at the most.
    BackAndForth,
}

impl Work {
    /// A cylinder of a diameter (mm), wound one way.
    pub fn cylinder(to: f64) -> Work {
        Work::Cylinder { to, winding: Winding::OneWay, rezero: false }
    }

    /// Diameter or size across flats that is asked for, mm.
    pub fn to(&self) -> f64 {
        match *self {
            Work::Cylinder { to, .. } | Work::Prism { to, .. } | Work::Coupon { to } => to,
        }
    }
}

impl Request {
    /// A cylinder all along a blank, all else as is usual.
    pub fn cylinder(blank: Blank, to: f64, cutter: &str, speed: f64) -> Request {
        Request {
            blank,
            held: None,
            material: None,
            work: Work::cylinder(to),
            from: 0.0,
            length: blank.length,
            cutter: cutter.to_owned(),
            advance: None,
            depth: None,
            speed,
            spindle: 18_000.0,
            clearance: 5.0,
            posting: Posting::default(),
            file: "round.nc".to_owned(),
        }
    }

    /// A length in the unit that is spoken.
    pub(crate) fn told(&self, mm: f64) -> Measure {
        Measure { mm, unit: self.posting.unit }
    }

    /// The speed of the cut, and the slowest that it comes to where the rotary axis turns too slowly for it.
    pub fn told_speed(&self, account: &Account) -> String {
        let speed = format!("{}/min over the wood", self.told(self.speed));
        match account.slowed {
            Some(slowest) => format!(
                "{speed}, but {}/min where {} turns no faster{}",
                self.told(slowest),
                self.posting.rotary_letter(),
                self.held.as_ref().map_or("", |held| held.says_of_turning(&self.posting))
            ),
            None => speed,
        }
    }

    /// Station at which the work ends.
    pub(crate) fn end(&self) -> f64 {
        self.from + self.length
    }

    /// What matters of a cutter.
    pub(crate) fn tool(&self, flutes: &Flutes) -> Result<Tool, PlanError> {
        let (radius, flute) = (flutes.radius(), flutes.length());
        match *flutes.shape() {
            Shape::Flat => Ok(Tool { radius, flat: radius, flute }),
            Shape::Bull { corner } if corner < radius => Ok(Tool { radius, flat: radius - corner, flute }),
            _ => Err(self.no_tool()),
        }
    }

    pub(crate) fn no_tool(&self) -> PlanError {
        PlanError::Shape { cutter: self.cutter.clone() }
    }

    /// Refuses numbers that no blank, cutter or machine has, and work that the blank does not hold.
    pub(crate) fn check(&self) -> Result<(), PlanError> {
        let blank = &self.blank;
        let length = |mm: f64| self.told(mm).to_string();
        let rate = |mm: f64| format!("{}/min", self.told(mm));
        let spindle = |turns: f64| format!("{} turns/min", trimmed(turns, 3));
        let turning = |degrees: f64| format!("{} °/min", trimmed(degrees, 3));
        let above: [(&'static str, f64, Telling<'_>); 10] = [
            ("the size of the blank", blank.across(), &length),
            ("the length of the blank", blank.length, &length),
            ("the size to come to", self.work.to(), &length),
            ("the length", self.length, &length),
            ("the advance", self.advance.unwrap_or(1.0), &length),
            ("the depth", self.depth.unwrap_or(1.0), &length),
            ("the speed", self.speed, &rate),
            ("the spindle speed", self.spindle, &spindle),
            ("the clearance", self.clearance, &length),
            ("the greatest turning rate", self.posting.turning.unwrap_or(1.0), &turning),
        ];
        let at_least = [("the runout", blank.runout), ("the bow", blank.bow), ("the station it begins at", self.from)];
        for (what, given, tell) in above {
            number((what, given, tell), given > 0.0, "above 0")?;
        }
        for (what, given) in at_least {
            number((what, given, &length), given >= 0.0, "0 or more")?;
        }
        let count = |what, count: u32| {
            number((what, f64::from(count), &|number| trimmed(number, 0)), (3..=360).contains(&count), "3 to 360")
        };
        if let Section::Polygon { sides, .. } = blank.section {
            count("the number of sides", sides)?;
        }
        if let Work::Prism { faces, .. } = self.work {
            count("the number of faces", faces)?;
        }
        if self.end() > blank.length + SAME {
            return Err(PlanError::PastTheEnd { end: self.told(self.end()), length: self.told(blank.length) });
        }
        Ok(())
    }
}

/// Lengths that differ by less are the same, mm.
pub(crate) const SAME: f64 = 1e-6;
/// No length or rate is greater: mm, mm/min, degrees/min.
const MOST: f64 = 1e6;

/// How a number is told, with its unit.
type Telling<'a> = &'a dyn Fn(f64) -> String;

fn number((what, given, tell): (&'static str, f64, Telling<'_>), fits: bool, must: &str) -> Result<(), PlanError> {
    let refused = |must: String| Err(PlanError::Number { what, given: tell(given), must });
    if given.is_finite() && given > MOST {
        return refused(format!("at most {}", tell(MOST)));
    }
    if fits && given.is_finite() { Ok(()) } else { refused(must.to_owned()) }
}

/// The cutter, as far as it matters here: mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tool {
    /// Its radius.
    pub(crate) radius: f64,
    /// Radius of the flat under it.
    pub(crate) flat: f64,
    /// Length of its flutes.
    pub(crate) flute: f64,
}
