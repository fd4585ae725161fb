//! What blanks are made of.
//!
//! The table is in `data/materials.csv`, with its sources. Strengths of wood are averages of clear, straight-grained
//! wood at 12 % moisture; single pieces differ by a fifth and more.

use std::sync::LazyLock;

/// A material; values that no source gives are `None`.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Its main name.
    pub name: String,
    /// Whether it is wood, its grain along the axis; all else is taken as alike in all directions.
    pub is_wood: bool,
    /// kg/m³.
    pub density: f64,
    /// Modulus of elasticity along the grain, MPa. That of wood is found by bending, and holds the shear of a span of 14
    /// depths.
    pub modulus: Option<f64>,
    /// Shear modulus, of wood for twisting about the grain, MPa.
    pub rigidity: Option<f64>,
    /// Bending strength, MPa.
    pub bending: Option<f64>,
    /// Shear strength along the grain, MPa.
    pub shear: Option<f64>,
    /// Least and greatest specific cutting force, N/mm².
    pub cutting: Option<[f64; 2]>,
    /// Where the values come from.
    pub source: String,
}

/// What [`Material::source`] says of values of the user's own.
pub(crate) const OWN: &str = "given in the scene";

impl Material {
    /// Whether its values are the user's own.
    pub fn is_own(&self) -> bool {
        self.source == OWN
    }

    /// The material as a value of a scene file: its name, or a table of own values.
    pub(crate) fn to_toml(&self) -> String {
        if self.source != OWN {
            return toml::Value::from(self.name.as_str()).to_string();
        }
        let mut keys = vec![format!("name = {}", toml::Value::from(self.name.as_str()))];
        let numbers = [
            ("density", Some(self.density)),
            ("modulus", self.modulus),
            ("rigidity", self.rigidity),
            ("bending", self.bending),
            ("shear", self.shear),
        ];
        keys.extend(numbers.iter().filter_map(|(key, value)| value.map(|value| format!("{key} = {value:?}"))));
        keys.push(format!("wood = {}", self.is_wood));
        keys.extend(self.cutting.map(|[low, high]| format!("cutting = [{low:?}, {high:?}]")));
        format!("{{ {} }}", keys.join(", "))
    }
}

struct Row {
    names: Vec<String>,
    material: Material,
}

static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| rows(include_str!("../data/materials.csv")));

fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).comment(Some(b'#')).from_reader(text.as_bytes());
    reader.records().filter_map(|record| row(&record.ok()?)).collect()
}

fn row(record: &csv::StringRecord) -> Option<Row> {
    let names: Vec<String> = record.get(0)?.split('|').map(str::to_owned).collect();
    let number = |column: usize| record.get(column).and_then(|field| field.parse::<f64>().ok());
    let material = Material {
        name: names.first()?.clone(),
        is_wood: record.get(1)? == "wood",
        density: number(2)?,
        modulus: number(3),
        rigidity: number(4),
        bending: number(5),
        shear: number(6),
        cutting: number(7).zip(number(8)).map(|(low, high)| [low, high]),
        source: record.get(9)?.to_owned(),
    };
    Some(Row { names, material })
}

/// The words of a name in lower case, sorted, so that neither case nor order matters.
fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> =
        name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
    words.sort();
    words
}

/// The material of a name; case, order of words and hyphens are free.
///
/// ```
/// let maple = dryturn_scene::material::find("Maple, hard").unwrap();
/// assert_eq!(maple.modulus, Some(12_600.0));
/// ```
pub fn find(name: &str) -> Option<Material> {
    let wanted = words(name);
    TABLE.iter().find(|row| row.names.iter().any(|known| words(known) == wanted)).map(|row| row.material.clone())
}

/// Longer words than this are no misspelt names, bytes.
const LONGEST_NAME: usize = 60;

/// The known name nearest to one that is not known, if any is near.
pub(crate) fn nearest(name: &str) -> Option<String> {
    if name.len() > LONGEST_NAME {
        return None;
    }
    let wanted = words(name).join(" ");
    let allowed = 1 + wanted.chars().count() / 4;
    TABLE
        .iter()
        .flat_map(|row| &row.names)
        .map(|known| (strsim::osa_distance(&wanted, &words(known).join(" ")), known))
        .filter(|&(distance, _)| distance <= allowed)
        .min()
        .map(|(_, known)| known.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_table_is_read() {
        let lines = include_str!("../data/materials.csv").lines().filter(|line| !line.starts_with('#')).count();
        assert_eq!(TABLE.len(), lines);
        for row in TABLE.iter() {
            assert!(row.material.density > 100.0 && row.material.modulus.is_some_and(|m| m > 100.0), "{:?}", row.names);
            assert!(!row.material.source.is_empty());
        }
    }

    #[test]
    fn no_name_means_two_materials() {
        let mut all: Vec<Vec<String>> = TABLE.iter().flat_map(|row| row.names.iter().map(|name| words(name))).collect();
        let count = all.len();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), count);
    }

    /// Wood Handbook FPL-GTR-190 (2010), Table 5-3a and 5-5b.
    #[test]
    fn names_are_found_however_they_are_written() {
        for (name, modulus) in [
            ("hard maple", 12_600.0),
            ("MAPLE, Sugar", 12_600.0),
            ("Black Walnut", 11_600.0),
            ("walnut, black", 11_600.0),
            ("western redcedar", 7_700.0),
            ("Western Red Cedar", 7_700.0),
            ("yellow-poplar", 10_900.0),
            ("Douglas-fir", 13_400.0),
            ("teak", 10_690.0),
            ("Acetal", 3_000.0),
        ] {
            assert_eq!(find(name).and_then(|m| m.modulus), Some(modulus), "{name}");
        }
        assert_eq!(find("granite"), None);
        assert_eq!(nearest("hard mapel").as_deref(), Some("hard maple"));
        assert_eq!(nearest("xyzzy"), None);
    }
}
