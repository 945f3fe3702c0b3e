//! The daemon as people run it: a folder, a database file and a socket.

// The settings for tests reach functions marked as tests, not the helpers they share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use daemon::{DaemonError, Settings, bind};
use serde_json::Value;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use store::Store;
use tokio::sync::oneshot;
use tokio::task::{JoinHandle, spawn_blocking};
use units::Moment;
use workshop::Clock;

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

    fn settings(&self, seconds: u64) -> Settings {
        let mut settings = Settings {
            folder: self.0.join("shop"),
            database: self.database(),
            ..Settings::default()
        };
        settings.listen.address = SocketAddr::from(([127, 0, 0, 1], 0));
        settings.planning.seconds = seconds;
        settings
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

/// Friday, 4 June 2027, 15:30 in Berlin: the moment of the tiny shop.
fn clock() -> Clock {
    Arc::new(|| Moment(1_812_202_200))
}

struct Running {
    address: SocketAddr,
    stop: oneshot::Sender<()>,
    run: JoinHandle<Result<(), DaemonError>>,
}

impl Running {
    async fn start(settings: Settings) -> Running {
        let daemon = bind(settings, clock()).await.unwrap();
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

    /// So many steps for a proposal, at once after every change.
    async fn plan_with(&self, steps: u64) {
        let policy = format!(
            "{{\"publish_automatically\":false,\"steps\":{steps},\"quiet_seconds\":0,\
             \"drift_seconds\":900}}"
        );
        let address = self.address;
        let put = move || {
            send(
                address,
                "PUT",
                "/api/v1/policy",
                "If-Match: \"0\"\r\n",
                &policy,
            )
        };
        let (status, body) = spawn_blocking(move || put().unwrap()).await.unwrap();
        assert_eq!(status, 200, "{body}");
    }

    /// Status and body.
    async fn get(&self, path: &str) -> (u16, String) {
        let (address, path) = (self.address, path.to_owned());
        spawn_blocking(move || fetch(address, &path).unwrap())
            .await
            .unwrap()
    }

    async fn plan(&self) -> Value {
        let (status, body) = self.get("/api/v1/plans/proposal").await;
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
    send(address, "GET", path, "", "")
}

fn send(
    address: SocketAddr,
    method: &str,
    path: &str,
    more: &str,
    body: &str,
) -> std::io::Result<(u16, String)> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(PATIENCE))?;
    let length = body.len();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{more}\
         Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
    );
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

fn stands(word: &'static str) -> impl Fn(u16, &str) -> bool {
    move |_, body| body.contains(&format!("\"standing\":\"{word}\""))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_changed_order_becomes_a_new_proposal_and_a_fault_leaves_it_up() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.settings(20)).await;
    daemon.plan_with(2_000).await;
    let there = |status, _: &str| status == 200;
    daemon.until("/api/v1/plans/proposal", there).await;
    let first = daemon.plan().await;
    assert_eq!(quantity(&first, "T-1"), 20);
    assert_eq!(first["verified"], true);

    shop.replace_in_orders("T-1,A-1,20", "T-1,A-1,22");
    let before = serde_json::to_string(&first["brakes"]).unwrap();
    let changed = |_, body: &str| body.contains("\"quantity\": 22");
    let second = daemon.until("/api/v1/plans/proposal", changed).await;
    let second: Value = serde_json::from_str(&second).unwrap();
    assert_eq!(quantity(&second, "T-1"), 22);
    assert_ne!(serde_json::to_string(&second["brakes"]).unwrap(), before);

    shop.replace_in_orders("T-1,A-1,22", "T-1,A-1,many");
    let standing = daemon.until("/api/v1/standing", stands("faults")).await;
    let standing: Value = serde_json::from_str(&standing).unwrap();
    // Notes about files that may be missing come first; they are no faults.
    let said = standing["findings"].as_array().unwrap();
    let fault = said
        .iter()
        .find(|finding| finding["file"] == "work-orders.csv");
    assert_eq!(fault.unwrap()["line"], 2);
    assert_eq!(daemon.plan().await, second, "the last good plan stays");
    daemon.stop().await;

    let store = Store::open(&shop.database()).await.unwrap();
    let site = store.site("shop", Moment(0)).await.unwrap();
    let events = site.events_after(store::EventNumber(0), 100).await.unwrap();
    let taken = events
        .iter()
        .filter(|event| event.kind == "shop-data-taken");
    assert_eq!(taken.count(), 2, "the faulty folder was not taken");
    let kept = site.latest_plan().await.unwrap().unwrap();
    assert_eq!(serde_json::from_str::<Value>(&kept.json).unwrap(), second);
    store.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_restart_shows_the_last_proposal_without_planning_again() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.settings(20)).await;
    daemon.plan_with(500).await;
    daemon.until("/api/v1/standing", stands("up-to-date")).await;
    let first = daemon.plan().await;
    let (_, counts) = daemon.get("/metrics").await;
    for line in [
        "plan_jobs_taken_total{site=\"shop\"} 1",
        "plan_jobs_taken_over_total{site=\"shop\"} 0",
        "plan_jobs_failed_total{site=\"shop\"} 0",
        "search_seconds_count{site=\"shop\"} 1",
    ] {
        let line = format!("brakewright_{line}");
        assert!(counts.lines().any(|told| told == line), "{line}: {counts}");
    }
    daemon.stop().await;

    let daemon = Running::start(shop.settings(20)).await;
    daemon.until("/api/v1/standing", stands("up-to-date")).await;
    assert_eq!(daemon.plan().await, first);
    daemon.stop().await;
    let store = Store::open(&shop.database()).await.unwrap();
    let site = store.site("shop", Moment(0)).await.unwrap();
    assert_eq!(site.plans(10).await.unwrap().len(), 1);
    store.close().await;

    // Now the folder is broken while the daemon is away: the plan is there all the same.
    shop.replace_in_orders("T-1,A-1,20", "T-1,nothing,20");
    let daemon = Running::start(shop.settings(20)).await;
    daemon.until("/api/v1/standing", stands("faults")).await;
    assert_eq!(daemon.plan().await, first);
    daemon.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn stopping_does_not_wait_for_a_search() {
    let shop = Shop::new().unwrap();
    let daemon = Running::start(shop.settings(3_600)).await;
    daemon.plan_with(1_000_000_000).await;
    daemon.until("/api/v1/standing", stands("planning")).await;
    daemon.stop().await;
    let store = Store::open(&shop.database()).await.unwrap();
    let site = store.site("shop", Moment(0)).await.unwrap();
    let plan = site.latest_plan().await.unwrap();
    assert_eq!(plan, None, "half a search is no plan");
    store.close().await;
}

#[tokio::test]
async fn what_others_could_reach_is_refused() {
    let shop = Shop::new().unwrap();
    for listen in ["0.0.0.0:0", "[::]:0", "192.0.2.1:80"] {
        let mut settings = shop.settings(1);
        settings.listen.address = listen.parse().unwrap();
        let error = bind(settings, clock()).await.err().unwrap();
        assert!(matches!(error, DaemonError::OpenToOthers(_)), "{error}");
        assert!(error.to_string().contains("without TLS"), "{error}");
    }
    assert!(!shop.0.join("shop.db").exists(), "nothing was opened");
    let mut half = shop.settings(1);
    half.listen.certificate = "certificate.pem".into();
    let error = bind(half, clock()).await.err().unwrap();
    assert!(matches!(error, DaemonError::HalfACertificate), "{error}");
}

#[tokio::test]
async fn a_folder_that_is_not_there_is_refused() {
    let shop = Shop::new().unwrap();
    let mut settings = shop.settings(1);
    settings.folder = shop.0.join("elsewhere");
    let error = bind(settings, clock()).await.err().unwrap();
    assert!(matches!(error, DaemonError::Folder(_)), "{error}");
}
