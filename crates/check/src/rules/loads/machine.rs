//! What spindle, holding and rotary axis are asked for: `overload`, `stall`.

use dryturn_scene::Scene;
use dryturn_scene::material::Material;

use super::{Asked, Excess, Watch, Words};
use crate::digits::short;
use crate::finding::Severity;
use crate::limits::holds;
use crate::load::Load;

pub(super) fn watches(scene: &Scene) -> Vec<Watch<'_>> {
    let Some(taken) = scene.blank.material.as_ref().and_then(taken_as) else { return Vec::new() };
    let power = scene.machine.spindle_power.map(|limit| overload(limit, taken.clone()));
    let torque = holds(scene).map(|(limit, by)| turned(limit, by, taken.clone()));
    let center = scene.tailstock.as_ref().and_then(|tailstock| tailstock.force);
    let pushed = center.map(|limit| pushed(limit, taken));
    [power, torque, pushed].into_iter().flatten().collect()
}

fn overload<'a>(limit: f64, taken: String) -> Watch<'a> {
    let words = move |worst: &Excess| {
        let [asked, has] = worst.range("W");
        Words {
            unit: "W",
            text: format!("The spindle is asked for {asked}, and has {has} W ({taken})."),
            cure: format!("Lower F or the depth of the cut there by {} %.", worst.less()),
        }
    };
    watch("overload", move |load| load.power.map(|[low, high]| Asked { low, high, limit }), words)
}

fn turned<'a>(limit: f64, by: &'static str, taken: String) -> Watch<'a> {
    let words = move |worst: &Excess| {
        let [turns, holds] = worst.range("N·m");
        Words {
            unit: "N·m",
            text: format!("The cut turns the blank with {turns}, and {by} holds {holds} N·m ({taken})."),
            cure: format!("Lower F or the depth of the cut there by {} %, or hold the blank better.", worst.less()),
        }
    };
    let newton_metres = |torque: f64| torque / 1000.0;
    let measure = move |load: &Load| {
        load.forces.map(|forces| {
            let [low, high] = forces.torque.map(newton_metres);
            Asked { low, high, limit }
        })
    };
    watch("stall", measure, words)
}

fn pushed<'a>(limit: f64, taken: String) -> Watch<'a> {
    let words = move |worst: &Excess| {
        let [pushes, holds] = worst.range("N");
        Words {
            unit: "N",
            text: format!(
                "The cut pushes the blank against the live center with {pushes}, and the center holds {holds} N ({taken})."
            ),
            cure: format!("Lower F or the depth of the cut there by {} %, or cut away from the center.", worst.less()),
        }
    };
    let measure = move |load: &Load| {
        load.forces.map(|forces| {
            let [low, high] = forces.toward_center();
            Asked { low, high, limit }
        })
    };
    watch("stall", measure, words)
}

fn watch<'a>(
    rule: &'static str,
    measure: impl Fn(&Load) -> Option<Asked> + Send + Sync + 'a,
    words: impl Fn(&Excess) -> Words + Send + Sync + 'a,
) -> Watch<'a> {
    Watch {
        rule,
        gravest: Severity::Error,
        slack: 0.0,
        measure: Box::new(move |load, _| measure(load)),
        words: Box::new(move |_, stretch| words(&stretch.worst.value)),
    }
}

/// What the material was taken to ask for.
fn taken_as(material: &Material) -> Option<String> {
    let [low, high] = material.cutting?.map(short);
    Some(match material.is_own() {
        true => format!("at the specific cutting force of {low} to {high} N/mm² that the scene gives"),
        false => {
            format!("at {low} to {high} N/mm² of specific cutting force, a planning default for {}", material.name)
        }
    })
}
