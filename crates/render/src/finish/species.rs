//! Woods by name.

use super::Wood;

/// A plain diffuse-porous hardwood, from which the others differ.
pub(super) const BEECH: Wood = Wood {
    early: [222, 182, 146],
    late: [196, 146, 108],
    ring: 2.4,
    late_share: 0.09,
    gradual: 0.3,
    pore: [168, 118, 80],
    pore_width: 0.07,
    pore_length: 2.5,
    pores: 0.35,
    ring_porous: 0.15,
    ray: [158, 104, 70],
    fleck: [196, 144, 102],
    ray_width: 0.12,
    ray_height: 2.0,
    rays: 0.45,
    streaks: 0.4,
    clouds: 0.25,
    figure: 0.1,
    roughness: 0.36,
};

/// A ring-porous hardwood.
const OAK: Wood = Wood {
    early: [204, 166, 118],
    late: [182, 140, 92],
    ring: 2.2,
    late_share: 0.62,
    gradual: 0.25,
    pore: [112, 76, 46],
    pore_width: 0.2,
    pore_length: 7.0,
    pores: 0.75,
    ring_porous: 0.9,
    ray: [150, 108, 68],
    fleck: [226, 196, 152],
    ray_width: 0.22,
    ray_height: 14.0,
    rays: 0.2,
    streaks: 0.45,
    clouds: 0.3,
    ..BEECH
};

/// A softwood: no pores, strong rings.
const PINE: Wood = Wood {
    early: [236, 208, 164],
    late: [206, 160, 108],
    ring: 2.8,
    late_share: 0.12,
    gradual: 0.8,
    pore: [176, 120, 70],
    pore_width: 0.14,
    pore_length: 7.0,
    pores: 0.03,
    ring_porous: 0.0,
    ray: [224, 188, 134],
    fleck: [224, 188, 134],
    ray_width: 0.05,
    ray_height: 0.5,
    rays: 0.12,
    streaks: 0.35,
    clouds: 0.22,
    figure: 0.05,
    roughness: 0.42,
};

const MAPLE: Wood = Wood {
    early: [232, 208, 176],
    late: [206, 168, 124],
    ring: 2.6,
    late_share: 0.05,
    gradual: 0.15,
    pore: [198, 160, 116],
    pore_width: 0.06,
    pore_length: 2.0,
    pores: 0.25,
    ring_porous: 0.0,
    ray: [204, 160, 112],
    fleck: [214, 174, 130],
    ray_width: 0.07,
    ray_height: 0.7,
    rays: 0.4,
    streaks: 0.35,
    clouds: 0.35,
    figure: 0.45,
    roughness: 0.33,
};

const WALNUT: Wood = Wood {
    early: [128, 88, 58],
    late: [84, 54, 36],
    ring: 3.2,
    late_share: 0.3,
    gradual: 0.8,
    pore: [46, 28, 18],
    pore_width: 0.15,
    pore_length: 5.0,
    pores: 0.4,
    ring_porous: 0.45,
    ray: [112, 74, 48],
    fleck: [126, 88, 60],
    ray_width: 0.05,
    ray_height: 0.5,
    rays: 0.2,
    streaks: 0.6,
    clouds: 0.7,
    figure: 0.3,
    roughness: 0.36,
};

/// Woods, the more special name before the more general one. Every wood that has a row among the materials has one here.
pub(super) const SPECIES: [(&[&str], Wood); 21] = [
    (&["red maple", "soft maple"], Wood { early: [224, 196, 162], late: [194, 154, 114], ..MAPLE }),
    (&["maple"], MAPLE),
    (&["walnut"], WALNUT),
    (
        &["cherry"],
        Wood {
            early: [192, 130, 90],
            late: [152, 92, 60],
            late_share: 0.07,
            gradual: 0.5,
            pore: [124, 66, 40],
            pores: 0.3,
            rays: 0.35,
            ray: [160, 96, 60],
            fleck: [206, 140, 96],
            clouds: 0.5,
            ..MAPLE
        },
    ),
    (
        &["red oak"],
        Wood {
            early: [210, 160, 120],
            late: [186, 132, 94],
            ray: [158, 108, 78],
            fleck: [224, 180, 140],
            ray_height: 7.0,
            ..OAK
        },
    ),
    (&["oak"], OAK),
    (
        &["ash"],
        Wood {
            early: [228, 204, 166],
            late: [206, 172, 126],
            pore: [160, 120, 76],
            ring: 2.6,
            ray: [206, 172, 126],
            fleck: [232, 208, 168],
            ray_width: 0.05,
            ray_height: 0.5,
            ..OAK
        },
    ),
    (&["beech"], BEECH),
    (
        &["poplar", "tulipwood"],
        Wood {
            early: [220, 211, 178],
            late: [192, 180, 136],
            pore: [180, 170, 128],
            ray: [196, 182, 140],
            fleck: [212, 200, 162],
            ring: 4.0,
            late_share: 0.06,
            clouds: 0.7,
            figure: 0.1,
            ..MAPLE
        },
    ),
    (
        &["basswood", "lime", "linden"],
        Wood {
            early: [234, 216, 188],
            late: [220, 196, 162],
            ray: [214, 188, 152],
            fleck: [226, 204, 172],
            ring: 3.0,
            pores: 0.15,
            rays: 0.15,
            figure: 0.1,
            ..MAPLE
        },
    ),
    (
        &["redcedar eastern", "red cedar eastern"],
        Wood {
            early: [178, 110, 88],
            late: [142, 76, 64],
            pore: [120, 62, 52],
            ray: [156, 90, 72],
            fleck: [168, 102, 82],
            ring: 1.8,
            gradual: 0.6,
            clouds: 0.8,
            ..PINE
        },
    ),
    (
        &["redcedar", "cedar"],
        Wood {
            early: [194, 130, 92],
            late: [138, 80, 54],
            pore: [120, 70, 46],
            ray: [166, 104, 70],
            fleck: [182, 118, 82],
            ring: 1.7,
            late_share: 0.14,
            gradual: 0.5,
            clouds: 0.6,
            ..PINE
        },
    ),
    (
        &["fir", "larch"],
        Wood {
            early: [226, 176, 130],
            late: [172, 104, 62],
            pore: [170, 104, 62],
            ray: [206, 154, 110],
            fleck: [216, 166, 120],
            ring: 2.2,
            late_share: 0.28,
            gradual: 0.35,
            ..PINE
        },
    ),
    (
        &["spruce"],
        Wood { early: [234, 208, 170], late: [206, 166, 122], ring: 1.5, late_share: 0.14, gradual: 0.9, ..PINE },
    ),
    (&["pine"], PINE),
    (
        &["mahogany"],
        Wood {
            early: [166, 94, 62],
            late: [142, 76, 50],
            pore: [84, 38, 24],
            ray: [134, 70, 46],
            fleck: [172, 102, 70],
            pore_width: 0.17,
            pore_length: 5.0,
            pores: 0.42,
            ring: 5.0,
            ring_porous: 0.0,
            late_share: 0.08,
            clouds: 0.4,
            figure: 0.5,
            ..WALNUT
        },
    ),
    (
        &["teak"],
        Wood {
            early: [178, 128, 74],
            late: [140, 94, 50],
            pore: [88, 56, 30],
            ray: [150, 104, 58],
            fleck: [186, 138, 84],
            ring: 2.6,
            ring_porous: 0.7,
            ..WALNUT
        },
    ),
    (
        &["purpleheart"],
        Wood {
            early: [124, 66, 88],
            late: [102, 50, 72],
            pore: [66, 24, 46],
            ray: [104, 52, 74],
            fleck: [132, 76, 96],
            ring: 4.0,
            ring_porous: 0.0,
            clouds: 0.3,
            streaks: 0.4,
            ..WALNUT
        },
    ),
    (
        &["birch"],
        Wood {
            early: [226, 192, 152],
            late: [194, 150, 110],
            pore: [178, 130, 86],
            ray: [200, 156, 114],
            fleck: [214, 176, 134],
            pore_width: 0.09,
            gradual: 0.3,
            ..MAPLE
        },
    ),
    (
        &["butternut"],
        Wood {
            early: [200, 160, 114],
            late: [164, 120, 78],
            pore: [112, 76, 46],
            ray: [176, 134, 90],
            fleck: [206, 168, 122],
            clouds: 0.45,
            ..WALNUT
        },
    ),
    (
        &["ebony", "blackwood"],
        Wood {
            early: [46, 37, 32],
            late: [32, 26, 23],
            pore: [18, 14, 13],
            ray: [38, 30, 26],
            fleck: [52, 43, 38],
            pore_width: 0.09,
            ring_porous: 0.0,
            clouds: 0.3,
            streaks: 0.3,
            figure: 0.1,
            roughness: 0.3,
            ..WALNUT
        },
    ),
];
