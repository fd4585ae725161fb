//! The keys of scene format 1, table by table.
//!
//! One list serves the reader, the search for the nearest key and the search for the table a key belongs to.

/// A table of the format: its path and the keys it may hold.
pub(crate) struct TableKeys {
    /// Dotted path; `[]` stands for any entry of an array of tables.
    pub(crate) path: &'static str,
    /// Keys with plain values.
    pub(crate) keys: &'static [&'static str],
    /// Keys that hold tables, or arrays of tables, of their own.
    pub(crate) tables: &'static [&'static str],
}

const fn table(path: &'static str, keys: &'static [&'static str], tables: &'static [&'static str]) -> TableKeys {
    TableKeys { path, keys, tables }
}

const AXES: &[&str] = &["x", "y", "z", "a"];
const ZERO_SYSTEMS: &[&str] = &["g55", "g56", "g57", "g58", "g59", "g59.1", "g59.2", "g59.3"];

/// Every table of the format. `zero` tables are listed once and used for the scene and for programs.
pub(crate) const TABLES: &[TableKeys] = &[
    table(
        "",
        &["format", "title", "units", "use"],
        &[
            "machine",
            "controller",
            "blank",
            "chuck",
            "faceplate",
            "drive",
            "tailstock",
            "fixed",
            "moving",
            "zero",
            "cutter",
            "program",
            "target",
            "grid",
            "checks",
            "batch",
            "doubt",
            "accept",
        ],
    ),
    table(
        "machine",
        &[
            "along",
            "rotary",
            "wrap_diameter",
            "turns",
            "chuck_on",
            "feed_counts",
            "bed",
            "spindle",
            "change",
            "spindle_power",
            "spindle_speed",
            "spindle_switch",
            "rotary_torque",
            "rise",
            "skew",
            "backlash",
        ],
        &["rapid", "accel", "reach", "start", "home"],
    ),
    table("machine.rapid", AXES, &[]),
    table("machine.accel", AXES, &[]),
    table("machine.reach", AXES, &[]),
    table("machine.start", AXES, &[]),
    table("machine.home", AXES, &[]),
    table(
        "controller",
        &[
            "arcs",
            "canned",
            "expressions",
            "subprograms",
            "inverse_time",
            "tool_length",
            "compensation",
            "not_understood",
            "m6",
            "dwell",
            "line_limit",
            "numbers",
            "block_delete",
            "arc_slack",
        ],
        &["budget", "drops"],
    ),
    table("controller.budget", &["steps", "depth", "blocks"], &[]),
    table(
        "blank",
        &[
            "shape",
            "diameter",
            "bore",
            "across_flats",
            "sides",
            "file",
            "units",
            "length",
            "turned",
            "flip",
            "shift",
            "turn",
        ],
        &["material", "runout", "runout_far", "bow", "off"],
    ),
    table("blank.material", &["name", "wood", "density", "modulus", "rigidity", "bending", "shear", "cutting"], &[]),
    table("blank.runout", &["y", "z"], &[]),
    table("blank.runout_far", &["y", "z"], &[]),
    table("blank.bow", &["amount", "angle"], &[]),
    table("blank.off", &["y", "z"], &[]),
    table("chuck", &["hold", "torque"], &["body", "jaws"]),
    table("chuck.body", &["diameter", "length"], &[]),
    table("chuck.jaws", &["count", "width", "length", "height", "grip", "turned"], &[]),
    table("faceplate", &["diameter", "thickness", "torque"], &["screws"]),
    table("faceplate.screws[]", &["radius", "angle", "diameter", "length"], &[]),
    table("drive", &["torque"], &["center", "body"]),
    table("drive.center", &["diameter", "length", "bite"], &[]),
    table("drive.body", &["diameter", "length"], &[]),
    table("tailstock", &["dimple", "force"], &["center", "head", "body"]),
    table("tailstock.center", &["angle", "diameter", "quill", "extension"], &[]),
    table("tailstock.head", &["diameter", "length"], &[]),
    table("tailstock.body", &["width", "above", "length"], &[]),
    table("fixed[]", &["name", "box"], &[]),
    table("moving[]", &["name", "diameter", "from", "to"], &[]),
    table("zero", AXES, ZERO_SYSTEMS),
    table("zero.system", AXES, &[]),
    table("zero.g59", AXES, &["1", "2", "3"]),
    table("zero.z", &["flat"], &["touch"]),
    table("zero.z.touch", &["station", "a"], &[]),
    table(
        "cutter[]",
        &[
            "number",
            "name",
            "from",
            "shape",
            "diameter",
            "corner",
            "angle",
            "tip",
            "tip_shape",
            "profile",
            "flute",
            "shank",
            "stickout",
            "teeth",
            "cuts_center",
            "holder",
            "depth",
            "width",
            "plunge",
            "chip",
            "length_error",
        ],
        &[],
    ),
    table("program[]", &["file", "cutter", "indexed"], &["zero", "slip", "parts"]),
    table("program[].slip", AXES, &[]),
    table("program[].parts", &["min_tab"], &[]),
    table("target", &["file", "units", "span", "after", "gouge", "leftover", "allowance"], &["place"]),
    table("target.place", &["x", "a", "axis", "flip"], &[]),
    table("grid", &["pitch"], &[]),
    table(
        "checks",
        &["past_axis", "slender", "poor_grip", "center_overextended", "grid_too_coarse", "spring", "safety"],
        &["near", "rapid_in_blank", "shank_in_blank", "wound_up", "mirrored"],
    ),
    table("checks.rapid_in_blank", &["depth", "volume"], &[]),
    table("checks.shank_in_blank", &["warning", "error"], &[]),
    table("checks.wound_up", &["minutes", "step"], &[]),
    table("checks.mirrored", &["ratio", "share"], &[]),
    table("batch", &["pieces", "loading"], &[]),
    table("doubt", &["x", "y", "z", "a", "runout"], &[]),
    table("accept[]", &["rule", "program", "lines", "why"], &[]),
];

/// The keys of the table at a schema path; an empty list for a path that is not in the format.
pub(crate) fn keys_of(path: &str) -> impl Iterator<Item = &'static str> {
    TABLES.iter().filter(move |t| t.path == path).flat_map(|t| t.keys.iter().chain(t.tables).copied())
}

/// The known key nearest to a misspelt one, if any is near enough.
pub(crate) fn nearest(key: &str, path: &str) -> Option<&'static str> {
    nearest_word(key, keys_of(path))
}

/// Longer words than this are not misspelt, bytes.
const LONGEST_WORD: usize = 40;

/// The known word nearest to a misspelt one, if any is near enough: one change, and one more for every four letters.
pub fn nearest_word<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    if word.len() > LONGEST_WORD {
        return None;
    }
    let allowed = 1 + word.chars().count() / 4;
    known
        .map(|known| (strsim::osa_distance(word, known), known))
        .filter(|&(distance, known)| distance <= allowed && distance < known.len())
        .min()
        .map(|(_, known)| known)
}

/// The table another table's key belongs to, as it is written in a scene (`[machine]`, `[[cutter]]`).
pub(crate) fn home_of(key: &str) -> Option<String> {
    TABLES
        .iter()
        .filter(|t| !t.path.is_empty() && t.path != "zero.system")
        .find(|t| t.keys.contains(&key) || t.tables.contains(&key))
        .map(|t| header(t.path))
}

/// A schema path as the header a scene would carry.
pub(crate) fn header(path: &str) -> String {
    if path == "zero.system" {
        return "[zero.g55]".to_owned();
    }
    match path.strip_suffix("[]") {
        Some(array) => format!("[[{array}]]"),
        None => format!("[{}]", path.replace("[]", "")),
    }
}
