//! Sizes, views, sections and moments as they are typed.

use std::str::FromStr;

use dryturn_render::View;

/// Width and height of a picture, pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Size {
    pub(crate) width: u32,
    pub(crate) height: u32,
}

/// Least and greatest side of a picture, pixels.
const SIDES: std::ops::RangeInclusive<u32> = 16..=16384;

impl FromStr for Size {
    type Err = String;

    fn from_str(text: &str) -> Result<Size, String> {
        let side = |text: &str| text.trim().parse::<u32>().ok().filter(|side| SIDES.contains(side));
        let sides = text.split_once(['x', '×']).and_then(|(width, height)| Some((side(width)?, side(height)?)));
        let (width, height) = sides.ok_or_else(|| {
            format!("write width x height, such as 2400x1600, each {} to {}", SIDES.start(), SIDES.end())
        })?;
        Ok(Size { width, height })
    }
}

/// A view by its name or its numbers.
pub(crate) fn sight(text: &str) -> Result<View, String> {
    if let Some(view) = View::named(text.trim()) {
        return Ok(view);
    }
    let upright = text.trim().strip_prefix("standing,");
    let (turn, tilt, distance) = match numbers(upright.unwrap_or(text)).unwrap_or_default()[..] {
        [turn, tilt] => (turn, tilt, None),
        [turn, tilt, distance] if distance > 0.0 => (turn, tilt, Some(distance)),
        _ => {
            let names: Vec<&str> = View::names().collect();
            let form = "write turn,tilt in degrees, such as 30,20, and a distance in mm behind them if wanted";
            return Err(format!("{form}, or one of {}", names.join(", ")));
        }
    };
    if tilt.abs() > 90.0 {
        return Err("the tilt goes from -90, seen from below, to 90, seen from above".to_owned());
    }
    Ok(View { turn, tilt, distance, standing: upright.is_some(), ..View::default() })
}

/// Where the piece is cut open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cut {
    /// Through the axis, along the plane that faces the eye more.
    Lengthwise,
    /// Across one of the axes of the piece frame (0 is x, the station), at a coordinate in mm.
    Across(usize, f64),
    /// Through a point; what the normal points to goes.
    Through { point: [f64; 3], normal: [f64; 3] },
}

impl FromStr for Cut {
    type Err = String;

    fn from_str(text: &str) -> Result<Cut, String> {
        cut(text.trim()).ok_or_else(|| {
            "write a station in mm such as 40, lengthwise, x=40, y=0 or z=0, or point/normal such as 40,0,0/1,0,1"
                .to_owned()
        })
    }
}

fn cut(text: &str) -> Option<Cut> {
    if text == "lengthwise" {
        return Some(Cut::Lengthwise);
    }
    if let Some((axis, at)) = text.split_once('=') {
        let axis = ["x", "y", "z"].iter().position(|name| *name == axis.trim())?;
        return Some(Cut::Across(axis, number(at)?));
    }
    if let Some((point, normal)) = text.split_once('/') {
        let triple = |text: &str| -> Option<[f64; 3]> { numbers(text)?.try_into().ok() };
        let (point, normal) = (triple(point)?, triple(normal)?);
        let length = normal.iter().map(|part| part * part).sum::<f64>().sqrt();
        return (length > 0.0).then(|| Cut::Through { point, normal: normal.map(|part| part / length) });
    }
    Some(Cut::Across(0, number(text)?))
}

/// A moment of the run: when a line of a program has run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Moment {
    /// Name of the program's file, or its number.
    pub(crate) program: String,
    /// Line, the first being 1; 0 is before the program.
    pub(crate) line: u32,
}

impl FromStr for Moment {
    type Err = String;

    fn from_str(text: &str) -> Result<Moment, String> {
        let parts = text.rsplit_once(':').filter(|(program, _)| !program.is_empty());
        parts
            .and_then(|(program, line)| Some(Moment { program: program.to_owned(), line: line.trim().parse().ok()? }))
            .ok_or_else(|| {
                "write program and line as findings do: finial.nc:120, or 2:120 for the second program".to_owned()
            })
    }
}

fn number(text: &str) -> Option<f64> {
    text.trim().parse::<f64>().ok().filter(|number| number.is_finite() && number.abs() < 1e6)
}

/// Numbers between commas.
fn numbers(text: &str) -> Option<Vec<f64>> {
    text.split(',').map(number).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_and_bounded() {
        assert_eq!("2400x1600".parse(), Ok(Size { width: 2400, height: 1600 }));
        assert_eq!("600 × 400".parse(), Ok(Size { width: 600, height: 400 }));
        for wrong in ["2400", "0x10", "100000x10", "x", "-5x20", "20x20x20", ""] {
            assert!(wrong.parse::<Size>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn views_have_names_or_numbers() {
        let view = |turn, tilt, distance| Ok::<_, String>(View { turn, tilt, distance, ..View::default() });
        assert_eq!(sight("30,20"), view(30.0, 20.0, None));
        assert_eq!(sight("-30, 20, 500"), view(-30.0, 20.0, Some(500.0)));
        let upright = View { standing: true, ..view(90.0, 15.0, None).unwrap() };
        assert_eq!(sight("standing,90,15"), Ok(upright));
        assert_eq!(sight("end"), Ok(View::named("end").unwrap()));
        for wrong in ["30", "30,91", "30,20,0", "30,20,-5", "1,2,3,4", "side", "NaN,0", "inf,0", ""] {
            assert!(sight(wrong).is_err(), "{wrong}");
        }
        assert!(sight("side").unwrap_err().contains("three-quarter, front, back"));
    }

    #[test]
    fn sections_are_stations_or_planes() {
        assert_eq!("40".parse(), Ok(Cut::Across(0, 40.0)));
        assert_eq!("x=40".parse(), Ok(Cut::Across(0, 40.0)));
        assert_eq!("z = -2.5".parse(), Ok(Cut::Across(2, -2.5)));
        assert_eq!("lengthwise".parse(), Ok(Cut::Lengthwise));
        let slanting = Cut::Through { point: [40.0, 0.0, 0.0], normal: [0.6, 0.0, 0.8] };
        assert_eq!("40,0,0/3,0,4".parse(), Ok(slanting));
        for wrong in ["", "w=3", "x=", "40,0/1,0,0", "40,0,0/0,0,0", "across", "NaN", "1e9"] {
            assert!(wrong.parse::<Cut>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn moments_are_written_as_findings_write_them() {
        assert_eq!("groove.nc:14".parse(), Ok(Moment { program: "groove.nc".to_owned(), line: 14 }));
        assert_eq!("C:\\jobs\\a.nc:3".parse(), Ok(Moment { program: "C:\\jobs\\a.nc".to_owned(), line: 3 }));
        for wrong in ["groove.nc", ":3", "groove.nc:", "groove.nc:-1", "groove.nc:x", ""] {
            assert!(wrong.parse::<Moment>().is_err(), "{wrong}");
        }
    }
}
