//! `report.json`, its schema, and `timings.json`.
//!
//! The structs in `rows` are the file format. A field that a run cannot fill
//! is null, never missing. Numbers are rounded to six decimals, a nanometre where they are millimetres, so that they
//! read well and the file is the same everywhere.

mod course;
mod fill;
mod preparation;
mod rows;

use crate::run::{Run, Stage};
pub(crate) use fill::place;
pub(crate) use rows::PlaceRow;
use rows::{Report, Timing, Timings};
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::{Serialize, Serializer};
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter};

/// Number of the report's format; it grows when a reader of the format before would be misled.
pub const FORMAT: u32 = 1;

/// Why a report could not be put together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum JsonError {
    /// A number is not finite.
    #[error("report: {field} is not a finite number")]
    NotFinite {
        /// Path of the field, for example `findings[2].value`.
        field: String,
    },
}

/// The text of `report.json`, ended by a line feed.
///
/// # Errors
///
/// [`JsonError::NotFinite`] when a result is infinite or not a number.
pub fn report(run: &Run) -> Result<String, JsonError> {
    written(&Report::new(run))
}

/// The reports of several runs as one list.
///
/// # Errors
///
/// As [`report()`].
pub fn reports(runs: &[&Run]) -> Result<String, JsonError> {
    written(&runs.iter().map(|run| Report::new(run)).collect::<Vec<_>>())
}

/// The text of `timings.json`: what differs from run to run and so stays out of the report.
///
/// # Errors
///
/// [`JsonError::NotFinite`] when a time is infinite or not a number.
pub fn timings(threads: usize, stages: &[Stage]) -> Result<String, JsonError> {
    written(&Timings {
        format: FORMAT,
        threads,
        total_s: Number(stages.iter().map(|stage| stage.seconds).sum()),
        stages: stages.iter().map(|stage| Timing { name: stage.name, seconds: Number(stage.seconds) }).collect(),
    })
}

/// The JSON schema (draft 2020-12) of `report.json`, ended by a line feed.
pub fn schema() -> String {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let schema = settings.into_generator().into_root_schema_for::<Report>();
    format!("{:#}\n", schema.as_value())
}

/// A value as JSON that reads well, ended by a line feed.
pub(crate) fn written(value: &impl Serialize) -> Result<String, JsonError> {
    written_as(value, PrettyFormatter::new())
}

/// A value as JSON without a blank that is not needed, ended by a line feed.
pub(crate) fn packed(value: &impl Serialize) -> Result<String, JsonError> {
    written_as(value, CompactFormatter)
}

fn written_as(value: &impl Serialize, formatter: impl Formatter) -> Result<String, JsonError> {
    let mut bytes = Vec::new();
    let mut serializer = serde_json::Serializer::with_formatter(&mut bytes, formatter);
    // Strings, integers and maps with text keys always serialize: only `Number` can refuse.
    serde_path_to_error::serialize(value, &mut serializer)
        .map_err(|error| JsonError::NotFinite { field: error.path().to_string() })?;
    bytes.push(b'\n');
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A finite number, rounded to six decimals.
#[derive(Clone, Copy, JsonSchema)]
#[schemars(transparent)]
pub(crate) struct Number(pub(crate) f64);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if !self.0.is_finite() {
            return Err(serde::ser::Error::custom("not a finite number"));
        }
        serializer.serialize_f64(rounded(self.0))
    }
}

/// Six decimals kept; a number too great to have them is left alone, and minus zero becomes zero.
fn rounded(value: f64) -> f64 {
    if value.abs() > 1e9 { value } else { (value * 1e6).round() / 1e6 + 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::{Loads, Target};
    use crate::sample;

    fn value(run: &Run) -> serde_json::Value {
        serde_json::from_str(&report(run).unwrap()).unwrap()
    }

    fn valid(run: &Run) -> bool {
        let schema = serde_json::from_str(&schema()).unwrap();
        jsonschema::validator_for(&schema).unwrap().is_valid(&value(run))
    }

    /// Everything a run may lack, lacking.
    fn bare() -> Run {
        let mut run = Run { title: String::new(), maps: vec![], clearances: vec![], assumed: vec![], ..sample::run() };
        (run.zero_window, run.times, run.series, run.preparation) = (None, None, None, None);
        run.blocks = None;
        (run.cutters, run.loads) = (vec![], Loads::default());
        run.not_checked[0].how_to_add.clear();
        let program = &mut run.programs[0];
        (program.time, program.extents, program.winding) = (None, None, None);
        let finding = &mut run.findings[0];
        (finding.program, finding.lines, finding.cutter, finding.place) = (None, None, None, None);
        (finding.value, finding.unit) = (None, None);
        run
    }

    #[test]
    fn a_report_follows_its_own_schema() {
        assert!(valid(&sample::run()));
        assert!(valid(&bare()));
        let target = Target { gouge_mm3: 1.0, leftover_mm3: 2.0, deepest_gouge_mm: 0.1, thickest_leftover_mm: 0.4 };
        assert!(valid(&Run { target: Some(target), ..sample::run() }));
    }

    #[test]
    fn the_schema_refuses_a_missing_field_and_another_format() {
        let schema = serde_json::from_str(&schema()).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let whole = value(&bare());
        for field in whole.as_object().unwrap().keys() {
            let mut without = whole.clone();
            without.as_object_mut().unwrap().remove(field);
            assert!(!validator.is_valid(&without), "{field} may not be missing");
        }
        for field in whole["findings"][0].as_object().unwrap().keys() {
            let mut without = whole.clone();
            without["findings"][0].as_object_mut().unwrap().remove(field);
            assert!(!validator.is_valid(&without), "findings: {field} may not be missing");
        }
        let mut other = whole.clone();
        other["format"] = 2.into();
        assert!(!validator.is_valid(&other));
    }

    #[test]
    fn what_a_run_cannot_fill_is_null() {
        let value = value(&bare());
        for (row, fields) in [
            (&value, &["zero_window", "target", "job", "series", "blocks", "preparation"][..]),
            (&value["loads"], &["power_w", "torque_nmm", "force_n", "axial_n", "spring_mm"]),
            (&value["programs"][0], &["time", "extents", "winding"]),
            (&value["findings"][0], &["program", "file", "lines", "cutter", "where", "value", "unit", "accepted"]),
            (&value["not_checked"][0], &["how_to_add"]),
        ] {
            for field in fields {
                assert!(row.as_object().unwrap().get(*field).unwrap().is_null(), "{field}");
            }
        }
    }

    #[test]
    fn the_keys_stand_in_the_order_of_the_format() {
        let text = report(&sample::run()).unwrap();
        let keys = [
            "format",
            "title",
            "verdict",
            "assumed",
            "not_checked",
            "grid",
            "blank_mm3",
            "removed_mm3",
            "left_mm3",
            "programs",
            "cutters",
            "job",
            "loads",
            "series",
            "blocks",
            "findings",
            "clearances",
            "zero_window",
            "target",
            "maps",
        ];
        let places: Vec<_> = keys.iter().map(|key| text.find(&format!("\n  \"{key}\": ")).unwrap()).collect();
        assert!(places.is_sorted());
        assert!(text.ends_with("}\n"));
    }

    #[test]
    fn programs_count_from_one_and_numbers_are_rounded() {
        let mut run = sample::run();
        run.removed_mm3 = 0.1 + 0.2;
        run.findings[0].value = Some(-1e-9);
        let text = report(&run).unwrap();
        assert!(text.contains("\"removed_mm3\": 0.3,"));
        assert!(text.contains("\"value\": 0.0,"));
        let value = value(&run);
        assert_eq!(value["findings"][0]["program"], 1);
        assert_eq!(value["findings"][0]["file"], "groove.nc");
        assert_eq!(value["findings"][0]["lines"], serde_json::json!([12, 14]));
        assert_eq!(value["clearances"][1]["program"], 1);
    }

    #[test]
    fn the_course_stands_in_columns_of_one_length() {
        let run = sample::run();
        let series = &value(&run)["series"];
        let count = run.series.as_ref().unwrap().slices.len();
        let engagement = series["engagement"].as_object().unwrap();
        assert!(
            engagement.len() == 9 && engagement.values().all(|it| it.as_array().is_some_and(|it| it.len() == count))
        );
        let is_column = |(name, column): (&String, &serde_json::Value)| match column.as_array() {
            Some(column) => assert!(name == "starts_s" || column.len() == count, "{name}"),
            None => assert!(
                name == "step_s"
                    || name == "engagement"
                    || column.is_null()
                    || column["high"].as_array().unwrap().len() == count
            ),
        };
        series.as_object().unwrap().iter().for_each(is_column);
        assert_eq!(series["program"][0], 1);
        assert_eq!(series["power_w"]["high"][3], 24.5);
        assert!(series["spring_mm"].is_null() && series["clearance_mm"][count - 1].is_null());
        assert_eq!(
            value(&run)["loads"]["power_w"],
            serde_json::json!({
                "low": 12.25, "high": 24.5, "limit": null, "breaks": false, "program": 1, "line": 13, "cutter": 1
            })
        );
        let blocks = value(&run)["blocks"].clone();
        assert_eq!((&blocks["blocks_a_row"], &blocks["line"]), (&1.into(), &serde_json::json!([10, 11])));
        assert_eq!((&blocks["taken_s"][1], &blocks["air_s"][1]), (&185.5.into(), &12.0.into()));
        assert_eq!(value(&run)["job"]["batch"], serde_json::json!({"pieces": 40, "total_s": 15_000.0}));
    }

    #[test]
    fn a_number_that_is_not_finite_is_named() {
        let mut run = sample::run();
        run.findings[0].value = Some(f64::NAN);
        assert_eq!(report(&run), Err(JsonError::NotFinite { field: "findings[0].value".to_owned() }));
        run.findings.clear();
        run.programs[0].extents.as_mut().unwrap().z_mm[1] = f64::INFINITY;
        assert_eq!(report(&run), Err(JsonError::NotFinite { field: "programs[0].extents".to_owned() }));
    }

    #[test]
    fn every_field_of_the_schema_is_described() {
        fn check(node: &serde_json::Value, path: &str) {
            if let Some(fields) = node.get("properties").and_then(|p| p.as_object()) {
                for (name, field) in fields {
                    assert!(field.get("description").is_some(), "{path}.{name} has no description");
                }
            }
            for (name, part) in node.get("$defs").and_then(|d| d.as_object()).into_iter().flatten() {
                check(part, name);
            }
        }
        check(&serde_json::from_str(&schema()).unwrap(), "report");
    }

    #[test]
    fn timings_are_apart() {
        let stages = [Stage { name: "carve", seconds: 1.5 }, Stage { name: "write", seconds: 0.25 }];
        let value: serde_json::Value = serde_json::from_str(&timings(2, &stages).unwrap()).unwrap();
        assert_eq!(value["total_s"], 1.75);
        assert_eq!(value["stages"][0]["name"], "carve");
        assert!(!report(&sample::run()).unwrap().contains("seconds"));
    }
}
