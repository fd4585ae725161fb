//! The colours of the bodies.

use dryturn_geom::Motions;
use dryturn_scene::Job;
use dryturn_surface::Paint;

use crate::arguments::Paint as Choice;

/// All paints of a file.
pub(super) struct Paints {
    pub(super) all: Vec<Paint>,
    /// For each block the paint of its cutter, where that is asked for.
    by_block: Option<Vec<u16>>,
}

/// How a body is painted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Painted {
    /// With one paint.
    One(usize),
    /// Each place with that of the cutter that made it, what no cutter made with the first.
    ByCutter,
}

/// The colours of cutters: those of Okabe and Ito, *Color universal design* (2002).
const CUTTERS: [[u8; 3]; 7] =
    [[230, 159, 0], [86, 180, 233], [0, 158, 115], [240, 228, 66], [0, 114, 178], [213, 94, 0], [204, 121, 167]];

/// Plain colours by a word of the material's name; chosen by eye.
const MATERIALS: [(&[&str], [u8; 3]); 14] = [
    (&["walnut"], [106, 72, 47]),
    (&["cherry"], [176, 108, 68]),
    (&["mahogany", "purpleheart"], [142, 80, 58]),
    (&["redcedar", "cedar"], [178, 112, 80]),
    (&["teak"], [158, 116, 66]),
    (&["oak", "butternut"], [196, 152, 104]),
    (&["maple", "birch", "ash", "basswood", "poplar"], [226, 196, 154]),
    (&["pine", "spruce", "fir"], [224, 190, 138]),
    (&["acetal", "pom", "uhmw", "uhmwpe", "hdpe"], [236, 236, 231]),
    (&["acrylic", "pmma"], [214, 224, 228]),
    (&["pvc"], [164, 168, 172]),
    (&["polyurethane", "tooling"], [198, 164, 112]),
    (&["aluminium", "aluminum", "6061"], [226, 227, 229]),
    (&["brass", "c360", "c36000"], [226, 192, 116]),
];
/// Wood, or whatever it is, that has no name.
const NAMELESS: [u8; 3] = [212, 176, 132];
const TARGET: [u8; 3] = [120, 150, 190];

impl Paints {
    /// The paint of the blank, and those of the cutters if they are to be told apart.
    pub(super) fn new(job: &Job, choice: Option<Choice>) -> Paints {
        let mut all = vec![of_material(job)];
        let by_block = (choice == Some(Choice::Cutter)).then(|| {
            let colors = CUTTERS.iter().cycle();
            all.extend(job.scene.cutters.iter().zip(colors).map(|(cutter, color)| {
                let named = if cutter.name.is_empty() { String::new() } else { format!(", {}", cutter.name) };
                plain(&format!("cutter {}{named}", cutter.number), *color)
            }));
            let paint = |block| job.motion(block).map_or(0, |motion| motion.cutter + 1);
            (0..job.count()).map(paint).collect()
        });
        Paints { all, by_block }
    }

    /// How what blocks have made is painted.
    pub(super) fn of_piece(&self) -> Painted {
        if self.by_block.is_some() { Painted::ByCutter } else { Painted::One(0) }
    }

    pub(super) fn of_blank(&self) -> Painted {
        Painted::One(0)
    }

    pub(super) fn of_target(&mut self) -> Painted {
        self.one(plain("target", TARGET))
    }

    /// How a part of the machine is painted.
    pub(super) fn of_metal(&mut self, material: &str) -> Painted {
        self.one(match material {
            "cast iron" => plain(material, [96, 104, 108]),
            _ => Paint { metallic: 1.0, roughness: 0.4, ..plain(material, [186, 188, 190]) },
        })
    }

    /// The paint of a triangle by its owner.
    pub(super) fn paint(&self, painted: Painted, owner: u32) -> usize {
        match painted {
            Painted::One(paint) => paint,
            Painted::ByCutter => {
                self.by_block.as_ref().and_then(|all| all.get(owner as usize)).map_or(0, |paint| usize::from(*paint))
            }
        }
    }

    fn one(&mut self, paint: Paint) -> Painted {
        let known = self.all.iter().position(|known| *known == paint);
        Painted::One(known.unwrap_or_else(|| {
            self.all.push(paint);
            self.all.len() - 1
        }))
    }
}

fn plain(name: &str, color: [u8; 3]) -> Paint {
    Paint { name: dryturn_report::plain(name), color, roughness: 0.6, metallic: 0.0 }
}

/// The paint of the blank's material.
fn of_material(job: &Job) -> Paint {
    let Some(material) = &job.scene.blank.material else { return plain("blank", NAMELESS) };
    let name = material.name.to_lowercase();
    let has = |key: &&str| name.split(|c: char| !c.is_alphanumeric()).any(|word| word == *key);
    let color = MATERIALS.iter().find(|(keys, _)| keys.iter().any(has)).map_or(NAMELESS, |(_, color)| *color);
    let is_metal = ["aluminium", "aluminum", "6061", "brass", "c360", "c36000"].iter().any(has);
    Paint { metallic: if is_metal { 1.0 } else { 0.0 }, ..plain(&material.name, color) }
}
