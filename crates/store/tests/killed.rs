//! A program killed in the middle of its work has lost nothing it was told had been kept.

use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use store::{Files, NewPlan, Store};
use units::Moment;

/// Names the database for the program that is going to be killed.
const DATABASE: &str = "STORE_TEST_DATABASE";

fn files(number: i64) -> Files {
    Files::from([(
        "work-orders.csv".to_owned(),
        number.to_string().into_bytes(),
    )])
}

/// Not a test by itself: what the test below starts and kills. Says `kept N` only once a revision
/// and its plan have been acknowledged, and never ends.
#[tokio::test]
#[ignore = "started by killing_loses_nothing_acknowledged, which also ends it"]
async fn write_until_killed() {
    let url = std::env::var(DATABASE).expect("started by the other test");
    let store = Store::open(&url).await.unwrap();
    for number in 1.. {
        let revision = store.import(&files(number), Moment(number)).await.unwrap();
        let plan = NewPlan {
            json: "{}",
            objective: number,
            verified: true,
        };
        store
            .save_plan(revision, plan, Moment(number))
            .await
            .unwrap();
        println!("kept {number}");
    }
}

#[tokio::test]
async fn killing_loses_nothing_acknowledged() {
    let name = format!("killed-{}", std::process::id());
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    let url = format!("sqlite:{}", folder.join("shop.db").display());
    // Each round goes on with the file the killed program left behind.
    for round in 1..=5 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "write_until_killed", "--ignored", "--nocapture"])
            .env(DATABASE, &url)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let said = BufReader::new(child.stdout.take().unwrap());
        let mut lines = said.lines().map_while(Result::ok);
        let wanted = format!("kept {}", round * 7);
        assert!(
            lines.any(|line| line.ends_with(&wanted)),
            "round {round} ended early"
        );
        child.kill().unwrap();
        child.wait().unwrap();
        // What it still said before it died was acknowledged too.
        let last = lines.last().unwrap_or(wanted);
        let number: i64 = last.rsplit(' ').next().unwrap().parse().unwrap();

        let store = Store::open(&url).await.unwrap();
        let plan = store.latest_plan().await.unwrap().unwrap();
        assert!(
            plan.objective >= number,
            "round {round}: {} < {number}",
            plan.objective
        );
        assert_eq!(
            store.files(plan.revision).await.unwrap(),
            files(plan.objective)
        );
        // Whole changes only: each revision and each plan has its event.
        let events = store.events(u32::MAX).await.unwrap();
        let plans = events.iter().filter(|event| event.plan.is_some()).count();
        assert_eq!(events.iter().find_map(|event| event.plan), Some(plan.plan));
        assert_eq!(i64::try_from(plans).unwrap(), plan.plan.number());
        store.close().await;
    }
    std::fs::remove_dir_all(&folder).unwrap();
}
