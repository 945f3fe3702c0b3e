//! The demo shop's materials, three of them by their grade, are the same as with every figure
//! written out.

#![allow(clippy::panic)] // helpers of tests are not tests to the lint

use documents::{FileSet, read_shop};
use model::Material;

/// The demo shop's materials in full.
const IN_FULL: &str = r#"
[[material]]
id = "DC01"
name = "cold-rolled steel DC01"
family = "steel"
strength_mpa = 340
strength_highest_mpa = 410
yield_mpa = 240
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.16
springback_deg = 1.0
source = "EN 10130: Re up to 280, Rm 270-410, E, density [memory]; radius share 5/32 of V for mild steel [source]; typical strength and springback [trade]"

[[material]]
id = "S235"
name = "structural steel S235JR"
family = "steel"
strength_mpa = 430
strength_highest_mpa = 510
yield_mpa = 235
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.16
springback_deg = 1.0
source = "EN 10025-2: Re from 235, Rm 360-510, E, density [source]; radius share 5/32 of V for mild steel [source]; typical strength and springback [trade]"

[[material]]
id = "S355"
name = "structural steel S355J2"
family = "steel"
strength_mpa = 530
strength_highest_mpa = 630
yield_mpa = 355
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.17
springback_deg = 1.5
source = "EN 10025-2: Re from 355, Rm 470-630, E, density [memory]; typical strength, radius share and springback [trade]"

[[material]]
id = "GALV"
name = "galvanised sheet DX51D"
family = "steel"
strength_mpa = 360
strength_highest_mpa = 500
yield_mpa = 260
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.16
springback_deg = 1.0
source = "EN 10346: Rm 270-500 [memory]; yield, typical strength, radius share and springback as for mild steel [trade]"

[[material]]
id = "1.4301"
name = "stainless sheet 1.4301"
family = "stainless"
strength_mpa = 620
strength_highest_mpa = 750
yield_mpa = 230
modulus_mpa = 200000
density_kg_m3 = 7900
radius_share_of_v = 0.21
springback_deg = 2.5
source = "EN 10088-2: Re from 230, Rm 540-750, E, density [memory]; radius share 20-22 % of V, typical strength and springback [trade]"

[[material]]
id = "5754"
name = "aluminium sheet EN AW-5754 H111"
family = "aluminium"
strength_mpa = 220
strength_highest_mpa = 240
yield_mpa = 80
modulus_mpa = 70000
density_kg_m3 = 2670
radius_share_of_v = 0.14
springback_deg = 1.5
source = "EN 485-2: Re from 80, Rm 190-240, E, density [memory]; radius share 13-15 % of V, typical strength and springback [trade]"

[[material]]
id = "CU"
name = "copper sheet R220"
family = "copper"
strength_mpa = 240
strength_highest_mpa = 260
yield_mpa = 140
modulus_mpa = 115000
density_kg_m3 = 8940
radius_share_of_v = 0.14
springback_deg = 0.5
source = "R220: Re up to 140, Rm 220-260, E, density [memory]; typical strength, radius share and springback [trade]"

[[material]]
id = "S700MC"
name = "high-strength steel S700MC"
family = "steel"
strength_mpa = 820
strength_highest_mpa = 950
yield_mpa = 700
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.18
springback_deg = 6.0
v_over_t = [10, 14]
source = "EN 10149-2: Re from 700, Rm 750-950 [memory]; E, density as for steel [memory]; V of 10-14 times thickness, typical strength, radius share and springback [trade]"
"#;

macro_rules! demo {
    ($($name:literal)*) => {
        [$(($name, include_str!(concat!("../../../demo-shop/", $name)))),*]
    };
}

fn materials(of: Option<&str>) -> Vec<Material> {
    let files = demo!(
        "shop.toml" "brakes.toml" "materials.toml" "tooling.toml" "sections.csv" "parts.csv"
        "bends.csv" "deductions.csv" "setups.csv" "work-orders.csv" "deliveries.csv" "blanks.csv"
        "crew.csv" "floor.csv"
    );
    let mut set = FileSet::new();
    for (name, text) in files {
        let text = of.filter(|_| name == "materials.toml").unwrap_or(text);
        set.insert(name, text.as_bytes().to_vec());
    }
    let (shop, findings) = read_shop(&set);
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    shop.unwrap_or_else(|| panic!("{said:?}")).materials
}

#[test]
fn the_demo_shop_reads_to_the_same_materials_as_in_full() {
    let demo = materials(None);
    assert_eq!(demo.len(), 8);
    assert_eq!(demo, materials(Some(IN_FULL)));
}

#[test]
fn the_demo_shop_uses_grades_and_keeps_figures_of_its_own() {
    let [(_, text)] = demo!("materials.toml");
    assert_eq!(text.matches("\ngrade = ").count(), 3);
    assert_eq!(text.matches("\nstrength_mpa = ").count(), 5);
}
