//! A whole shop from a recipe.

use crate::calendars::{at, calendars, place_and_day};
use crate::dice::Dice;
use crate::floor::{furnish, setups};
use crate::recipe::Recipe;
use crate::{brakes, lines, materials, orders, parts, people, rules, stock};
use model::{Floor, Shop};

/// Invents a shop: sound, consistent, and the same for the same recipe.
///
/// Unless the recipe asks for misfits, every part fits the first brake, every order has its blanks,
/// and somebody is trained for it. Whether all fits the horizon is another matter: few people and
/// many orders do not.
#[must_use]
pub fn invent(recipe: &Recipe) -> Shop {
    let mut dice = Dice::new(recipe.seed);
    let (zone, day) = place_and_day(recipe.season, recipe.seed);
    let (hour, minute) = dice.pick(&[(5, 30), (6, 0), (10, 17), (15, 30)]);
    let as_of = at(zone, day, hour, minute);
    let calendars = calendars(recipe, day);
    let brakes = brakes::brakes(recipe, &mut dice);
    let materials = materials::materials();
    let profiles = stock::profiles(recipe);
    let sections = stock::sections(recipe, &profiles, &mut dice);
    let mut blueprints = parts::parts(recipe, &materials, &mut dice);
    let setups = setups(recipe, &mut blueprints, &brakes, day, &mut dice);
    let orders = orders::orders(recipe, &blueprints, (&brakes, &materials), as_of, &mut dice);
    let own = recipe.features.own_deductions;
    let deductions = own.then(|| lines::own_deductions(&materials));
    let deductions = deductions.unwrap_or_default();
    let mut shop = Shop {
        name: format!("Invented shop {}, for tests", recipe.seed),
        zone,
        as_of: Some(as_of),
        rules: rules::rules(recipe, &mut dice),
        calendars,
        people: people::people(recipe, &brakes, &mut dice),
        brakes,
        materials,
        profiles,
        sections,
        parts: blueprints
            .iter()
            .map(|blueprint| blueprint.part.clone())
            .collect(),
        deductions,
        setups,
        orders,
        floor: Floor::default(),
    };
    furnish(recipe, &mut shop, &blueprints, day, &mut dice);
    shop
}
