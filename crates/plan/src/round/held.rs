//! The holding, the machine and the blank of a scene, for a program that is yet to be written.

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Wrap, angle};
use dryturn_scene::{BlankShape, Cutter, FeedCounts, Machine, Scene};

use crate::blank::{Blank, Section};
use crate::error::PlanError;
use crate::writer::{FeedForm, Posting};

/// A scene whose blank is to be brought to round as it is held there.
#[derive(Clone, Debug, PartialEq)]
pub struct Held(Box<Scene>);

impl Held {
    /// All of a scene but its programs, zeros and target.
    pub fn of(scene: Scene) -> Held {
        Held(Box::new(scene))
    }

    /// The blank, its length from the jaw face on.
    ///
    /// # Errors
    /// [`PlanError::Held`] for one that is no bar.
    pub fn blank(&self) -> Result<Blank, PlanError> {
        let blank = &self.0.blank;
        let section = match blank.shape {
            BlankShape::Round { diameter } => Section::Round { diameter },
            BlankShape::Square { across_flats } => Section::Polygon { sides: 4, across: across_flats },
            BlankShape::Polygon { across_flats, sides } => Section::Polygon { sides, across: across_flats },
            _ => return Err(PlanError::Held("the blank of the scene is no bar: round, square or polygon")),
        };
        let off = [blank.runout, blank.runout_far].map(|[y, z]| angle::hypot(y, z));
        let length = blank.length + self.0.blank_start();
        Ok(Blank { section, length, runout: off[0].max(off[1]), bow: blank.bow.abs() })
    }

    /// What is to be said of the greatest turning rate, where that is only taken to be so.
    pub(crate) fn says_of_turning(&self, posting: &Posting) -> &'static str {
        let is_taken = posting.turning == Some(self.0.machine.rapid.a) && !self.0.given.contains_key("machine.rapid.a");
        if is_taken { ", as fast as is taken where the scene gives no [machine] rapid" } else { "" }
    }

    /// What its controller and its machine want of a program in a unit.
    ///
    /// # Errors
    /// [`PlanError::Held`] where no program of this kind will do.
    pub fn posting(&self, unit: LengthUnit) -> Result<Posting, PlanError> {
        let Machine { along, chuck_on, turns, wrap, feed_counts, rapid, .. } = &self.0.machine;
        let Wrap::Rotary(rotary) = *wrap else {
            return Err(PlanError::Held(
                "the machine of the scene turns the blank by a linear word, and round writes A, B or C",
            ));
        };
        let feed = match feed_counts {
            FeedCounts::Linear => FeedForm::Linear,
            FeedCounts::All => FeedForm::All,
            FeedCounts::Each if self.0.controller.inverse_time => FeedForm::Inverse,
            FeedCounts::Each => {
                return Err(PlanError::Held(
                    "with feed_counts = \"each\" the speed over the wood takes a controller with inverse_time",
                ));
            }
        };
        let turning = Some(rapid.a);
        Ok(Posting { unit, feed, along: *along, chuck_on: *chuck_on, turns: *turns, rotary, numbered: false, turning })
    }

    /// The scene of a program, with the blank as it is held here.
    pub(super) fn over(&self, own: Scene) -> Scene {
        let held = Scene::clone(&self.0);
        let machine = Machine { start: own.machine.start, ..held.machine };
        let cutters = own.cutters.into_iter().map(|cutter| same(&held.cutters, cutter)).collect();
        Scene {
            machine,
            controller: held.controller,
            blank: held.blank,
            chuck: held.chuck,
            faceplate: held.faceplate,
            drive: held.drive,
            tailstock: held.tailstock,
            fixed: held.fixed,
            moving: held.moving,
            cutters,
            ..own
        }
    }
}

/// The cutter of a scene that cuts as this one does, under this one's number; or this one.
fn same(known: &[Cutter], cutter: Cutter) -> Cutter {
    let same = |other: &&Cutter| {
        (other.flutes.shape(), other.flutes.radius()) == (cutter.flutes.shape(), cutter.flutes.radius())
    };
    known.iter().find(same).cloned().map_or(cutter.clone(), |found| Cutter { number: cutter.number, ..found })
}
