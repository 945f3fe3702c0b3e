//! crew.csv: operators and setters.

use super::brakes::{Brakes, FILE as BRAKES};
use super::general::{General, check_calendar};
use crate::codes::{NOBODY_TRAINED, TOO_MANY, UNKNOWN_BRAKE};
use crate::fields::{Fields, Kind, Parse, Raw};
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::table::{Column, Layout, Row, read_table, required};
use crate::value::{Choice, Id, Ids};
use model::{Person, Role};
use units::{BrakeId, CalendarId, PersonId};

pub(super) const FILE: &str = "crew.csv";

/// Most people of a shop; bounds what `all` can multiply.
const MOST_PEOPLE: usize = 5_000;
pub(super) const COLUMNS: &[Column] = &[
    required("person"),
    required("role"),
    required("calendar"),
    required("brakes"),
];
const ROLES: Choice<Role> = Choice(&[
    ("operator", Role::Operator),
    ("setter", Role::Setter),
    ("both", Role::Both),
]);

/// Reads crew.csv.
pub(super) fn read_crew(
    bytes: Option<&[u8]>,
    general: &General,
    brakes: &Brakes,
    out: &mut Findings,
) -> Vec<Person> {
    let Some(bytes) = bytes else {
        return Vec::new();
    };
    let mut people: Vec<Person> = Vec::new();
    let mut ids = Known::new();
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let mut all = true;
    let whole = read_table(layout, bytes, out, |row| {
        if people.len() >= MOST_PEOPLE {
            let expected = format!("at most {MOST_PEOPLE} people");
            let problem = Problem::new(TOO_MANY, "one more", expected, "take the row out");
            row.report("person", problem);
            return;
        }
        let person = read_person(row, general, brakes);
        let fresh = person
            .as_ref()
            .is_some_and(|p| ids.add(&p.id, row.place("person"), row.out));
        all &= person.is_some();
        people.extend(person.filter(|_| fresh));
    });
    if whole && all {
        warn_untrained(&people, brakes, out);
    }
    people
}

fn read_person(row: &mut Row<'_, '_>, general: &General, brakes: &Brakes) -> Option<Person> {
    let id = row.required("person", &Id(PersonId::new));
    let role = row.required("role", &ROLES);
    let calendar = row.required("calendar", &Id(CalendarId::new));
    let trained = row.required("brakes", &Trained);
    if let Some(calendar) = &calendar {
        check_calendar(row, "calendar", calendar, &general.calendar_ids);
    }
    let trained = match trained? {
        OnBrakes::All => brakes.list.iter().map(|brake| brake.id.clone()).collect(),
        OnBrakes::These(ids) => {
            for id in &ids {
                if let Some(problem) = brakes.ids.missing(id, UNKNOWN_BRAKE, BRAKES) {
                    row.report("brakes", problem);
                }
            }
            ids
        }
    };
    Some(Person {
        id: id?,
        role: role?,
        calendar: calendar?,
        brakes: trained,
    })
}

/// On which brakes a person is trained.
enum OnBrakes {
    All,
    These(Vec<BrakeId>),
}

/// `all`, or ids with spaces between them.
struct Trained;

impl Parse for Trained {
    type Out = OnBrakes;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<OnBrakes, Problem> {
        if raw.text == "all" {
            return Ok(OnBrakes::All);
        }
        Ids(BrakeId::new).parse(raw).map(OnBrakes::These)
    }
}

fn warn_untrained(people: &[Person], brakes: &Brakes, out: &mut Findings) {
    for brake in &brakes.list {
        let Some(place) = brakes.ids.place(&brake.id) else {
            continue;
        };
        let trained = || {
            people
                .iter()
                .filter(|person| person.brakes.contains(&brake.id))
        };
        let lacks = [
            ("bend", trained().any(|person| person.role.bends())),
            ("set", trained().any(|person| person.role.sets())),
        ];
        for (what, _) in lacks.iter().filter(|(_, somebody)| !somebody) {
            let found = format!("nobody is trained to {what} on {}", brake.id);
            let action = "nothing can be planned there; name the brake at somebody in crew.csv";
            let problem = Problem::new(NOBODY_TRAINED, found, "at least one person", action);
            out.add(place.clone(), problem);
        }
    }
}
