//! Stations, sections and changeovers.

use super::Case;
use super::search::{
    add, change_inserted, changes, edit, find, find_pair, inserts, list, number, overlap, part,
    run, runs, shop, text,
};
use model::SectionStatus;
use serde_json::{Value, json};

pub(super) const CASES: &[Case] = &[
    (
        "one section on two brakes",
        section_on_two_brakes,
        "section-on-two-brakes",
    ),
    (
        "one section twice on a bed",
        |plan| {
            let at = find(plan, |_, run| inserts(run) && list(&run["bed"]).len() > 1);
            let other = find_station(run(plan, at), false);
            let piece = other["punch_sections"][0].clone();
            change_inserted(run(plan, at), |station| {
                station["punch_sections"][0] = piece.clone();
            });
        },
        "section-twice-on-bed",
    ),
    (
        "a section of another profile",
        |plan| {
            swap_section(plan, |section| section.profile.as_str() == "V50-80");
        },
        "station-sections",
    ),
    (
        "a section out of service",
        |plan| {
            swap_section(plan, |section| section.status == SectionStatus::Out);
        },
        "section-out-of-service",
    ),
    (
        "a section nobody has",
        |plan| {
            let at = find(plan, |_, run| inserts(run));
            change_inserted(run(plan, at), |s| {
                s["punch_sections"][0]["id"] = json!("NO-SUCH");
            });
        },
        "station-sections",
    ),
    (
        "horns left in the drawer",
        |plan| {
            let at = find(plan, |_, run| {
                inserts(run)
                    && part(run)
                        .bends
                        .iter()
                        .any(|bend| bend.side_return.mm() > 0.0)
            });
            change_inserted(run(plan, at), |station| {
                edit(&mut station["punch_sections"]).retain(|piece| {
                    !text(&piece["id"]).ends_with("-HL") && !text(&piece["id"]).ends_with("-HR")
                });
            });
        },
        "horns-missing",
    ),
    (
        "a horn between others",
        |plan| {
            let at = find(plan, |_, run| {
                inserts(run)
                    && list(&run["changeover"]["insert"][0]["punch_sections"]).len() > 2
                    && text(&run["changeover"]["insert"][0]["punch_sections"][0]["id"])
                        .ends_with("-HL")
            });
            change_inserted(run(plan, at), |s| edit(&mut s["punch_sections"]).swap(0, 1));
        },
        "horn-between-others",
    ),
    (
        "a die longer than it is",
        |plan| {
            let at = find(plan, |_, run| inserts(run));
            change_inserted(run(plan, at), |s| {
                add(&mut s["die_sections"][0]["length_mm"], 5);
            });
        },
        "wrong-station-numbers",
    ),
    (
        "the wrong drawer",
        |plan| {
            let at = find(plan, |_, run| inserts(run));
            change_inserted(run(plan, at), |s| {
                s["punch_sections"][0]["drawer"] = json!("Z9");
            });
        },
        "wrong-station-numbers",
    ),
    (
        "a V that the die does not have",
        |plan| {
            let at = find(plan, |_, run| inserts(run));
            change_inserted(run(plan, at), |s| add(&mut s["v_mm"], 1));
        },
        "wrong-station-numbers",
    ),
    (
        "a station off the bed",
        |plan| {
            let at = find(plan, |_, run| inserts(run));
            change_inserted(run(plan, at), |s| s["left_mm"] = json!(9_000.0));
        },
        "off-the-bed",
    ),
    (
        "two stations in one place",
        |plan| beside(plan, |other, _| number(&other["left_mm"]) + 1.0),
        "stations-overlap",
    ),
    (
        "two stations without a gap",
        |plan| {
            beside(plan, |other, own| {
                let end = number(&other["left_mm"]) + number(&other["length_mm"]);
                let before = number(&other["left_mm"]) - number(&own["length_mm"]) - 1.0;
                if number(&own["left_mm"]) > number(&other["left_mm"]) {
                    end + 1.0
                } else {
                    before
                }
            });
        },
        "station-gap",
    ),
    (
        "a tall idle station beside low ones",
        tall_neighbour,
        "crash",
    ),
    (
        "taking off what is not there",
        |plan| {
            let at = find(plan, |_, run| {
                !list(&run["changeover"]["remove"]).is_empty()
            });
            add(&mut run(plan, at)["changeover"]["remove"][0]["left_mm"], 7);
        },
        "not-on-the-bed",
    ),
    (
        "a station kept and not said",
        |plan| {
            let at = find(plan, |_, run| !list(&run["changeover"]["keep"]).is_empty());
            edit(&mut run(plan, at)["changeover"]["keep"]).pop();
        },
        "wrong-keep",
    ),
    (
        "a station on the bed and not said",
        |plan| {
            let at = find(plan, |_, run| list(&run["bed"]).len() > 1);
            edit(&mut run(plan, at)["bed"]).pop();
        },
        "wrong-bed",
    ),
    (
        "a changeover a minute too short",
        |plan| {
            let at = find(plan, |_, run| changes(run));
            let change = &mut run(plan, at)["changeover"];
            add(&mut change["steps"][0]["seconds"], -60);
            add(&mut change["work_seconds"], -60);
        },
        "wrong-steps",
    ),
    (
        "a first piece not approved",
        |plan| {
            let at = find(plan, |_, run| {
                list(&run["changeover"]["steps"])
                    .iter()
                    .any(|step| step["action"] == "approval")
            });
            edit(&mut run(plan, at)["changeover"]["steps"])
                .retain(|step| step["action"] != "approval");
        },
        "wrong-steps",
    ),
    (
        "a guard not set",
        |plan| {
            let at = find(plan, |_, run| {
                list(&run["changeover"]["steps"])
                    .iter()
                    .any(|step| step["action"] == "guard")
            });
            edit(&mut run(plan, at)["changeover"]["steps"])
                .retain(|step| step["action"] != "guard");
        },
        "wrong-steps",
    ),
    (
        "work that is not its steps'",
        |plan| {
            let at = find(plan, |_, run| changes(run));
            add(&mut run(plan, at)["changeover"]["work_seconds"], -30);
        },
        "wrong-change-work",
    ),
    (
        "a takedown for nobody",
        |plan| {
            let mut brakes = edit(&mut plan["brakes"]).iter_mut();
            let brake = brakes.find(|brake| !list(&brake["takedowns"]).is_empty());
            let brake = brake.expect("the demo plan has a takedown");
            brake["takedowns"][0]["wanted_by"] = json!("B5");
        },
        "takedown-for-nobody",
    ),
    (
        "an empty change that takes time",
        |plan| {
            let at = find_pair(plan, |_, run| !changes(run));
            super::search::shift(&mut run(plan, at)["changeover"]["start"], -60);
        },
        "empty-change-takes-time",
    ),
];

/// A station of a run's bed that was put on for it, or one that was there.
fn find_station(run: &Value, inserted: bool) -> Value {
    let put_on = list(&run["changeover"]["insert"]);
    let station = list(&run["bed"])
        .iter()
        .find(|station| put_on.contains(station) == inserted);
    station.unwrap_or(&run["bed"][1]).clone()
}

/// Puts another section in place of the first punch section put on.
fn swap_section(plan: &mut Value, fits: impl Fn(&model::Section) -> bool) {
    let section = shop()
        .sections
        .iter()
        .find(|section| fits(section))
        .expect("such a section");
    let piece = json!({
        "id": section.id.as_str(),
        "length_mm": section.length.mm(),
        "drawer": section.drawer,
    });
    let at = find(plan, |_, run| inserts(run));
    change_inserted(run(plan, at), |station| {
        station["punch_sections"][0] = piece.clone();
    });
}

/// Gives a run a section that stands on another brake in the same minute.
fn section_on_two_brakes(plan: &mut Value) {
    let (at, piece) = runs(plan)
        .filter(|(_, run)| inserts(run))
        .find_map(|(at, run)| {
            let elsewhere = runs(plan).find(|(other, used)| other.0 != at.0 && overlap(run, used));
            elsewhere.map(|(_, used)| (at, used["bed"][0]["punch_sections"][0].clone()))
        })
        .expect("two brakes work at once");
    change_inserted(run(plan, at), |station| {
        station["punch_sections"][0] = piece.clone();
    });
}

/// Puts a station that a run puts on at a place worked out from another on that bed.
fn beside(plan: &mut Value, left: impl Fn(&Value, &Value) -> f64) {
    let at = find(plan, |_, run| {
        list(&run["changeover"]["insert"]).len() == 1
            && !list(&run["changeover"]["keep"]).is_empty()
    });
    let own = run(plan, at)["changeover"]["insert"][0].clone();
    let other = run(plan, at)["changeover"]["keep"][0].clone();
    let left = left(&other, &own);
    change_inserted(run(plan, at), |station| station["left_mm"] = json!(left));
}

/// Leaves the tallest station of the plan on a bed whose run uses a lower one.
fn tall_neighbour(plan: &mut Value) {
    let stations = runs(plan)
        .filter(|((brake, _), _)| *brake < 4)
        .flat_map(|(_, run)| list(&run["bed"]));
    let tallest = stations
        .max_by(|a, b| number(&a["closed_height_mm"]).total_cmp(&number(&b["closed_height_mm"])))
        .expect("a station")
        .clone();
    let limit = number(&tallest["closed_height_mm"]) - 30.0;
    let at = find(plan, |(brake, _), run| {
        brake < 4
            && inserts(run)
            && list(&run["bed"])
                .iter()
                .all(|station| number(&station["closed_height_mm"]) <= limit)
    });
    let run = run(plan, at);
    edit(&mut run["changeover"]["insert"]).push(tallest.clone());
    edit(&mut run["bed"]).push(tallest);
}
