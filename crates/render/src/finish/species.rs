//! Woods by name.

use super::Wood;

/// A plain diffuse-porous hardwood, from which the others differ.
pub(super) const BEECH: Wood = Wood {
    early: [222, 180, 140],
    late: [200, 152, 110],
    ring: 2.4,
    late_share: 0.16,
    gradual: 0.4,
    pore: [168, 118, 80],
    pore_width: 0.07,
    pore_length: 2.5,
    pores: 0.35,
    ring_porous: 0.15,
    ray: [168, 112, 74],
    ray_width: 0.16,
    ray_height: 1.8,
    rays: 0.35,
    streaks: 0.3,
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
    pore_width: 0.26,
    pore_length: 9.0,
    pores: 0.75,
    ring_porous: 0.9,
    ray: [222, 190, 144],
    ray_width: 0.3,
    ray_height: 14.0,
    rays: 0.3,
    streaks: 0.45,
    clouds: 0.3,
    ..BEECH
};

/// A softwood: no pores, strong rings.
const PINE: Wood = Wood {
    early: [238, 208, 156],
    late: [208, 156, 96],
    ring: 2.8,
    late_share: 0.2,
    gradual: 0.75,
    pore: [176, 120, 70],
    pore_width: 0.14,
    pore_length: 7.0,
    pores: 0.03,
    ring_porous: 0.0,
    ray: [224, 188, 134],
    ray_width: 0.05,
    ray_height: 0.5,
    rays: 0.12,
    streaks: 0.28,
    clouds: 0.22,
    figure: 0.05,
    roughness: 0.42,
};

const MAPLE: Wood = Wood {
    early: [234, 208, 168],
    late: [206, 168, 122],
    ring: 2.6,
    late_share: 0.08,
    gradual: 0.22,
    pore: [198, 160, 116],
    pore_width: 0.06,
    pore_length: 2.0,
    pores: 0.25,
    ring_porous: 0.0,
    ray: [204, 160, 112],
    ray_width: 0.07,
    ray_height: 0.7,
    rays: 0.4,
    streaks: 0.22,
    clouds: 0.25,
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
    (&["red maple", "soft maple"], Wood { early: [226, 196, 156], late: [198, 156, 114], ..MAPLE }),
    (&["maple"], MAPLE),
    (&["walnut"], WALNUT),
    (
        &["cherry"],
        Wood {
            early: [190, 122, 80],
            late: [150, 84, 50],
            ring: 2.6,
            late_share: 0.14,
            pore: [124, 66, 40],
            pores: 0.3,
            rays: 0.35,
            ray: [204, 140, 96],
            clouds: 0.4,
            figure: 0.3,
            ..MAPLE
        },
    ),
    (&["red oak"], Wood { early: [210, 160, 120], late: [186, 132, 94], ray_height: 7.0, rays: 0.25, ..OAK }),
    (&["oak"], OAK),
    (
        &["ash"],
        Wood {
            early: [228, 204, 166],
            late: [206, 172, 126],
            pore: [160, 120, 76],
            ring: 2.6,
            ray: [222, 194, 152],
            ray_width: 0.05,
            ray_height: 0.5,
            ..OAK
        },
    ),
    (&["beech"], BEECH),
    (
        &["poplar", "tulipwood"],
        Wood {
            early: [212, 206, 160],
            late: [184, 178, 124],
            pore: [176, 170, 120],
            ring: 4.0,
            late_share: 0.1,
            clouds: 0.6,
            figure: 0.1,
            ..MAPLE
        },
    ),
    (
        &["basswood", "lime", "linden"],
        Wood {
            early: [234, 214, 180],
            late: [218, 194, 154],
            ring: 3.0,
            pores: 0.15,
            rays: 0.15,
            figure: 0.1,
            ..MAPLE
        },
    ),
    (
        &["redcedar eastern", "red cedar eastern"],
        Wood { early: [182, 96, 78], late: [142, 60, 54], ring: 1.8, clouds: 0.7, ..PINE },
    ),
    (
        &["redcedar", "cedar"],
        Wood { early: [190, 122, 82], late: [132, 72, 46], ring: 1.5, late_share: 0.18, clouds: 0.55, ..PINE },
    ),
    (
        &["fir", "larch"],
        Wood { early: [230, 178, 126], late: [174, 98, 54], ring: 2.2, late_share: 0.38, gradual: 0.35, ..PINE },
    ),
    (&["spruce"], Wood { early: [238, 212, 170], late: [212, 170, 120], ring: 1.7, gradual: 0.85, ..PINE }),
    (&["pine"], PINE),
    (
        &["mahogany"],
        Wood {
            early: [162, 88, 54],
            late: [140, 70, 44],
            pore: [84, 38, 24],
            pore_width: 0.17,
            pore_length: 5.0,
            pores: 0.42,
            ring: 5.0,
            ring_porous: 0.0,
            late_share: 0.12,
            clouds: 0.4,
            figure: 0.5,
            ..WALNUT
        },
    ),
    (
        &["teak"],
        Wood { early: [178, 128, 74], late: [140, 94, 50], pore: [88, 56, 30], ring: 2.6, ring_porous: 0.7, ..WALNUT },
    ),
    (
        &["purpleheart"],
        Wood {
            early: [118, 56, 86],
            late: [94, 40, 70],
            pore: [66, 24, 46],
            ring: 4.0,
            ring_porous: 0.0,
            clouds: 0.3,
            streaks: 0.4,
            ..WALNUT
        },
    ),
    (
        &["birch"],
        Wood { early: [226, 190, 144], late: [198, 152, 106], pore: [178, 130, 86], pore_width: 0.09, ..MAPLE },
    ),
    (
        &["butternut"],
        Wood { early: [200, 160, 114], late: [164, 120, 78], pore: [112, 76, 46], clouds: 0.45, ..WALNUT },
    ),
    (
        &["ebony", "blackwood"],
        Wood {
            early: [46, 37, 32],
            late: [32, 26, 23],
            pore: [18, 14, 13],
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
