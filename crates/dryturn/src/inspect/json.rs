//! A description for other programs. The names are an interface: add to them, never rename them. Lengths are mm, angles
//! degrees, whatever the program's unit; what is not known is null.

use dryturn_program::describe::{
    ArcUse, Blocks, CutterCall, CuttingZ, Extent, Feature, MeasuredFrom, Uncommon, Units, Used, Value, WordUse,
};
use dryturn_program::{Description, Diagnostic, Severity};
use serde_json::{Value as Json, json};

use super::Inspected;
use super::text::column;

/// Version of the layout.
const FORMAT: u32 = 1;

/// All programs, as one text that ends with a line feed.
pub(super) fn document(programs: Vec<Json>) -> String {
    let whole = json!({ "format": FORMAT, "programs": programs });
    format!("{whole:#}\n")
}

pub(super) fn one(name: &str, inspected: &Inspected) -> Json {
    match inspected {
        Inspected::Refused(reason) => json!({ "file": name, "error": reason, "description": null }),
        Inspected::Told { description, whole } => {
            let mut told = described(description);
            told["read_to_the_end"] = json!(whole);
            json!({ "file": name, "error": null, "description": told })
        }
    }
}

fn described(told: &Description) -> Json {
    json!({
        "lines": told.lines,
        "mostly_unreadable": told.unreadable.map(|one| json!({ "lines": one.lines, "of": one.of })),
        "blocks": blocks(&told.blocks),
        "ended": told.ended,
        "units": units(told.units),
        "linear_words": words(told, 0..3, linear_word),
        "rotary_words": words(told, 3..6, rotary_word),
        "words_not_executed": told.idle,
        "cutters": told.cutters.iter().map(cutter).collect::<Vec<_>>(),
        "feeds": {
            "mm_per_min": used(&told.feeds),
            "deg_per_min": used(&told.rotary_feeds),
            "inverse_per_min": used(&told.inverse_feeds),
            "blocks_without": told.without_feed,
        },
        "spindle": {
            "clockwise": told.spindle[0],
            "counter_clockwise": told.spindle[1],
            "off": told.spindle[2],
            "speeds_per_min": used(&told.speeds),
        },
        "cutting_z": told.cutting_z.as_ref().map(cutting_z),
        "arcs": arcs(&told.arcs),
        "cutter_compensation": told.compensation.map(|seen| json!({ "first_line": seen.line, "times": seen.times })),
        "uncommon": told.uncommon.iter().map(uncommon).collect::<Vec<_>>(),
        "feed_per_revolution": told.per_revolution.map(|seen| json!({ "first_line": seen.line, "times": seen.times })),
        "time": time(told),
        "diagnostics": {
            "notes": told.counted[0],
            "warnings": told.counted[1],
            "errors": told.counted[2],
            "first": told.remarks.iter().map(|(one, text)| remark(one, text)).collect::<Vec<_>>(),
        },
    })
}

const PLANES: [&str; 3] = ["XY", "ZX", "YZ"];

fn blocks(blocks: &Blocks) -> Json {
    json!({ "all": blocks.all, "fed": blocks.fed, "rapid": blocks.rapid, "from_unknown": blocks.from_unknown })
}

fn units(units: Units) -> Json {
    let (unit, line) = match units {
        Units::Unstated => ("mm", None),
        Units::Millimetres(line) => ("mm", Some(line)),
        Units::Inches(line) => ("inch", Some(line)),
        Units::Both(line) => ("both", Some(line)),
    };
    json!({ "unit": unit, "stated": line.is_some(), "first_line": line })
}

fn words(told: &Description, range: std::ops::Range<usize>, render: fn(&WordUse, bool) -> Json) -> Vec<Json> {
    let used = range.filter_map(|word| told.words[word].as_ref().map(|used| (word, used)));
    used.map(|(word, used)| render(used, told.from_zero & 1 << word != 0)).collect()
}

fn linear_word(word: &WordUse, from_zero: bool) -> Json {
    json!({
        "word": word.letter,
        "first_line": word.line,
        "moves": word.moves,
        "taken_from_zero": from_zero,
        "least_mm": word.all.map(least),
        "greatest_mm": word.all.map(greatest),
        "fed_least_mm": word.fed.map(least),
        "fed_greatest_mm": word.fed.map(greatest),
    })
}

fn rotary_word(word: &WordUse, from_zero: bool) -> Json {
    json!({
        "word": word.letter,
        "first_line": word.line,
        "moves": word.moves,
        "taken_from_zero": from_zero,
        "least_deg": word.all.map(least),
        "greatest_deg": word.all.map(greatest),
        "fed_least_deg": word.fed.map(least),
        "fed_greatest_deg": word.fed.map(greatest),
        "net_turns": word.winding.map(|winding| rounded(winding.net)),
        "greatest_turns": word.winding.map(|winding| rounded(winding.greatest)),
    })
}

fn least(extent: Extent) -> f64 {
    rounded(extent.least)
}

fn greatest(extent: Extent) -> f64 {
    rounded(extent.greatest)
}

fn cutter(call: &CutterCall) -> Json {
    let comments = call.comments.iter().map(|comment| json!({ "line": comment.line, "text": comment.text }));
    json!({
        "number": call.number,
        "first_line": call.line,
        "changes": call.changes,
        "fed_blocks": call.fed,
        "comments": comments.collect::<Vec<_>>(),
    })
}

fn used(used: &Used) -> Json {
    let value = |value: &Value| json!({ "value": decimal(value.value), "times": value.times });
    json!({
        "times": used.times,
        "least": used.span.map(|[least, _]| decimal(least)),
        "greatest": used.span.map(|[_, greatest]| decimal(greatest)),
        "values": used.values.as_ref().map(|values| values.iter().map(value).collect::<Vec<_>>()),
    })
}

fn cutting_z(z: &CuttingZ) -> Json {
    let measured_from = match z.measured_from {
        MeasuredFrom::Axis => "axis",
        MeasuredFrom::Surface => "surface",
        MeasuredFrom::Unclear => "unclear",
    };
    json!({
        "blocks": z.blocks,
        "least_mm": rounded(z.least),
        "greatest_mm": rounded(z.greatest),
        "median_mm": rounded(z.median),
        "share_at_or_under_zero": rounded(z.at_or_under_zero),
        "measured_from": measured_from,
    })
}

fn arcs(planes: &[Option<ArcUse>; 3]) -> Vec<Json> {
    let used = PLANES.iter().zip(planes).filter_map(|(plane, arcs)| arcs.map(|arcs| arcs_in(plane, arcs)));
    used.collect()
}

fn arcs_in(plane: &str, arcs: ArcUse) -> Json {
    json!({
        "plane": plane,
        "count": arcs.count,
        "least_radius_mm": rounded(arcs.least),
        "greatest_radius_mm": rounded(arcs.greatest),
        "first_line": arcs.line,
    })
}

fn uncommon(one: &Uncommon) -> Json {
    let what = match one.what {
        Feature::Code(code) => code.to_string(),
        Feature::Formulas => "expressions".to_owned(),
        Feature::Flow => "subprograms".to_owned(),
    };
    json!({ "what": what, "first_line": one.seen.line, "times": one.seen.times })
}

fn time(told: &Description) -> Json {
    let times = &told.times;
    let known = told.per_revolution.is_none();
    let [linear, all, inverse] = times.fed.map(|minutes| known.then(|| rounded(60.0 * minutes)));
    json!({
        "fed_linear_s": linear,
        "fed_all_s": all,
        "fed_inverse_s": inverse,
        "untold_blocks": times.untold,
        "dwell_s": rounded(times.dwell_seconds),
        "rapid_mm": rounded(times.rapid_way),
        "rapid_deg": rounded(times.rapid_turn),
    })
}

fn remark(one: &Diagnostic, text: &str) -> Json {
    let severity = match one.severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    };
    json!({
        "severity": severity,
        "kind": one.kind.name(),
        "line": one.line,
        "column": column(one, text),
        "bytes": [one.span.start, one.span.end],
        "message": one.message,
        "help": one.help,
        "text": text,
    })
}

/// To a millionth: what is left of sums and of inches says nothing.
fn rounded(value: f64) -> f64 {
    let rounded = (value * 1e6).round() / 1e6;
    // No minus zero.
    rounded + 0.0
}

/// The decimal number that a single-precision one was written as.
fn decimal(value: f32) -> f64 {
    value.to_string().parse().unwrap_or(f64::from(value))
}
