//! The same input, seed and steps give the same plan, byte for byte.

use crate::program::{brakewright, demo_plan};

#[test]
fn the_same_call_gives_the_same_bytes() {
    let again = brakewright(&["plan", "demo-shop", "--json"]);
    assert!(again.out == demo_plan(), "two calls gave two plans");
    let other = brakewright(&[
        "plan",
        "demo-shop",
        "--json",
        "--seed",
        "2",
        "--iterations",
        "300",
    ]);
    let twin = brakewright(&[
        "plan",
        "demo-shop",
        "--json",
        "--seed",
        "2",
        "--iterations",
        "300",
    ]);
    assert!(other.out == twin.out, "two calls gave two plans");
    assert_eq!(other.json()["iterations"], 300);
}

#[test]
fn steps_that_a_time_limit_allowed_reproduce_its_plan() {
    let timed = brakewright(&["plan", "demo-shop", "--json", "--seconds", "1"]).json();
    let steps = timed["iterations"]
        .as_u64()
        .expect("the steps done")
        .to_string();
    let replayed = brakewright(&["plan", "demo-shop", "--json", "--iterations", &steps]).json();
    assert_eq!(timed["brakes"], replayed["brakes"]);
    assert_eq!(timed["totals"], replayed["totals"]);
}

#[test]
fn tables_are_repeatable_too() {
    for args in [
        ["plan", "tests/tiny-shop"].as_slice(),
        &["bends", "demo-shop", "BX-206"],
        &["batches", "demo-shop", "--dot"],
        &["changeover", "tests/tiny-shop", "B1"],
    ] {
        assert_eq!(brakewright(args).out, brakewright(args).out, "{args:?}");
    }
}
