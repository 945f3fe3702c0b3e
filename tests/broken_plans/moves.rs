//! Die blocks turned and stations slid.
//!
//! A change that turns or slides something is taken where the plan has one; where it has none, a
//! station that is kept is listed as turned or slid first. Each case is wrong in both.

use super::Case;
use super::search::{At, add, edit, find, inserts, list, number, run, runs, shop, text};
use model::Profile;
use serde_json::{Value, json};

pub(super) const CASES: &[Case] = &[
    (
        "a slide from where the station did not stand",
        |plan| {
            let at = sliding(plan);
            add(&mut run(plan, at)["changeover"]["slide"][0]["from_mm"], 1);
        },
        "slid-otherwise",
    ),
    (
        "a slide that swaps a section",
        |plan| {
            let at = sliding(plan);
            let slid = &mut run(plan, at)["changeover"]["slide"][0]["station"];
            slid["die_sections"][0]["id"] = json!("NO-SUCH");
        },
        "slid-otherwise",
    ),
    (
        "a slide to where the station stands",
        |plan| {
            let at = sliding(plan);
            let from = run(plan, at)["changeover"]["slide"][0]["from_mm"].clone();
            change_moved(run(plan, at), "slide", |s| s["left_mm"] = from.clone());
        },
        "slid-nowhere",
    ),
    (
        "a station slid past its neighbour",
        slide_past_the_neighbour,
        "slid-past-another",
    ),
    (
        "a station slid off the bed",
        |plan| {
            let at = sliding(plan);
            change_moved(run(plan, at), "slide", |s| s["left_mm"] = json!(-50.0));
        },
        "off-the-bed",
    ),
    (
        "a station slid up against its neighbour",
        slide_without_a_gap,
        "station-gap",
    ),
    (
        "a slide that takes no time",
        |plan| {
            let at = sliding(plan);
            edit(&mut run(plan, at)["changeover"]["steps"])
                .retain(|step| step["action"] != "slide");
        },
        "wrong-steps",
    ),
    (
        "a station slid and not so on the bed",
        |plan| {
            let at = sliding(plan);
            add(
                &mut run(plan, at)["changeover"]["slide"][0]["station"]["left_mm"],
                1,
            );
        },
        "wrong-bed",
    ),
    (
        "a station slid and turned at once",
        |plan| {
            let at = sliding(plan);
            let mut before = run(plan, at)["changeover"]["slide"][0].clone();
            before["station"]["left_mm"] = before["from_mm"].clone();
            let turned = json!({
                "from_die": before["station"]["die"],
                "station": before["station"],
            });
            edit(&mut run(plan, at)["changeover"]["turn"]).push(turned);
        },
        "under-two-heads",
    ),
    (
        "a turn from a die that was not up",
        |plan| {
            let at = turning(plan);
            run(plan, at)["changeover"]["turn"][0]["from_die"] = json!("NO-SUCH");
        },
        "turned-otherwise",
    ),
    (
        "a turn that moves the station",
        |plan| {
            let at = turning(plan);
            change_moved(run(plan, at), "turn", |s| add(&mut s["left_mm"], 1));
        },
        "turned-otherwise",
    ),
    (
        "a turn to a die of no block",
        |plan| {
            let at = turning(plan);
            let shown = run(plan, at)["changeover"]["turn"][0]["from_die"].clone();
            let mut dies = shop().profiles.iter().filter_map(|profile| match profile {
                Profile::Die(die) if die.block.is_none() => Some(die.id.as_str()),
                _ => None,
            });
            let other = dies.find(|die| *die != text(&shown)).expect("such a die");
            change_moved(run(plan, at), "turn", |s| s["die"] = json!(other));
        },
        "not-of-its-block",
    ),
    (
        "a turn to the die that is up",
        |plan| {
            let at = turning(plan);
            let shown = run(plan, at)["changeover"]["turn"][0]["from_die"].clone();
            change_moved(run(plan, at), "turn", |s| s["die"] = shown.clone());
        },
        "turned-to-the-same-die",
    ),
    (
        "a turn that takes no time",
        |plan| {
            let at = turning(plan);
            edit(&mut run(plan, at)["changeover"]["steps"]).retain(|step| step["action"] != "turn");
        },
        "wrong-steps",
    ),
    (
        "a station kept and turned",
        |plan| {
            let at = turning(plan);
            let change = &mut run(plan, at)["changeover"];
            let mut before = change["turn"][0]["station"].clone();
            before["die"] = change["turn"][0]["from_die"].clone();
            edit(&mut change["keep"]).push(before);
        },
        "wrong-keep",
    ),
];

/// A run whose change slides a station. Where no change of the plan does, one that puts a station
/// on is made to say that a station it keeps was slid there from where it stands.
fn sliding(plan: &mut Value) -> At {
    moving(
        plan,
        "slide",
        |kept| json!({"from_mm": kept["left_mm"], "station": kept}),
    )
}

/// The same for a die block turned.
fn turning(plan: &mut Value) -> At {
    moving(
        plan,
        "turn",
        |kept| json!({"from_die": kept["die"], "station": kept}),
    )
}

fn moving(plan: &mut Value, head: &str, moved: fn(&Value) -> Value) -> At {
    let has = |run: &Value| !list(&run["changeover"][head]).is_empty();
    if let Some((at, _)) = runs(plan).find(|(_, run)| has(run)) {
        return at;
    }
    let at = find(plan, |_, run| inserts(run) && keeps(run, 1));
    let change = &mut run(plan, at)["changeover"];
    let kept = edit(&mut change["keep"]).remove(0);
    edit(&mut change[head]).push(moved(&kept));
    at
}

/// Whether a run keeps so many stations or more.
fn keeps(run: &Value, count: usize) -> bool {
    list(&run["changeover"]["keep"]).len() >= count
}

/// Changes the first station that a run turns or slides, there and on the bed alike.
fn change_moved(run: &mut Value, head: &str, change: impl Fn(&mut Value)) {
    let station = &mut run["changeover"][head][0]["station"];
    let left = station["left_mm"].clone();
    change(station);
    edit(&mut run["bed"])
        .iter_mut()
        .filter(|station| station["left_mm"] == left)
        .for_each(change);
}

/// Slides the leftmost of the stations kept beyond the rightmost of them.
fn slide_past_the_neighbour(plan: &mut Value) {
    let at = find(plan, |_, run| inserts(run) && keeps(run, 2));
    let change = &mut run(plan, at)["changeover"];
    let keep = edit(&mut change["keep"]);
    keep.sort_by(|a, b| number(&a["left_mm"]).total_cmp(&number(&b["left_mm"])));
    let last = keep.last().expect("two are kept").clone();
    let first = keep.remove(0);
    let mut slid = json!({"from_mm": first["left_mm"], "station": first});
    let beyond = number(&last["left_mm"]) + number(&last["length_mm"]) + 500.0;
    slid["station"]["left_mm"] = json!(beyond);
    edit(&mut change["slide"]).push(slid);
}

/// Slides a station kept to a millimetre from the end of another station on the bed.
fn slide_without_a_gap(plan: &mut Value) {
    let at = find(plan, |_, run| inserts(run) && keeps(run, 1));
    let change = &mut run(plan, at)["changeover"];
    let kept = edit(&mut change["keep"]).remove(0);
    let other = &change["insert"][0];
    let left = if number(&kept["left_mm"]) < number(&other["left_mm"]) {
        number(&other["left_mm"]) - number(&kept["length_mm"]) - 1.0
    } else {
        number(&other["left_mm"]) + number(&other["length_mm"]) + 1.0
    };
    let mut slid = json!({"from_mm": kept["left_mm"], "station": kept});
    slid["station"]["left_mm"] = json!(left);
    edit(&mut change["slide"]).push(slid);
}
