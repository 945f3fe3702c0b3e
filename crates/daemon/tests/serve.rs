//! The daemon as people run it: a folder, a database file and a socket.

// The settings for tests reach functions marked as tests, not the helpers they share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use daemon::{DaemonError, ServeAsk, bind};
use serde_json::Value;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use store::{EventKind, Store};
use tokio::sync::oneshot;
use tokio::task::{JoinHandle, spawn_blocking};

/// Longer than anything here takes on a slow machine.
const PATIENCE: Duration = Duration::from_secs(60);

static NEXT: AtomicU32 = AtomicU32::new(0);

/// A copy of the tiny shop with a database beside it, removed when the test ends.
struct Shop(PathBuf);

impl Shop {
    fn new() -> std::io::Result<Shop> {
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("serve-{}-{number}", std::process::id());
        let root = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let folder = root.join("shop");
        std::fs::create_dir_all(&folder)?;
        let tiny = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/tiny-shop");
        for file in std::fs::read_dir(tiny)? {
            let file = file?;
            std::fs::copy(file.path(), folder.join(file.file_name()))?;
        }
        Ok(Shop(root))
    }

    fn ask(&self, steps: u64) -> ServeAsk {
        ServeAsk {
            folder: self.0.join("shop"),
            database: self.database(),
            listen: SocketAddr::from(([127, 0, 0, 1], 0)),
            steps,
            seed: 1,
        }
    }

    fn database(&self) -> String {
        format!("sqlite:{}", self.0.join("shop.db").display())
    }

    fn replace_in_orders(&self, from: &str, to: &str) {
        let file = self.0.join("shop/work-orders.csv");
        let text = std::fs::read_to_string(&file).unwrap();
        assert!(text.contains(from), "{text}");
        std::fs::write(&file, text.replace(from, to)).unwrap();
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

struct Running {
    address: SocketAddr,
    stop: oneshot::Sender<()>,
    run: JoinHandle<Result<(), DaemonError>>,
}

impl Running {
    async fn start(ask: ServeAsk) -> Running {
        let daemon = bind(ask).await.unwrap();
        let address = daemon.address();
        let (stop, stopped) = oneshot::channel();
        let run = tokio::spawn(daemon.run(async {
            let _ = stopped.await;
        }));
        Running { address, stop, run }
    }

    async fn stop(self) {
        self.stop.send(()).unwrap();
        let ended = tokio::time::timeout(PATIENCE, self.run).await;
        ended.expect("the daemon stops").unwrap().unwrap();
    }

    /// Status and body.
    async fn get(&self, path: &str) -> (u16, String) {
        let (address, path) = (self.address, path.to_owned());
        spawn_blocking(move || fetch(address, &path).unwrap())
            .await
            .unwrap()
    }

    async fn plan(&self) -> Value {
        let (status, body) = self.get("/api/v1/plan").await;
        assert_eq!(status, 200, "{body}");
        serde_json::from_str(&body).unwrap()
    }

    /// Asks until the answer is as wanted.
    async fn until(&self, path: &str, wanted: impl Fn(u16, &str) -> bool) -> String {
        let started = Instant::now();
        loop {
            let (status, body) = self.get(path).await;
            if wanted(status, &body) {
                return body;
            }
            assert!(
                started.elapsed() < PATIENCE,
                "{path} stays {status}: {body}"
            );
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }
}

fn fetch(address: SocketAddr, path: &str) -> std::io::Result<(u16, String)> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(PATIENCE))?;
    let head = format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(head.as_bytes())?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer)?;
    let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
    Ok((status.unwrap_or(0), body.to_owned()))
}

fn quantity(plan: &Value, order: &str) -> u64 {
    let runs = plan["brakes"][0]["runs"].as_array().unwrap();
    let run = runs.iter().find(|run| run["order"] == order).unwrap();
    run["quantity"].as_u64().unwrap()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_changed_order_becomes_a_new_plan_and_a_fault_leaves_it_up() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.ask(2_000)).await;
    daemon.until("/readyz", |status, _| status == 200).await;
    let first = daemon.plan().await;
    assert_eq!(quantity(&first, "T-1"), 20);
    assert_eq!(first["verified"], true);

    shop.replace_in_orders("T-1,A-1,20", "T-1,A-1,22");
    let before = serde_json::to_string(&first["brakes"]).unwrap();
    let second = daemon
        .until("/api/v1/plan", |_, body| body.contains("\"quantity\": 22"))
        .await;
    let second: Value = serde_json::from_str(&second).unwrap();
    assert_eq!(quantity(&second, "T-1"), 22);
    assert_ne!(serde_json::to_string(&second["brakes"]).unwrap(), before);
    let (_, page) = daemon.get("/").await;
    assert!(page.contains("revision 2 of the shop folder"), "{page}");

    shop.replace_in_orders("T-1,A-1,22", "T-1,A-1,many");
    let faults = |_, body: &str| body.contains("\"standing\":\"faults\"");
    let findings = daemon.until("/api/v1/findings", faults).await;
    let findings: Value = serde_json::from_str(&findings).unwrap();
    // Notes about files that may be missing come first; they are no faults.
    let said = findings["findings"].as_array().unwrap();
    let fault = said
        .iter()
        .find(|finding| finding["file"] == "work-orders.csv");
    assert_eq!(fault.unwrap()["line"], 2);
    assert_eq!(daemon.plan().await, second, "the last good plan stays up");
    daemon.stop().await;

    let store = Store::open(&shop.database()).await.unwrap();
    let mut kinds: Vec<_> = store
        .events(10)
        .await
        .unwrap()
        .iter()
        .map(|e| e.kind)
        .collect();
    kinds.reverse();
    let (imported, saved) = (EventKind::ShopImported, EventKind::PlanSaved);
    assert_eq!(kinds, [imported, saved, imported, saved, imported]);
    let kept = store.latest_plan().await.unwrap().unwrap();
    assert_eq!(serde_json::from_str::<Value>(&kept.json).unwrap(), second);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_restart_shows_the_last_plan_without_planning_again() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.ask(500)).await;
    daemon.until("/readyz", |status, _| status == 200).await;
    let first = daemon.plan().await;
    daemon.stop().await;

    let daemon = Running::start(shop.ask(500)).await;
    let settled = |_, body: &str| body.contains("\"standing\":\"up-to-date\"");
    daemon.until("/api/v1/findings", settled).await;
    assert_eq!(daemon.plan().await, first);
    daemon.stop().await;
    let store = Store::open(&shop.database()).await.unwrap();
    assert_eq!(
        store.events(10).await.unwrap().len(),
        2,
        "one import and one plan"
    );
    store.close().await;

    // Now the folder is broken while the daemon is away: the plan is up all the same.
    shop.replace_in_orders("T-1,A-1,20", "T-1,nothing,20");
    let daemon = Running::start(shop.ask(500)).await;
    let faults = |_, body: &str| body.contains("\"standing\":\"faults\"");
    daemon.until("/api/v1/findings", faults).await;
    assert_eq!(daemon.plan().await, first);
    daemon.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn stopping_does_not_wait_for_a_search() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.ask(u64::MAX)).await;
    let planning = |_, body: &str| body.contains("\"standing\":\"planning\"");
    daemon.until("/api/v1/findings", planning).await;
    let (status, _) = daemon.get("/readyz").await;
    assert_eq!(status, 503);
    daemon.stop().await;
    let store = Store::open(&shop.database()).await.unwrap();
    assert_eq!(
        store.latest_plan().await.unwrap(),
        None,
        "half a search is no plan"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_plan_overtaken_by_another_writer_is_made_again() {
    let shop = Shop::new().unwrap();
    // Long enough that the import below comes while the search is on.
    let daemon = Running::start(shop.ask(100_000)).await;
    let planning = |_, body: &str| body.contains("\"standing\":\"planning\"");
    daemon.until("/api/v1/findings", planning).await;
    let store = Store::open(&shop.database()).await.unwrap();
    let other = [("shop.toml".to_owned(), Vec::new())].into();
    let second = store.import(&other, units::Moment(0)).await.unwrap();

    let changed = |_, body: &str| body.contains("the shop has changed");
    daemon.until("/api/v1/findings", changed).await;
    assert_eq!(
        daemon.get("/readyz").await.0,
        503,
        "what was not kept is not shown"
    );
    daemon.until("/readyz", |status, _| status == 200).await;
    let kept = store.latest_plan().await.unwrap().unwrap();
    assert!(kept.revision > second);
    assert_eq!(
        daemon.plan().await,
        serde_json::from_str::<Value>(&kept.json).unwrap()
    );
    daemon.stop().await;
}

#[tokio::test]
async fn what_others_could_reach_is_refused() {
    let shop = Shop::new().unwrap();
    for listen in ["0.0.0.0:0", "[::]:0", "192.0.2.1:80"] {
        let ask = ServeAsk {
            listen: listen.parse().unwrap(),
            ..shop.ask(1)
        };
        let error = bind(ask).await.unwrap_err();
        assert!(matches!(error, DaemonError::OpenToOthers(_)), "{error}");
        assert!(error.to_string().contains("sign-in"), "{error}");
    }
    assert!(!shop.0.join("shop.db").exists(), "nothing was opened");
}

#[tokio::test]
async fn a_folder_that_is_not_there_is_refused() {
    let shop = Shop::new().unwrap();
    let ask = ServeAsk {
        folder: shop.0.join("elsewhere"),
        ..shop.ask(1)
    };
    let error = bind(ask).await.unwrap_err();
    assert!(matches!(error, DaemonError::Folder(_)), "{error}");
}
