//! Operators and setters.

use crate::dice::Dice;
use crate::recipe::Recipe;
use model::{Brake, Person, Role};
use units::{CalendarId, PersonId};

/// The first two are there early, bend on every brake, and the first one sets there; so every part
/// finds its people. The others are trained on some brakes.
pub(crate) fn people(recipe: &Recipe, brakes: &[Brake], dice: &mut Dice) -> Vec<Person> {
    let mut hours = vec!["early", "late", "two-shift"];
    if recipe.features.nights {
        hours.push("night");
    }
    (0..recipe.people.max(1))
        .map(|number| {
            let calendar = if number < 2 {
                "early"
            } else {
                hours[(number - 1) % hours.len()]
            };
            let role = match number {
                0 => Role::Both,
                1 => Role::Operator,
                2 => Role::Setter,
                _ => dice.pick(&[Role::Operator, Role::Operator, Role::Setter, Role::Both]),
            };
            let everywhere = number < 3 || dice.one_in(4);
            let mut trained: Vec<_> = brakes
                .iter()
                .filter(|_| everywhere || dice.one_in(2))
                .map(|brake| brake.id.clone())
                .collect();
            if trained.is_empty() {
                trained.push(dice.pick(brakes).id);
            }
            Person {
                id: PersonId::new(&format!("P{}", number + 1)).expect("an id"),
                role,
                calendar: CalendarId::new(calendar).expect("an id"),
                brakes: trained,
            }
        })
        .collect()
}
