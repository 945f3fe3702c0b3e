//! Forces, positions and what a brake or its tools cannot do.

use super::Case;
use super::search::{
    At, add, change_inserted, edit, find, inserts, list, move_to, number, part, run, shop,
};
use serde_json::{Value, json};

pub(super) const CASES: &[Case] = &[
    (
        "more force than the brake has",
        |plan| {
            let at = find(plan, |_, run| number(&run["peak_force_kn"]) > 400.0);
            move_to(plan, at, 0);
        },
        "force",
    ),
    (
        "less force than it takes",
        |plan| {
            let force = &mut plan["brakes"][2]["runs"][0]["bends"][0]["force_kn"];
            *force = json!(number(force) * 0.9);
        },
        "wrong-force",
    ),
    (
        "gauge X off by a millimetre",
        |plan| {
            add(&mut plan["brakes"][3]["runs"][0]["bends"][0]["x_mm"], 1);
        },
        "wrong-position",
    ),
    (
        "gauge R off by a millimetre",
        |plan| {
            // Where no section is known the height is the one declared.
            let at = find(plan, |_, run| {
                part(run).bends.iter().all(|bend| bend.line.is_none())
            });
            add(&mut run(plan, at)["bends"][0]["r_mm"], 1);
        },
        "wrong-position",
    ),
    (
        "another inside radius",
        |plan| {
            add(
                &mut plan["brakes"][3]["runs"][0]["bends"][0]["radius_mm"],
                1,
            );
        },
        "wrong-position",
    ),
    (
        "a lifted edge without an R axis",
        |plan| {
            let at = find(plan, |_, run| lifted(run));
            move_to(plan, at, 0);
        },
        "gauge-r",
    ),
    (
        "a taper without two fingers",
        |plan| {
            let at = find(plan, |_, run| {
                part(run).bends.iter().any(|bend| bend.taper.get() > 0.0)
            });
            move_to(plan, at, 1);
        },
        "gauge-taper",
    ),
    (
        "finer angles than the brake holds",
        |plan| {
            let at = find(plan, |(brake, _), run| {
                brake != 4 && part(run).angle_tolerance.get() < 1.0
            });
            move_to(plan, at, 4);
        },
        "angle-accuracy",
    ),
    (
        "tools that do not fit the brake",
        |plan| {
            let at = find(plan, |(brake, _), _| brake == 2);
            move_to(plan, at, 4);
        },
        "mount",
    ),
    (
        "longer than the frames are apart",
        |plan| {
            let at = find(plan, |_, run| {
                part(run)
                    .bends
                    .iter()
                    .any(|bend| bend.length.mm() > 1_050.0 && bend.leg.mm() > 200.0)
            });
            move_to(plan, at, 0);
        },
        "throat",
    ),
    (
        "deeper than the tools open",
        |plan| {
            let at = find(plan, |_, run| {
                part(run)
                    .bends
                    .iter()
                    .any(|bend| bend.flange_height.mm() > 120.0)
            });
            move_to(plan, at, 0);
        },
        "daylight",
    ),
    (
        "a V far too wide",
        |plan| another_die(plan, 8.0, "V50-80"),
        "v-opening",
    ),
    (
        "a V for which the leg is too short",
        |plan| another_die(plan, 8.0, "V50-80"),
        "flange-too-short",
    ),
    (
        "a bend left out",
        |plan| {
            edit(&mut plan["brakes"][1]["runs"][1]["bends"]).pop();
        },
        "bends-not-each-once",
    ),
    (
        "a station that is not there",
        |plan| {
            plan["brakes"][1]["runs"][1]["bends"][0]["station"] = json!(9);
        },
        "no-such-station",
    ),
    (
        "a bend at a station too short for it",
        |plan| {
            let at = find(plan, |_, run| {
                inserts(run) && list(&run["changeover"]["insert"][0]["punch_sections"]).len() > 1
            });
            change_inserted(run(plan, at), |s| {
                drop(edit(&mut s["punch_sections"]).pop());
            });
        },
        "station-too-short",
    ),
    (
        "a punch that does not clear the return",
        |plan| {
            // A straight punch clears a small one.
            let at = find(plan, |_, run| {
                inserts(run)
                    && part(run)
                        .bends
                        .iter()
                        .any(|bend| bend.return_depth.mm() > 20.0)
            });
            change_inserted(run(plan, at), |s| s["punch"] = json!("ST88-R1-90"));
        },
        "collision",
    ),
    (
        "a tool too blunt for the angle",
        |plan| {
            let at = find(plan, |_, run| {
                inserts(run) && part(run).bends.iter().any(|bend| bend.angle.get() < 86.0)
            });
            change_inserted(run(plan, at), |s| s["punch"] = json!("ST88-R1-120"));
        },
        "tool-angle",
    ),
    (
        "a program nobody named",
        |plan| {
            let at = find(plan, |_, run| run["program"].is_string());
            run(plan, at)["program"] = Value::Null;
        },
        "program-missing",
    ),
    (
        "a program of another part",
        |plan| {
            let at = find(plan, |_, run| run["program"].is_null());
            run(plan, at)["program"] = json!("B1-101");
        },
        "program-not-followed",
    ),
    (
        "unproven where only proven will do",
        |plan| {
            let at = find(plan, |_, run| part(run).proven_only);
            let unproven = shop().brakes.iter().position(|brake| {
                shop()
                    .setups_of(&part(run(plan, at)).id, &brake.id)
                    .next()
                    .is_none()
            });
            move_to(plan, at, unproven.expect("it is not proven everywhere"));
        },
        "proven-only",
    ),
    (
        "a quicker piece than there is",
        |plan| {
            let at = find(plan, |_, _| true);
            let cycle = &mut run(plan, at)["cycle_seconds"];
            *cycle = json!((number(cycle) * 900.0).round() / 1_000.0);
        },
        "wrong-cycle",
    ),
    (
        "a shorter run than its pieces take",
        |plan| {
            let at = find(plan, |_, _| true);
            add(&mut run(plan, at)["run_seconds"], -60);
        },
        "wrong-run-time",
    ),
    (
        "fingers for more stations than there are",
        fingers,
        "fingers",
    ),
];

fn lifted(run: &Value) -> bool {
    list(&run["bends"])
        .iter()
        .any(|bend| number(&bend["r_mm"]) > 0.0)
}

/// Puts a run over another die than the one it needs.
fn another_die(plan: &mut Value, v: f64, die: &str) {
    let at: At = find(plan, |_, run| {
        inserts(run) && number(&run["changeover"]["insert"][0]["v_mm"]) <= v
    });
    change_inserted(run(plan, at), |station| {
        station["die"] = json!(die);
        station["v_mm"] = json!(50.0);
    });
}

/// Makes a run on the brake with two fingers use two stations: its last bend moves to a copy of its
/// station beside it.
fn fingers(plan: &mut Value) {
    let at = find(plan, |at, run| at.0 == 0 && list(&run["bends"]).len() > 1);
    let run = run(plan, at);
    let stations = run["bed"].as_array_mut().expect("stations");
    let copy = stations.first().expect("a station").clone();
    stations.push(copy);
    let last = stations.len() - 1;
    let bends = run["bends"].as_array_mut().expect("bends");
    bends.last_mut().expect("a bend")["station"] = json!(last);
}
