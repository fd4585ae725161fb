//! What a run of a scene says nothing about: what the scene does not describe, and what it asks for in vain.

use crate::model::{Cutter, NotChecked, Scene};

/// Everything of a scene that is not checked.
pub(crate) fn of_scene(scene: &Scene) -> Vec<NotChecked> {
    let mut list = List(Vec::new());
    holding(scene, &mut list);
    cutters(scene, &mut list);
    machine(scene, &mut list);
    loads(scene, &mut list);
    limits_of_cutters(scene, &mut list);
    not_there_yet(scene, &mut list);
    list.0
}

struct List(Vec<NotChecked>);

impl List {
    fn add(&mut self, what: impl Into<String>, because: impl Into<String>, how: impl Into<String>) {
        self.0.push(NotChecked { what: what.into(), because: because.into(), how_to_add: how.into() });
    }

    /// Something the scene does not describe.
    fn lacking(&mut self, missing: bool, what: &str, because: &str, how: &str) {
        if missing {
            self.add(what, because, how);
        }
    }

    /// Something the scene describes that nothing looks at in this version.
    fn in_vain(&mut self, given: bool, key: &str, because: &str) {
        if given {
            self.add(key, because, "");
        }
    }
}

fn holding(scene: &Scene, list: &mut List) {
    list.lacking(
        !scene.holding_described(),
        "holding",
        "The scene does not say what holds the blank, so nothing is checked against it.",
        "[chuck]\nhold = 15\nbody = { diameter = 80, length = 45 }\n\
         jaws = { count = 4, width = 14, length = 22, height = 18 }",
    );
    if let Some(chuck) = &scene.chuck {
        list.lacking(
            chuck.body.is_none(),
            "chuck body",
            "The body of the chuck has no size.",
            "[chuck]\nbody = { diameter = 80, length = 45 }",
        );
        list.lacking(
            chuck.jaws.is_none(),
            "jaws",
            "The jaws of the chuck have no size.",
            "[chuck]\njaws = { count = 4, width = 14, length = 22, height = 18 }",
        );
    }
    if let Some(faceplate) = &scene.faceplate {
        list.lacking(
            faceplate.screws.is_empty(),
            "screws",
            "The faceplate has no screws, so no steel is looked for in the wood.",
            "[faceplate]\nscrews = [{ radius = 20, angle = 0, diameter = 4, length = 25 }]",
        );
    }
    if let Some(drive) = &scene.drive {
        list.lacking(
            drive.body.is_none(),
            "drive body",
            "What is behind the drive center has no size.",
            "[drive]\nbody = { diameter = 50, length = 60 }",
        );
    }
    list.lacking(
        scene.tailstock.is_none(),
        "tailstock",
        "No tailstock is described; if there is one, nothing is checked against it.",
        "[tailstock]\ncenter = { angle = 60, diameter = 12, quill = 16, extension = 3 }\n\
         body = { width = 40, above = 40, length = 70 }",
    );
    if let Some(tailstock) = &scene.tailstock {
        list.lacking(
            tailstock.body.is_none(),
            "tailstock body",
            "The body of the tailstock has no size.",
            "[tailstock]\nbody = { width = 40, above = 40, length = 70 }",
        );
    }
}

fn cutters(scene: &Scene, list: &mut List) {
    for cutter in &scene.cutters {
        let number = cutter.number;
        if cutter.stickout.is_none() {
            list.add(
                format!("stickout of cutter {number}"),
                "Without it nobody knows how high the holder stands, so neither holder nor spindle is checked.",
                format!("[[cutter]]\nnumber = {number}\nstickout = 35"),
            );
        }
        if cutter.holder.is_empty() {
            list.add(
                format!("holder of cutter {number}"),
                "The scene does not say how thick the holder is.",
                format!("[[cutter]]\nnumber = {number}\nholder = [[20, 8], [25, 20]]"),
            );
        }
    }
}

fn machine(scene: &Scene, list: &mut List) {
    let machine = &scene.machine;
    let reach = &machine.reach;
    list.lacking(
        reach.x.is_none() && reach.y.is_none() && reach.z.is_none() && reach.a.is_none(),
        "reach",
        "The scene does not say how far the machine can travel.",
        "[machine]\nreach = { x = [-20, 400], y = [-200, 200], z = [-5, 130] }",
    );
    list.lacking(
        machine.bed.is_none(),
        "bed",
        "The scene does not say how deep the bed lies under the axis.",
        "[machine]\nbed = 75",
    );
    list.lacking(
        machine.spindle.is_empty(),
        "spindle",
        "The scene does not say how thick the spindle is above the holder.",
        "[machine]\nspindle = [[52, 40], [80, 120]]",
    );
    let accel = &machine.accel;
    list.lacking(
        [accel.x, accel.y, accel.z, accel.a].contains(&None),
        "acceleration",
        "Times are told as if an axis whose acceleration is not given reached every speed at once.",
        "[machine]\naccel = { x = 400, y = 400, z = 200, a = 1500 }",
    );
}

/// Loads, spring and strength, and what they are held against.
fn loads(scene: &Scene, list: &mut List) {
    let Some(material) = &scene.blank.material else {
        list.add(
            "loads, spring and strength",
            "The scene does not say what the blank is made of.",
            "[blank]\nmaterial = \"hard maple\"",
        );
        return;
    };
    let lacking = |value: Option<f64>, key: &'static str| value.is_none().then_some(key);
    let unknown: Vec<&str> = [
        material.cutting.is_none().then_some("specific cutting force"),
        lacking(material.modulus, "modulus of elasticity"),
        lacking(material.bending, "bending strength"),
        lacking(material.shear, "shear strength"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !unknown.is_empty() {
        list.add(
            "some loads or strength",
            format!(
                "Of {} this is not known: {}. What follows from it is not worked out.",
                material.name,
                joined(&unknown)
            ),
            "# of your own material, in kg/m³, MPa and N/mm²\n[blank]\n\
             material = { density = 700, modulus = 12000, bending = 100, shear = 15, cutting = [25, 40] }",
        );
    }
    if material.cutting.is_some() {
        limits_of_load(scene, list);
    }
}

fn limits_of_load(scene: &Scene, list: &mut List) {
    // Only what there is can have a limit: the key, what it is now, and an example.
    let machine = &scene.machine;
    let keys = [
        ("machine", "spindle_power", Some(machine.spindle_power), "800  # W"),
        ("machine", "rotary_torque", Some(machine.rotary_torque), "4  # N·m that hold the axis"),
        ("chuck", "torque", scene.chuck.as_ref().map(|chuck| chuck.torque), "6  # N·m before the blank slips"),
        ("faceplate", "torque", scene.faceplate.as_ref().map(|plate| plate.torque), "6  # N·m before the blank slips"),
        ("drive", "torque", scene.drive.as_ref().map(|drive| drive.torque), "6  # N·m before the blank slips"),
        ("tailstock", "force", scene.tailstock.as_ref().map(|tailstock| tailstock.force), "150  # N on the center"),
    ];
    let missing: Vec<_> = keys.into_iter().filter(|(_, _, given, _)| *given == Some(None)).collect();
    if missing.is_empty() {
        return;
    }
    let names: Vec<String> = missing.iter().map(|(table, key, ..)| format!("{table}.{key}")).collect();
    let lines = missing.iter().map(|(table, key, _, example)| format!("{table}.{key} = {example}"));
    list.add(
        "limits of load",
        format!("The loads are told, but not held against what is not given: {}.", joined(&names)),
        lines.collect::<Vec<_>>().join("\n"),
    );
}

fn limits_of_cutters(scene: &Scene, list: &mut List) {
    let missing = |cutter: &Cutter| -> Vec<&'static str> {
        let limits = &cutter.limits;
        let keys = [
            ("depth", limits.depth.is_none()),
            ("width", limits.width.is_none()),
            ("plunge", limits.plunge.is_none()),
            ("chip", limits.chip.is_none()),
        ];
        keys.into_iter().filter_map(|(key, is_missing)| is_missing.then_some(key)).collect()
    };
    let lines: Vec<(u32, String)> = scene
        .cutters
        .iter()
        .map(|cutter| (cutter.number, missing(cutter)))
        .filter(|(_, keys)| !keys.is_empty())
        .map(|(number, keys)| (number, format!("{} of cutter {number}", joined(&keys))))
        .collect();
    if let Some((first, _)) = lines.first() {
        let lines: Vec<&str> = lines.iter().map(|(_, line)| line.as_str()).collect();
        list.add(
            "limits of cutters",
            format!("Cuts are not held against what is not given: {}.", lines.join("; ")),
            format!(
                "[[cutter]]\nnumber = {first}\ndepth = 3\nwidth = 6\nplunge = 600\nchip = [0.02, 0.12]  # mm a tooth"
            ),
        );
    }
}

/// Words as a sentence lists them.
fn joined(words: &[impl AsRef<str>]) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

fn not_there_yet(scene: &Scene, list: &mut List) {
    list.lacking(
        scene.target.is_none(),
        "target",
        "No shape to compare with is described, so neither gouges nor wood left are looked for.",
        "[target]\nfile = \"part.stl\"",
    );
    list.in_vain(scene.doubt.is_some(), "doubt", "How far things may be off is not played through yet.");
}
