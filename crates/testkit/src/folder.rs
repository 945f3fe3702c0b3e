//! A shop as the files of a shop folder; docs/reference/shop-files.md says what is in them.

mod settings;
mod tables;

use model::Shop;

/// The files of a shop folder, name and text, that describe the shop completely: every rule, every
/// change time, every optional column. Lengths are in millimetres, moments carry their offset.
///
/// One thing cannot be written: a shop without `as_of` comes back with orders ready from 1970.
#[must_use]
pub fn write_folder(shop: &Shop) -> Vec<(&'static str, String)> {
    vec![
        ("shop.toml", settings::shop(shop)),
        ("brakes.toml", settings::brakes(shop)),
        ("materials.toml", settings::materials(shop)),
        ("tooling.toml", settings::tooling(shop)),
        ("sections.csv", tables::sections(shop)),
        ("parts.csv", tables::parts(shop)),
        ("bends.csv", tables::bends(shop)),
        ("deductions.csv", tables::deductions(shop)),
        ("setups.csv", tables::setups(shop)),
        ("work-orders.csv", tables::orders(shop)),
        ("deliveries.csv", tables::deliveries(shop)),
        ("blanks.csv", tables::blanks(shop)),
        ("crew.csv", tables::crew(shop)),
        ("floor.csv", tables::floor(shop)),
    ]
}
