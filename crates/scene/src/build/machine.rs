//! `[machine]` and `[controller]`.

use dryturn_geom::{Along, Side, Turns, Wrap};
use dryturn_program::{Dropped, NotUnderstood};

use crate::model::{Budget, Controller, Cylinder, FeedCounts, M6, Machine, PerAxis, SpindleSwitch};
use crate::read::{Bound, Item, Table};

/// Rapid rates taken where none are given: along, across, up in mm/min; turning in degrees/min.
const RAPID: PerAxis<f64> = PerAxis { x: 3000.0, y: 3000.0, z: 2000.0, a: 3600.0 };

pub(super) fn machine(root: &Table<'_>) -> Machine {
    let table = root.table("machine", "machine");
    let along = table.or(
        "along",
        table.choice("along", &[("x", Along::X), ("y", Along::Y)]),
        Along::X,
        "\"x\"",
        "the usual place of a rotary axis",
    );
    let turns = table.choice("turns", &[("iso", Turns::Iso), ("reversed", Turns::Reversed)]);
    let feed_counts = table
        .choice("feed_counts", &[("linear", FeedCounts::Linear), ("all", FeedCounts::All), ("each", FeedCounts::Each)]);
    let switch = table.choice("spindle_switch", &[("program", SpindleSwitch::Program), ("hand", SpindleSwitch::Hand)]);
    Machine {
        along,
        wrap: wrap(&table, along),
        turns: table.or(
            "turns",
            turns,
            Turns::Iso,
            "\"iso\"",
            "as ISO 841 has it; some machines are wired the other way",
        ),
        chuck_on: chuck_on(&table, along),
        feed_counts: table.or(
            "feed_counts",
            feed_counts,
            FeedCounts::Linear,
            "\"linear\"",
            "the reading of RS-274; small controllers often count all words alike",
        ),
        rapid: rapid(&table),
        accel: per_axis(&table, "accel", "machine.accel", |item, key| match key {
            "a" => item.number(Bound::Positive),
            _ => item.length(Bound::Positive),
        }),
        change_seconds: table.number("change", Bound::NotNegative),
        reach: per_axis(&table, "reach", "machine.reach", |item, key| item.range(key != "a")),
        start: per_axis(&table, "start", "machine.start", coordinate),
        home: per_axis(&table, "home", "machine.home", coordinate),
        bed: table.length("bed", Bound::Positive),
        spindle: stack(&table, "spindle"),
        spindle_power: table.number("spindle_power", Bound::Positive),
        spindle_speed: table.number("spindle_speed", Bound::Positive),
        spindle_switch: table.or(
            "spindle_switch",
            switch,
            SpindleSwitch::Program,
            "\"program\"",
            "the program is taken to switch the spindle",
        ),
        rotary_torque: table.number("rotary_torque", Bound::Positive),
        rise: table.length("rise", Bound::Within(-100.0, 100.0)).unwrap_or(0.0),
        skew: table.length("skew", Bound::Within(-100.0, 100.0)).unwrap_or(0.0),
        backlash_deg: table.number("backlash", Bound::NotNegative).unwrap_or(0.0),
    }
}

fn coordinate(item: &Item<'_>, key: &str) -> Option<f64> {
    if key == "a" { item.number(Bound::Any) } else { item.length(Bound::Any) }
}

fn per_axis<T>(
    parent: &Table<'_>,
    key: &str,
    schema: &'static str,
    read: impl Fn(&Item<'_>, &str) -> Option<T>,
) -> PerAxis<Option<T>> {
    let table = parent.table(key, schema);
    let axis = |key: &str| table.get(key).and_then(|item| read(&item, key));
    PerAxis { x: axis("x"), y: axis("y"), z: axis("z"), a: axis("a") }
}

fn rapid(machine: &Table<'_>) -> PerAxis<f64> {
    let table = machine.table("rapid", "machine.rapid");
    let rate = |key: &str, default: f64| {
        let value = if key == "a" { table.number(key, Bound::Positive) } else { table.rate(key, Bound::Positive) };
        table.or(key, value, default, &in_units(&table, key, default), "a modest machine")
    };
    PerAxis { x: rate("x", RAPID.x), y: rate("y", RAPID.y), z: rate("z", RAPID.z), a: rate("a", RAPID.a) }
}

/// A default as the scene would have it: lengths carry their unit, so that it is right whatever the scene's.
fn in_units(_table: &Table<'_>, key: &str, value: f64) -> String {
    if key == "a" { format!("{value}") } else { format!("\"{value} mm/min\"") }
}

fn wrap(table: &Table<'_>, along: Along) -> Wrap {
    let across = if along == Along::X { "Y" } else { "X" };
    let word = match table.text("rotary") {
        None => {
            let word = table.or("rotary", None, "A", "\"A\"", "the usual letter");
            word.to_owned()
        }
        Some(word) => word.to_ascii_uppercase(),
    };
    let rotary = ["A", "B", "C"].iter().position(|&letter| letter == word);
    let diameter = table.length("wrap_diameter", Bound::Positive);
    match rotary {
        Some(index) => {
            if table.has("wrap_diameter") {
                table.problem(
                    "wrap_diameter",
                    format!("`wrap_diameter` is for a wrapped word, and {word} counts degrees"),
                    Some(format!("leave it out, or set rotary = \"{across}\"")),
                );
            }
            Wrap::Rotary(index)
        }
        None if word == across => Wrap::Across {
            diameter: diameter.unwrap_or_else(|| {
                table.missing("wrap_diameter", "the diameter the drawing was wound on, for example wrap_diameter = 60")
            }),
        },
        None => {
            table.problem(
                "rotary",
                format!("`machine.rotary` must be \"A\", \"B\", \"C\" or, for a wrapped program, \"{across}\""),
                None,
            );
            Wrap::Rotary(0)
        }
    }
}

fn chuck_on(table: &Table<'_>, along: Along) -> Side {
    let both = [("-x", Side::Minus), ("+x", Side::Plus), ("-y", Side::Minus), ("+y", Side::Plus)];
    // With the axis along Y, x still means along the axis, so both spellings are right there.
    let choices = if along == Along::X { &both[..2] } else { &both[..] };
    table.or(
        "chuck_on",
        table.choice("chuck_on", choices),
        Side::Minus,
        if along == Along::X { "\"-x\"" } else { "\"-y\"" },
        "stations grow with the program's word",
    )
}

/// A stack of cylinders: [[diameter, length], …]; a single number is one cylinder of no stated length.
pub(super) fn stack(table: &Table<'_>, key: &str) -> Vec<Cylinder> {
    table.get(key).and_then(|item| item.cylinders()).unwrap_or_default()
}

/// A code or letter that the controller drops.
fn dropped(item: &Item<'_>) -> Option<Dropped> {
    let found = item.text()?.parse();
    found.map_err(|message| item.problem(message, Some("write it as in a program: \"S\", \"G64\"".to_owned()))).ok()
}

pub(super) fn controller(root: &Table<'_>) -> Controller {
    let table = root.table("controller", "controller");
    let flag = |key: &str, default: bool| table.flag(key).unwrap_or(default);
    let m6 = table.choice("m6", &[("stops", M6::Stops), ("ignored", M6::Ignored), ("changes", M6::Changes)]);
    let dwell = table.choice("dwell", &[("s", false), ("ms", true)]);
    let budget = table.table("budget", "controller.budget");
    let bound = |key: &str, default: u64, greatest: u64| budget.count(key, 1, greatest).unwrap_or(default);
    let narrow = |value: u64| u32::try_from(value).unwrap_or(u32::MAX);
    Controller {
        arcs: flag("arcs", true),
        canned: flag("canned", false),
        expressions: flag("expressions", false),
        subprograms: flag("subprograms", false),
        inverse_time: flag("inverse_time", true),
        tool_length_table: table.choice("tool_length", &[("none", false), ("table", true)]).unwrap_or(false),
        compensation: flag("compensation", false),
        not_understood: table
            .choice("not_understood", &[("stops", NotUnderstood::Stops), ("ignores", NotUnderstood::Ignores)]),
        drops: table.get("drops").and_then(|item| item.list(dropped)).unwrap_or_default(),
        m6: table.or("m6", m6, M6::Stops, "\"stops\"", "the cutter is changed by hand at M6"),
        dwell_milliseconds: table.or("dwell", dwell, false, "\"s\"", "the unit of RS-274"),
        line_limit: narrow(table.count("line_limit", 16, 1_000_000).unwrap_or(256)),
        numbers_f32: table.choice("numbers", &[("f32", true), ("f64", false)]).unwrap_or(true),
        block_delete: flag("block_delete", false),
        budget: Budget {
            steps: bound("steps", 5_000_000, u64::from(u32::MAX)),
            depth: narrow(bound("depth", 10, 1000)),
            blocks: narrow(bound("blocks", 5_000_000, u64::from(u32::MAX))),
        },
        arc_slack: table.length("arc_slack", Bound::Within(0.0, 1.0)).unwrap_or(0.005),
    }
}
