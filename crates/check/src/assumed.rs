//! What was taken for granted: what the scene says by default, and what loads, spring and strength rest on.

use dryturn_scene::Job;
use dryturn_scene::material::Material;

use crate::finding::Assumed;
use crate::load::THRUST;
use crate::strength::CUTTER_MODULUS;
use crate::time::CORNER;
use crate::told::Told;

pub(crate) fn assumed(job: &Job, told: &Told, springs: bool) -> Vec<Assumed> {
    let rows = job.scene.assumed.iter();
    let of_scene =
        rows.map(|row| Assumed { key: row.key.clone(), value: row.value.clone(), because: row.because.clone() });
    let material = job.scene.blank.material.as_ref().filter(|material| !material.is_own());
    let cutting = material.filter(|_| told.loads.power.is_some()).and_then(cutting);
    let strengths = material.filter(|_| springs).map(strengths);
    let thrust = told.loads.force.is_some().then(thrust);
    let has_stem = job.scene.cutters.iter().any(|cutter| cutter.stickout.is_some());
    let cutter = (springs && has_stem && told.loads.spring.is_some()).then(cutter);
    let accel = &job.scene.machine.accel;
    let speeds_up = [accel.x, accel.y, accel.z, accel.a].iter().any(Option::is_some);
    let corners = speeds_up.then(corners);
    of_scene.chain(corners).chain(cutting).chain(strengths).chain(thrust).chain(cutter).collect()
}

fn corners() -> Assumed {
    Assumed {
        key: "times at corners".to_owned(),
        value: format!("rounded by {CORNER} mm"),
        because: "common practice, no source: from line to line as fast as the lesser of what both can speed up by lets a \
                  corner be rounded by so much, and through a bend of short lines no faster than its curve lets each axis; G61, G61.1 and G64 change nothing in that, and an exact stop at every line \
                  takes longer"
            .to_owned(),
    }
}

fn cutting(material: &Material) -> Option<Assumed> {
    let [low, high] = material.cutting?;
    Some(Assumed {
        key: "blank.material.cutting".to_owned(),
        value: format!("[{low}, {high}]"),
        because:
            "N/mm² it takes to cut: a planning default of judgement, from memory; loads, spring and necks rest on it"
                .to_owned(),
    })
}

fn strengths(material: &Material) -> Assumed {
    let told = |value: Option<f64>| value.map_or("not known".to_owned(), |value| value.to_string());
    Assumed {
        key: "blank.material".to_owned(),
        value: format!(
            "modulus {}, bending {}, shear {}",
            told(material.modulus),
            told(material.bending),
            told(material.shear)
        ),
        because: format!("MPa: {}", material.source),
    }
}

fn thrust() -> Assumed {
    Assumed {
        key: "thrust".to_owned(),
        value: format!("{} to {}", THRUST[0], THRUST[1]),
        because: "times the main force, with sharp edges: a planning default, from memory".to_owned(),
    }
}

fn cutter() -> Assumed {
    Assumed {
        key: "stiffness of the cutters".to_owned(),
        value: format!("{} to {}", CUTTER_MODULUS[1] / 1000.0, CUTTER_MODULUS[0] / 1000.0),
        because: "GPa, high-speed steel to carbide, from memory; flutes at 80 % of their diameter, common practice"
            .to_owned(),
    }
}
