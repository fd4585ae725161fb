//! A scene without a scene file: one program, one blank, one cutter, each in a few characters.
//!
//! ```text
//! blank:   DIAMETERxLENGTH      64x200    2 1/4 in x 6 3/4 in
//!          ACROSS sq x LENGTH   60 sq x 110
//! cutter:  flat:DIAMETER        flat:6    flat:1/4in
//!          ball:DIAMETER        ball:3
//!          bull:DIAMETER:CORNER bull:8:1
//!          vee:ANGLE:DIAMETER   vee:90:6
//!          drill:DIAMETER       drill:5
//!          taper:ANGLE:TIP:DIAMETER   taper:5:1:6
//! ```

use std::path::{Path, PathBuf};

use dryturn_geom::units::{LengthUnit, millimetres};

use crate::build::{LoadOptions, parse_as};
use crate::error::SceneError;
use crate::model::{Origin, Scene};

const BLANK_HELP: &str = "write DIAMETERxLENGTH in mm, for example 64x200; or \"60 sq x 110\" for a square";
const CUTTER_HELP: &str = "write flat:DIAMETER, ball:DIAMETER, bull:DIAMETER:CORNER, \
    vee:ANGLE:DIAMETER, drill:DIAMETER or taper:ANGLE:TIP:DIAMETER";

impl Scene {
    /// A scene for one program on a blank and with a cutter given as on the command line.
    ///
    /// # Errors
    /// [`SceneError`] where an argument cannot be read or the program does not exist.
    pub fn from_flags(program: &Path, blank: &str, cutter: &str) -> Result<Scene, SceneError> {
        let folder = program.parent().unwrap_or(Path::new(""));
        let file = program.file_name().unwrap_or_default().to_string_lossy();
        let text = scene_text(&file, blank, cutter)?;
        let name = program.display().to_string();
        std::fs::metadata(program).map_err(|source| SceneError::Read { path: name.clone(), source })?;
        parse_as(&text, &name, folder, LoadOptions::default(), Origin::Flag)
    }

    /// The text of a scene file in `folder` that says what [`Scene::from_flags`] is told.
    ///
    /// # Errors
    /// As [`Scene::from_flags`].
    pub fn flags_to_toml(program: &Path, blank: &str, cutter: &str, folder: &Path) -> Result<String, SceneError> {
        let read = |path: &Path| {
            path.canonicalize().map_err(|source| SceneError::Read { path: path.display().to_string(), source })
        };
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let (program, folder): (PathBuf, PathBuf) = (read(program)?, read(folder)?);
        let file = program.strip_prefix(&folder).unwrap_or(&program);
        let parts: Vec<_> = file.iter().map(|part| part.to_string_lossy()).collect();
        let written = if file.is_absolute() { file.display().to_string() } else { parts.join("/") };
        scene_text(&written, blank, cutter)
    }
}

fn scene_text(program: &str, blank: &str, cutter: &str) -> Result<String, SceneError> {
    let blank = blank_keys(blank)?;
    let cutter = cutter_keys(cutter, LengthUnit::Millimetre)?;
    let program = toml::Value::from(program);
    Ok(format!("format = 1\nblank = {{ {blank} }}\nprogram = [{{ file = {program} }}]\ncutter = [{{ {cutter} }}]\n"))
}

fn blank_keys(text: &str) -> Result<String, SceneError> {
    let refuse =
        |message: String| SceneError::Argument { what: "a blank", text: text.into(), message, help: BLANK_HELP };
    let Some((across, length)) = text.split_once(['x', 'X', '×']) else {
        return Err(refuse("it needs a diameter and a length with an x between".into()));
    };
    let size = |part: &str| positive(part, LengthUnit::Millimetre).map_err(refuse);
    let length = size(length)?;
    match across.trim().strip_suffix("sq") {
        Some(flats) => Ok(format!("across_flats = {}, length = {length}", size(flats)?)),
        None => Ok(format!("diameter = {}, length = {length}", size(across)?)),
    }
}

/// The keys of a `[[cutter]]` that a few characters such as `flat:6` stand for, its lengths in mm; `unit` is that of
/// numbers that do not carry their own.
///
/// # Errors
/// [`SceneError::Argument`] where the text is not a cutter.
pub fn cutter_keys(text: &str, unit: LengthUnit) -> Result<String, SceneError> {
    let refuse =
        |message: String| SceneError::Argument { what: "a cutter", text: text.into(), message, help: CUTTER_HELP };
    let parts: Vec<&str> = text.split(':').map(str::trim).collect();
    let size = |part: &str| positive(part, unit).map_err(refuse);
    let angle = |part: &str| match part.parse::<f64>() {
        Ok(angle) if angle > 0.0 && angle < 180.0 => Ok(angle),
        _ => Err(refuse(format!("`{part}` is not an angle between 0 and 180 degrees"))),
    };
    Ok(match parts[..] {
        [shape @ ("flat" | "ball" | "drill"), diameter] => {
            format!("shape = \"{shape}\", diameter = {}", size(diameter)?)
        }
        ["bull", diameter, corner] => {
            format!("shape = \"bull\", diameter = {}, corner = {}", size(diameter)?, size(corner)?)
        }
        ["vee", angle_of, diameter] => {
            format!("shape = \"vee\", angle = {}, diameter = {}", angle(angle_of)?, size(diameter)?)
        }
        ["taper", angle_of, tip, diameter] => format!(
            "shape = \"taper\", angle = {}, tip = {}, diameter = {}",
            angle(angle_of)?,
            size(tip)?,
            size(diameter)?
        ),
        [shape @ ("flat" | "ball" | "drill" | "bull" | "vee" | "taper"), ..] => {
            return Err(refuse(format!("a {shape} cutter takes other sizes")));
        }
        _ => return Err(refuse("its shape is not known".into())),
    })
}

fn positive(text: &str, unit: LengthUnit) -> Result<f64, String> {
    let length = millimetres(text, unit).map_err(|error| error.to_string())?;
    if length > 0.0 && length <= 1e5 {
        Ok(length)
    } else {
        Err(format!("`{}` is not a size a blank or cutter has", text.trim()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_in_a_few_characters() {
        for (text, keys) in [
            ("64x200", "diameter = 64, length = 200"),
            ("64 X 200 mm", "diameter = 64, length = 200"),
            ("2 1/4 in x 6 3/4 in", "diameter = 57.15, length = 171.45"),
            ("60 sq x 110", "across_flats = 60, length = 110"),
            ("60sq×110", "across_flats = 60, length = 110"),
        ] {
            assert_eq!(blank_keys(text).unwrap(), keys);
        }
        for text in ["", "64", "x", "64x", "0x200", "64x-200", "nanx5", "64xx200", "sq x 5", "64x1e9"] {
            assert!(blank_keys(text).is_err(), "{text}");
        }
    }

    #[test]
    fn cutters_in_a_few_characters() {
        for (text, keys) in [
            ("flat:6", "shape = \"flat\", diameter = 6"),
            ("ball:1/4in", "shape = \"ball\", diameter = 6.35"),
            ("vee:90:6", "shape = \"vee\", angle = 90, diameter = 6"),
            ("bull:8:1", "shape = \"bull\", diameter = 8, corner = 1"),
            ("taper:5:1:6", "shape = \"taper\", angle = 5, tip = 1, diameter = 6"),
        ] {
            assert_eq!(cutter_keys(text, LengthUnit::Millimetre).unwrap(), keys);
        }
        for text in ["", "flat", "flat:", "flat:0", "vee:6", "vee:200:6", "round:6", "flat:6:6"] {
            assert!(cutter_keys(text, LengthUnit::Millimetre).is_err(), "{text}");
        }
    }

    #[test]
    fn a_number_without_a_unit_takes_the_one_given() {
        assert_eq!(cutter_keys("flat:1/2", LengthUnit::Inch).unwrap(), "shape = \"flat\", diameter = 12.7");
        assert_eq!(cutter_keys("flat:6mm", LengthUnit::Inch).unwrap(), "shape = \"flat\", diameter = 6");
    }

    #[test]
    fn what_cannot_be_read_says_how_it_is_written() {
        let error = blank_keys("64").unwrap_err();
        let expected = "\
error: `64` is not a blank: it needs a diameter and a length with an x between
 |
 = help: write DIAMETERxLENGTH in mm, for example 64x200; or \"60 sq x 110\" for a square
";
        assert_eq!(error.render(false), expected);
    }
}
