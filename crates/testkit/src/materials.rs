//! Sheet materials with plausible figures [trade].

use model::{Family, Material};
use units::{Degrees, MaterialId, Megapascals};

/// Steel first, then thin sheets of other metals.
pub(crate) fn materials() -> Vec<Material> {
    let make =
        |id: &str, family, [typical, highest, proof]: [f64; 3], share, springback| Material {
            id: MaterialId::new(id).expect("an id"),
            name: format!("invented sheet {id}"),
            family,
            strength_typical: Megapascals::of(typical),
            strength_highest: Megapascals::of(highest),
            yield_strength: Megapascals::of(proof),
            modulus: Megapascals::of(if family == Family::Aluminium {
                70_000.0
            } else {
                205_000.0
            }),
            density: if family == Family::Aluminium {
                2_700.0
            } else {
                7_850.0
            },
            radius_share_of_v: share,
            springback: Degrees::of(springback),
            v_over_t: None,
            source: "invented, plausible [trade]".to_owned(),
        };
    vec![
        make("steel", Family::Steel, [430.0, 510.0, 240.0], 0.16, 1.0),
        make(
            "stainless",
            Family::Stainless,
            [600.0, 720.0, 260.0],
            0.2,
            3.0,
        ),
        make(
            "aluminium",
            Family::Aluminium,
            [230.0, 270.0, 110.0],
            0.18,
            2.0,
        ),
    ]
}
