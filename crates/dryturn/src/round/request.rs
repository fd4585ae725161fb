//! From what was typed to what is asked for.

use dryturn_geom::units::{LengthUnit, millimetres};
use dryturn_plan::round::{Held, Request, Work};
use dryturn_plan::{Blank, Posting, Section};

use super::{Along, FeedForm, Rotary, RoundArguments, Side, Turns, Units, Winding, refused};
use crate::failure::Failure;
use crate::scenes;

/// What is asked for.
pub(super) fn of(arguments: &RoundArguments) -> Result<Request, Failure> {
    let held = match &arguments.scene {
        Some(scene) => Some(Held::of(scenes::load_holding(scene, &arguments.places, &[&arguments.output])?)),
        None => None,
    };
    let posting = match &held {
        Some(held) => posting_of(held, arguments)?,
        None => posting(arguments),
    };
    asked(arguments, held, posting)
}

/// The same from the scene that holds the blank, if there is one, and what its machine wants.
fn asked(arguments: &RoundArguments, held: Option<Held>, posting: Posting) -> Result<Request, Failure> {
    let length = |option: &str, text: &str| {
        millimetres(text, posting.unit).map_err(|error| refused(format!("--{option}: {error}")))
    };
    let some = |option: &str, text: &Option<String>| text.as_deref().map(|text| length(option, text)).transpose();
    let (from, span, to) =
        (length("from", &arguments.from)?, length("length", &arguments.length)?, length("to", &arguments.to)?);
    let blank = match &held {
        Some(held) => held.blank()?,
        None => Blank {
            section: section(arguments, &length)?,
            length: some("blank-length", &arguments.blank_length)?.unwrap_or(from + span),
            runout: length("runout", &arguments.runout)?,
            bow: length("bow", &arguments.bow)?,
        },
    };
    let Some(file) = arguments.output.file_name() else {
        return Err(refused(format!("{}: name a file to write the program to", arguments.output.display())));
    };
    Ok(Request {
        blank,
        held,
        material: arguments.material.clone(),
        work: work(arguments, to),
        from,
        length: span,
        cutter: arguments.cutter.clone(),
        advance: some("advance", &arguments.advance)?,
        depth: some("depth", &arguments.depth)?,
        speed: length("speed", &arguments.speed)?,
        spindle: arguments.spindle,
        clearance: length("clearance", &arguments.clearance)?,
        posting,
        file: file.to_string_lossy().into_owned(),
    })
}

fn section(
    arguments: &RoundArguments,
    length: &impl Fn(&str, &str) -> Result<f64, Failure>,
) -> Result<Section, Failure> {
    if let Some(text) = &arguments.square {
        return Ok(Section::Polygon { sides: 4, across: length("square", text)? });
    }
    let Some(text) = &arguments.polygon else {
        return Ok(Section::Round { diameter: length("diameter", arguments.diameter.as_deref().unwrap_or_default())? });
    };
    let none = || refused(format!("--polygon: `{text}` is not N:ACROSS; write for example 8:60"));
    let (sides, across) = text.split_once(':').ok_or_else(none)?;
    let sides = sides.trim().parse().map_err(|_| none())?;
    Ok(Section::Polygon { sides, across: length("polygon", across)? })
}

fn work(arguments: &RoundArguments, to: f64) -> Work {
    match arguments.flats {
        Some(faces) => Work::Prism { to, faces },
        None if arguments.coupon => Work::Coupon { to },
        None => Work::Cylinder {
            to,
            winding: match arguments.winding {
                Winding::OneWay => dryturn_plan::round::Winding::OneWay,
                Winding::BackAndForth => dryturn_plan::round::Winding::BackAndForth,
            },
            rezero: arguments.rezero,
        },
    }
}

fn unit(arguments: &RoundArguments) -> LengthUnit {
    match arguments.units {
        Units::Mm => LengthUnit::Millimetre,
        Units::Inch => LengthUnit::Inch,
    }
}

/// What the machine of a scene wants.
fn posting_of(held: &Held, arguments: &RoundArguments) -> Result<Posting, Failure> {
    let of_scene = held.posting(unit(arguments))?;
    let turning = arguments.fastest_turn.or(of_scene.turning);
    Ok(Posting { numbered: arguments.numbers, turning, ..of_scene })
}

fn posting(arguments: &RoundArguments) -> Posting {
    Posting {
        unit: unit(arguments),
        feed: match arguments.feed_form {
            FeedForm::Linear => dryturn_plan::FeedForm::Linear,
            FeedForm::All => dryturn_plan::FeedForm::All,
            FeedForm::Inverse => dryturn_plan::FeedForm::Inverse,
        },
        along: match arguments.along {
            Along::X => dryturn_geom::Along::X,
            Along::Y => dryturn_geom::Along::Y,
        },
        chuck_on: match arguments.chuck_on {
            Side::Minus => dryturn_geom::Side::Minus,
            Side::Plus => dryturn_geom::Side::Plus,
        },
        turns: match arguments.turns {
            Turns::Iso => dryturn_geom::Turns::Iso,
            Turns::Reversed => dryturn_geom::Turns::Reversed,
        },
        rotary: match arguments.rotary {
            Rotary::A => 0,
            Rotary::B => 1,
            Rotary::C => 2,
        },
        numbered: arguments.numbers,
        turning: arguments.fastest_turn,
    }
}
