//! The scene written out with every default in its place, and where each key came from.

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Along, Shape, Side, Turns, Wrap, angle};
use dryturn_program::NotUnderstood;

use crate::model::{
    BlankShape, Cutter, Cylinder, FeedCounts, Grip, M6, Origin, PerAxis, ProgramEntry, Scene, Shank, SpindleSwitch,
    ZeroHeight, ZeroKeys, Zeros,
};

impl Scene {
    /// The scene as a scene file in which nothing is left to a default. It reads back as the same scene from the same
    /// folder. Lengths are mm; where the scene counts inches they say so themselves.
    pub fn resolved_toml(&self) -> String {
        let mut out = Writer { scene: self, text: String::new(), path: String::new() };
        out.line(&format!("# {}, with every key and where it came from.", self.name));
        out.line("# Paths start from the folder of that scene.");
        out.key("format", "1".into());
        if let Some(title) = &self.title {
            out.key("title", quoted(title));
        }
        let units = if self.units == LengthUnit::Inch { "inch" } else { "mm" };
        out.key("units", quoted(units));
        out.machine();
        out.controller();
        out.blank();
        out.holding();
        out.bodies();
        out.table("zero", "zero");
        out.zero_keys(&self.zeros.systems[0]);
        out.systems("zero", &self.zeros);
        for (index, cutter) in self.cutters.iter().enumerate() {
            out.entry("cutter", index);
            out.cutter(cutter);
        }
        for (index, program) in self.programs.iter().enumerate() {
            out.entry("program", index);
            out.program(index, program);
        }
        out.rest();
        out.text
    }
}

struct Writer<'a> {
    scene: &'a Scene,
    text: String,
    path: String,
}

/// The systems beyond G54, as keys of `[zero]`.
const SYSTEMS: [&str; 8] = ["g55", "g56", "g57", "g58", "g59", "\"g59.1\"", "\"g59.2\"", "\"g59.3\""];

fn unit_word(units: LengthUnit) -> String {
    quoted(if units == LengthUnit::Inch { "inch" } else { "mm" })
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

fn plain(value: f64) -> String {
    format!("{value:?}")
}

/// Degrees from radians, without the last digits the way there and back may have changed.
fn degrees(radians: f64) -> String {
    plain((angle::degrees(radians) * 1e9).round() / 1e9)
}

fn list(values: impl IntoIterator<Item = String>) -> String {
    format!("[{}]", values.into_iter().collect::<Vec<_>>().join(", "))
}

/// Keys of a small table with their values.
type Keys = Vec<(&'static str, String)>;

impl Writer<'_> {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn table(&mut self, header: &str, path: &str) {
        self.line(&format!("\n[{header}]"));
        self.path = format!("{path}.");
    }

    fn entry(&mut self, name: &str, index: usize) {
        self.line(&format!("\n[[{name}]]"));
        self.path = format!("{name}[{}].", index + 1);
    }

    fn key(&mut self, key: &str, value: String) {
        let origin = self.origin(key);
        self.line(&format!("{key} = {value}  # {origin}"));
    }

    fn optional(&mut self, key: &str, value: Option<String>) {
        match value {
            Some(value) => self.key(key, value),
            None => self.line(&format!("# {key}: not given")),
        }
    }

    /// The keys of a table within the table, one a line, so that each says where it came from.
    fn group(&mut self, name: &str, keys: Option<Keys>) {
        match keys {
            Some(keys) if keys.is_empty() => self.key(name, "{}".to_owned()),
            Some(keys) => keys.into_iter().for_each(|(key, value)| self.key(&format!("{name}.{key}"), value)),
            None => self.line(&format!("# {name}: not given")),
        }
    }

    /// Where a key came from: itself, or any key of the tables it holds.
    fn origin(&self, key: &str) -> String {
        let path = format!("{}{key}", self.path);
        let given = self
            .scene
            .given
            .range(path.clone()..)
            .map_while(|(known, origin)| known.starts_with(&path).then_some((known, origin)))
            .find(|(known, _)| known.len() == path.len() || known[path.len()..].starts_with(['.', '[']));
        match given {
            Some((_, Origin::Scene)) => "scene".to_owned(),
            Some((_, Origin::Flag)) => "flag".to_owned(),
            // What a comment may not hold is told as it would stand in quotes.
            Some((_, Origin::Library(name))) => name.escape_debug().to_string(),
            None => "default".to_owned(),
        }
    }

    /// A length in mm, written so that it reads back as the same number in the scene's unit.
    fn length(&self, mm: f64) -> String {
        match self.scene.units {
            LengthUnit::Millimetre => plain(mm),
            LengthUnit::Inch => format!("\"{mm} mm\""),
        }
    }

    fn pair(&self, [low, high]: [f64; 2]) -> String {
        list([self.length(low), self.length(high)])
    }

    fn cylinder(&self, cylinder: &Cylinder) -> Keys {
        vec![("diameter", self.length(cylinder.diameter)), ("length", self.length(cylinder.length))]
    }

    fn stack(&self, stack: &[Cylinder]) -> String {
        list(stack.iter().map(|cylinder| self.pair([cylinder.diameter, cylinder.length])))
    }

    /// The axes that are given, with lengths for the first three and plain numbers for the turning one.
    fn axes(&self, axes: &PerAxis<Option<f64>>) -> Option<Keys> {
        let length = |value: Option<f64>| value.map(|value| self.length(value));
        per_axis([length(axes.x), length(axes.y), length(axes.z), axes.a.map(plain)])
    }

    fn machine(&mut self) {
        let machine = &self.scene.machine;
        self.table("machine", "machine");
        let along_x = machine.along == Along::X;
        self.key("along", quoted(if along_x { "x" } else { "y" }));
        match machine.wrap {
            Wrap::Rotary(index) => self.key("rotary", quoted(["A", "B", "C"][index.min(2)])),
            Wrap::Across { diameter } => {
                self.key("rotary", quoted(if along_x { "Y" } else { "X" }));
                self.key("wrap_diameter", self.length(diameter));
            }
        }
        self.key("turns", quoted(if machine.turns == Turns::Iso { "iso" } else { "reversed" }));
        self.key("chuck_on", quoted(if machine.chuck_on == Side::Minus { "-x" } else { "+x" }));
        let counts = match machine.feed_counts {
            FeedCounts::Linear => "linear",
            FeedCounts::All => "all",
            FeedCounts::Each => "each",
        };
        self.key("feed_counts", quoted(counts));
        let PerAxis { x, y, z, a } = machine.rapid;
        self.group("rapid", self.axes(&PerAxis { x: Some(x), y: Some(y), z: Some(z), a: Some(a) }));
        self.group("accel", self.axes(&machine.accel));
        self.optional("change", machine.change_seconds.map(plain));
        let reach = &machine.reach;
        let pair = |pair: Option<[f64; 2]>| pair.map(|pair| self.pair(pair));
        let turning = reach.a.map(|[low, high]| list([plain(low), plain(high)]));
        self.group("reach", per_axis([pair(reach.x), pair(reach.y), pair(reach.z), turning]));
        self.group("start", self.axes(&machine.start));
        self.group("home", self.axes(&machine.home));
        self.optional("bed", machine.bed.map(|bed| self.length(bed)));
        let spindle = (!machine.spindle.is_empty()).then(|| self.stack(&machine.spindle));
        self.optional("spindle", spindle);
        self.optional("spindle_power", machine.spindle_power.map(plain));
        self.optional("spindle_speed", machine.spindle_speed.map(plain));
        let by_hand = machine.spindle_switch == SpindleSwitch::Hand;
        self.key("spindle_switch", quoted(if by_hand { "hand" } else { "program" }));
        self.optional("rotary_torque", machine.rotary_torque.map(plain));
        self.key("rise", self.length(machine.rise));
        self.key("skew", self.length(machine.skew));
        self.key("backlash", plain(machine.backlash_deg));
    }

    fn controller(&mut self) {
        let controller = &self.scene.controller;
        self.table("controller", "controller");
        for (key, value) in [
            ("arcs", controller.arcs),
            ("canned", controller.canned),
            ("expressions", controller.expressions),
            ("subprograms", controller.subprograms),
            ("inverse_time", controller.inverse_time),
            ("compensation", controller.compensation),
            ("block_delete", controller.block_delete),
        ] {
            self.key(key, value.to_string());
        }
        self.key("tool_length", quoted(if controller.tool_length_table { "table" } else { "none" }));
        if let Some(reaction) = controller.not_understood {
            self.key("not_understood", quoted(if reaction == NotUnderstood::Stops { "stops" } else { "ignores" }));
        }
        if !controller.drops.is_empty() {
            self.key("drops", list(controller.drops.iter().map(|dropped| quoted(&dropped.to_string()))));
        }
        let m6 = match controller.m6 {
            M6::Stops => "stops",
            M6::Ignored => "ignored",
            M6::Changes => "changes",
        };
        self.key("m6", quoted(m6));
        self.key("dwell", quoted(if controller.dwell_milliseconds { "ms" } else { "s" }));
        self.key("line_limit", controller.line_limit.to_string());
        self.key("numbers", quoted(if controller.numbers_f32 { "f32" } else { "f64" }));
        let budget = controller.budget;
        let bounds = vec![
            ("steps", budget.steps.to_string()),
            ("depth", budget.depth.to_string()),
            ("blocks", budget.blocks.to_string()),
        ];
        self.group("budget", Some(bounds));
        self.key("arc_slack", self.length(controller.arc_slack));
    }

    fn blank(&mut self) {
        let blank = &self.scene.blank;
        self.table("blank", "blank");
        let (shape, sizes) = match &blank.shape {
            BlankShape::Round { diameter } => ("round", vec![("diameter", self.length(*diameter))]),
            BlankShape::Tube { diameter, bore } => {
                ("tube", vec![("diameter", self.length(*diameter)), ("bore", self.length(*bore))])
            }
            BlankShape::Square { across_flats } => ("square", vec![("across_flats", self.length(*across_flats))]),
            BlankShape::Polygon { across_flats, sides } => {
                ("polygon", vec![("across_flats", self.length(*across_flats)), ("sides", sides.to_string())])
            }
            BlankShape::Mesh { file, units, .. } => {
                let units = units.map(|units| ("units", unit_word(units)));
                ("mesh", [("file", quoted(file))].into_iter().chain(units).collect())
            }
            BlankShape::Kept(kept) => {
                let place = [("shift", self.length(kept.shift)), ("turn", plain(kept.turn_deg))];
                (
                    "kept",
                    [("file", quoted(&kept.file)), ("flip", kept.flip.to_string())].into_iter().chain(place).collect(),
                )
            }
        };
        let is_own = blank.is_solid();
        self.key("shape", quoted(shape));
        for (key, value) in sizes {
            self.key(key, value);
        }
        if !is_own {
            self.key("length", self.length(blank.length));
        }
        self.optional("material", blank.material.as_ref().map(|material| material.to_toml()));
        let shifts = match &blank.shape {
            BlankShape::Kept(kept) => vec![("off", kept.off)],
            _ => vec![("runout", blank.runout), ("runout_far", blank.runout_far)],
        };
        let is_kept = shifts.len() == 1;
        for (name, [y, z]) in shifts {
            self.group(name, Some(vec![("y", self.length(y)), ("z", self.length(z))]));
        }
        if !is_kept {
            self.group("bow", Some(vec![("amount", self.length(blank.bow)), ("angle", plain(blank.bow_angle_deg))]));
        }
        if !is_own {
            self.key("turned", plain(blank.turned_deg));
        }
    }

    fn holding(&mut self) {
        let scene = self.scene;
        if let Some(chuck) = &scene.chuck {
            self.table("chuck", "chuck");
            self.key("hold", self.length(chuck.hold));
            self.optional("torque", chuck.torque.map(plain));
            self.group("body", chuck.body.as_ref().map(|body| self.cylinder(body)));
            let jaws = chuck.jaws.as_ref().map(|jaws| {
                vec![
                    ("count", jaws.count.to_string()),
                    ("width", self.length(jaws.width)),
                    ("length", self.length(jaws.length)),
                    ("height", self.length(jaws.height)),
                    ("grip", quoted(if jaws.grip == Grip::Outside { "outside" } else { "inside" })),
                    ("turned", plain(jaws.turned_deg)),
                ]
            });
            self.group("jaws", jaws);
        }
        if let Some(faceplate) = &scene.faceplate {
            self.table("faceplate", "faceplate");
            self.key("diameter", self.length(faceplate.diameter));
            self.key("thickness", self.length(faceplate.thickness));
            self.optional("torque", faceplate.torque.map(plain));
            let screws = faceplate.screws.iter().map(|screw| {
                format!(
                    "{{ radius = {}, angle = {}, diameter = {}, length = {} }}",
                    self.length(screw.radius),
                    plain(screw.angle_deg),
                    self.length(screw.diameter),
                    self.length(screw.length)
                )
            });
            self.key("screws", list(screws));
        }
        if let Some(drive) = &scene.drive {
            self.table("drive", "drive");
            self.optional("torque", drive.torque.map(plain));
            let center = vec![
                ("diameter", self.length(drive.center.diameter)),
                ("length", self.length(drive.center.length)),
                ("bite", self.length(drive.bite)),
            ];
            self.group("center", Some(center));
            self.group("body", drive.body.as_ref().map(|body| self.cylinder(body)));
        }
        if let Some(tailstock) = &scene.tailstock {
            self.table("tailstock", "tailstock");
            let center = vec![
                ("angle", plain(tailstock.angle_deg)),
                ("diameter", self.length(tailstock.diameter)),
                ("quill", self.length(tailstock.quill)),
                ("extension", self.length(tailstock.extension)),
            ];
            self.group("center", Some(center));
            self.group("head", tailstock.head.as_ref().map(|head| self.cylinder(head)));
            self.key("dimple", self.length(tailstock.dimple));
            self.optional("force", tailstock.force.map(plain));
            let body = tailstock.body.map(|body| {
                vec![
                    ("width", self.length(body.width)),
                    ("above", self.length(body.above)),
                    ("length", self.length(body.length)),
                ]
            });
            self.group("body", body);
        }
    }

    fn bodies(&mut self) {
        for (index, body) in self.scene.fixed.iter().enumerate() {
            self.entry("fixed", index);
            self.key("name", quoted(&body.name));
            let sides = [body.x, body.y, body.z].into_iter().flatten();
            self.key("box", list(sides.map(|side| self.length(side))));
        }
        for (index, body) in self.scene.moving.iter().enumerate() {
            self.entry("moving", index);
            self.key("name", quoted(&body.name));
            self.key("diameter", self.length(body.diameter));
            self.key("from", self.length(body.from));
            self.key("to", self.length(body.to));
        }
    }

    fn zero_pairs(&self, keys: &ZeroKeys) -> Vec<(&'static str, String)> {
        let z = keys.z.map(|z| match z {
            ZeroHeight::Axis => quoted("axis"),
            ZeroHeight::Surface => quoted("surface"),
            ZeroHeight::Flat => "{ flat = true }".to_owned(),
            ZeroHeight::Height(height) => self.length(height),
            ZeroHeight::Touch { station, a_deg } => {
                format!("{{ touch = {{ station = {}, a = {} }} }}", self.length(station), plain(a_deg))
            }
        });
        let length = |value: Option<f64>| value.map(|value| self.length(value));
        [("x", length(keys.x)), ("y", length(keys.y)), ("z", z), ("a", keys.a_deg.map(plain))]
            .into_iter()
            .filter_map(|(key, value)| Some((key, value?)))
            .collect()
    }

    fn zero_keys(&mut self, keys: &ZeroKeys) {
        for (key, value) in self.zero_pairs(keys) {
            self.key(key, value);
        }
    }

    fn systems(&mut self, header: &str, zeros: &Zeros) {
        for (keys, system) in zeros.systems[1..].iter().zip(SYSTEMS) {
            if *keys != ZeroKeys::default() {
                self.table(&format!("{header}.{system}"), &format!("zero.{}", system.trim_matches('"')));
                self.zero_keys(keys);
            }
        }
    }

    fn cutter(&mut self, cutter: &Cutter) {
        self.key("number", cutter.number.to_string());
        self.key("name", quoted(&cutter.name));
        let flutes = &cutter.flutes;
        let (shape, own) = match flutes.shape() {
            Shape::Flat => ("flat", vec![]),
            Shape::Ball => ("ball", vec![]),
            Shape::Bull { corner } => ("bull", vec![("corner", self.length(*corner))]),
            Shape::Vee { half_angle, tip_radius } => {
                ("vee", vec![("angle", degrees(2.0 * half_angle)), ("tip", self.length(2.0 * tip_radius))])
            }
            Shape::Taper { half_angle, tip_radius, ball } => (
                "taper",
                vec![
                    ("angle", degrees(*half_angle)),
                    ("tip", self.length(2.0 * tip_radius)),
                    ("tip_shape", quoted(if *ball { "ball" } else { "flat" })),
                ],
            ),
            Shape::Drill { half_angle } => ("drill", vec![("angle", degrees(2.0 * half_angle))]),
            Shape::Form { .. } => ("form", vec![("profile", quoted(cutter.profile.as_deref().unwrap_or_default()))]),
        };
        self.key("shape", quoted(shape));
        self.key("diameter", self.length(2.0 * flutes.radius()));
        for (key, value) in own {
            self.key(key, value);
        }
        self.key("flute", self.length(flutes.length()));
        let shank = match &cutter.shank {
            Shank::Plain(diameter) => self.length(*diameter),
            Shank::Stack(stack) => self.stack(stack),
        };
        self.key("shank", shank);
        self.optional("stickout", cutter.stickout.map(|stickout| self.length(stickout)));
        self.key("teeth", cutter.teeth.to_string());
        self.key("cuts_center", cutter.cuts_center.to_string());
        let holder = (!cutter.holder.is_empty()).then(|| self.stack(&cutter.holder));
        self.optional("holder", holder);
        let limits = &cutter.limits;
        for (key, limit) in [("depth", limits.depth), ("width", limits.width), ("plunge", limits.plunge)] {
            self.optional(key, limit.map(|limit| self.length(limit)));
        }
        self.optional("chip", limits.chip.map(|chip| self.pair(chip)));
        self.key("length_error", self.length(cutter.length_error));
    }

    fn program(&mut self, index: usize, program: &ProgramEntry) {
        self.key("file", quoted(&program.file));
        self.optional("cutter", program.cutter.map(|cutter| cutter.to_string()));
        let slip = program.slip;
        let moved = PerAxis { x: Some(slip.x), y: Some(slip.y), z: Some(slip.z), a: Some(slip.a_deg) };
        self.group("slip", self.axes(&moved));
        self.key("indexed", program.indexed.to_string());
        let parts =
            program.parts.map(|parts| parts.min_tab.map(|tab| ("min_tab", self.length(tab))).into_iter().collect());
        self.group("parts", parts);
        if program.zeros != Zeros::default() {
            self.table("program.zero", &format!("program[{}].zero", index + 1));
            self.zero_keys(&program.zeros.systems[0]);
            self.systems("program.zero", &program.zeros);
        }
    }

    fn rest(&mut self) {
        let scene = self.scene;
        if let Some(target) = &scene.target {
            self.table("target", "target");
            self.key("file", quoted(&target.file));
            self.optional("units", target.units.map(unit_word));
            let place = vec![
                ("x", self.length(target.place_x)),
                ("a", plain(target.place_a_deg)),
                ("axis", quoted(["x", "y", "z"][usize::from(target.place_axis.min(2))])),
                ("flip", target.place_flip.to_string()),
            ];
            self.group("place", Some(place));
            self.optional("span", target.span.map(|span| self.pair(span)));
            self.optional("after", target.after.map(|after| after.to_string()));
            self.key("gouge", self.length(target.gouge));
            self.key("leftover", self.length(target.leftover));
            self.key("allowance", self.length(target.allowance));
        }
        self.table("grid", "grid");
        self.key("pitch", self.length(scene.grid.pitch));
        self.checks();
        if let Some(batch) = scene.batch {
            self.table("batch", "batch");
            self.key("pieces", batch.pieces.to_string());
            self.optional("loading", batch.loading_seconds.map(plain));
        }
        if let Some(doubt) = &scene.doubt {
            self.table("doubt", "doubt");
            for (key, value) in [("x", doubt.x), ("y", doubt.y), ("z", doubt.z), ("runout", doubt.runout)] {
                self.key(key, self.length(value));
            }
            self.key("a", plain(doubt.a_deg));
        }
        for (index, accept) in scene.accept.iter().enumerate() {
            self.entry("accept", index);
            self.key("rule", quoted(&accept.rule));
            self.optional("program", accept.program.map(|program| program.to_string()));
            self.optional("lines", accept.lines.map(|[first, last]| format!("[{first}, {last}]")));
            self.key("why", quoted(&accept.why));
        }
    }
}

impl Writer<'_> {
    fn checks(&mut self) {
        let checks = &self.scene.checks;
        self.table("checks", "checks");
        if checks.near_of.is_empty() {
            self.key("near", self.length(checks.near));
        } else {
            let near = checks.near_of.iter().map(|(name, near)| format!("{} = {}", quoted(name), self.length(*near)));
            let near = near.collect::<Vec<_>>().join(", ");
            self.key("near", format!("{{ {near} }}"));
        }
        self.key("past_axis", self.length(checks.past_axis));
        self.key("slender", plain(checks.slender));
        self.key("poor_grip", plain(checks.poor_grip));
        self.key("center_overextended", self.length(checks.center_overextended));
        self.key("grid_too_coarse", plain(checks.grid_too_coarse));
        self.optional("spring", checks.spring.map(|spring| self.length(spring)));
        self.key("safety", plain(checks.safety));
        let (rapid, shank) = (checks.rapid_in_blank, checks.shank_in_blank);
        let groups = [
            ("rapid_in_blank", vec![("depth", self.length(rapid.depth)), ("volume", plain(rapid.volume))]),
            ("shank_in_blank", vec![("warning", self.length(shank.warning)), ("error", self.length(shank.error))]),
            (
                "wound_up",
                vec![("minutes", plain(checks.wound_up.minutes)), ("step", self.length(checks.wound_up.step))],
            ),
            ("mirrored", vec![("ratio", plain(checks.mirrored.ratio)), ("share", plain(checks.mirrored.share))]),
        ];
        for (name, keys) in groups {
            self.group(name, Some(keys));
        }
    }
}

fn per_axis(values: [Option<String>; 4]) -> Option<Keys> {
    let given: Keys = ["x", "y", "z", "a"].into_iter().zip(values).filter_map(|(key, v)| Some((key, v?))).collect();
    (!given.is_empty()).then_some(given)
}
