//! Random histories of invented shops: nothing that is decided makes the state break its promises,
//! the log read back gives the same state, and the shop to plan is one that the files could hold.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests fail by it

mod chance;
mod invariants;
mod site;

use chance::command;
use rand::SeedableRng;
use rand_pcg::Pcg64;
use site::Site;
use std::collections::BTreeMap;
use testkit::{Recipe, invent};

/// Histories and commands in each.
const HISTORIES: u64 = 120;
const COMMANDS: usize = 120;
/// How often each kind of event must have occurred over all histories.
const OFTEN: u32 = 3;

#[test]
fn random_histories_keep_every_promise() {
    let mut counts: BTreeMap<&'static str, u32> = BTreeMap::new();
    let (mut asked, mut refused, mut plans) = (0_u32, 0_u32, 0_u32);
    for seed in 0..HISTORIES {
        let mut dice = Pcg64::seed_from_u64(seed ^ 0x00da_7b00);
        let mut site = Site::of(&invent(&Recipe::anything(seed)));
        for step in 0..COMMANDS {
            let what = format!("history {seed}, command {step}");
            let command = command(&mut site, &mut dice);
            asked += 1;
            if site.submit(&command, &what).is_err() {
                refused += 1;
            }
            if step % 40 == 39 && seed % 3 == 0 {
                plans += u32::from(site.plan_and_judge(&what));
            }
        }
        for (kind, count) in &site.counts {
            *counts.entry(kind).or_insert(0) += count;
        }
        let again = site.replayed();
        assert_eq!(again, site.state, "history {seed} replayed");
        let all = site.log.len();
        for cut in [0, 1, all / 3, all / 2, all - 1, all] {
            site.check_restart(cut, &format!("history {seed}"));
        }
        site.check_shop(&format!("history {seed}"));
    }
    println!("{asked} commands, {refused} refused, {plans} plans judged; {counts:?}");
    let rare: Vec<_> = counts.iter().filter(|(_, count)| **count < OFTEN).collect();
    assert!(rare.is_empty(), "{rare:?}");
    assert!(counts.len() >= 20, "{counts:?}");
    assert!(refused * 5 > asked && refused * 5 < asked * 4, "{refused}");
    assert!(plans >= 60, "{plans}");
}
