//! A daemon's office and router, without the daemon.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Request, StatusCode, header};
use daybook::{Command, Policy};
use documents::{Base, FileSet};
use serde_json::Value;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, Ordering};
use store::Store;
use tower::ServiceExt;
use units::Moment;
use web::{Hosting, Limits, Role, hash_password, new_token, secret_hash};
use workshop::{Account, Clock, Effort, Office, PeopleWish, Terms, read_folder};

static NEXT: AtomicU32 = AtomicU32::new(0);

/// Early on the day the tiny shop plans, 2027-06-07.
pub(crate) const NOW: i64 = 1_812_337_200;

pub(crate) const PASSWORD: &str = "nine cold chisels";

/// The tiny shop with some of its text replaced.
pub(crate) fn files(replace: &[(&str, &str, &str)]) -> FileSet {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/tiny-shop");
    let mut files = read_folder(&folder).unwrap();
    for (file, from, to) in replace {
        let text = String::from_utf8(files.get(file).unwrap().to_vec()).unwrap();
        assert!(text.contains(from), "{file} has no {from:?}");
        files.insert(file, text.replace(from, to).into_bytes());
    }
    files
}

/// A site with its router; its database is removed when the test ends.
pub(crate) struct Shop {
    pub(crate) office: Office,
    pub(crate) router: Router,
    clock: Arc<AtomicI64>,
    folder: PathBuf,
}

impl Drop for Shop {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

impl Shop {
    /// The tiny shop, open to this machine.
    pub(crate) async fn new() -> Shop {
        Shop::hosted(&files(&[]), |_| {}).await
    }

    /// A shop of these files, hosted otherwise.
    pub(crate) async fn hosted(files: &FileSet, change: impl FnOnce(&mut Hosting)) -> Shop {
        Shop::named("shop", files, change).await
    }

    /// The same under another name.
    pub(crate) async fn named(
        site: &str,
        files: &FileSet,
        change: impl FnOnce(&mut Hosting),
    ) -> Shop {
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("http-{}-{number}", std::process::id());
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        std::fs::create_dir_all(&folder).unwrap();
        let database = format!("sqlite:{}", folder.join("shop.db").display());
        let store = Store::open(&database).await.unwrap();
        let clock = Arc::new(AtomicI64::new(NOW));
        let told = Arc::clone(&clock);
        let tell: Clock = Arc::new(move || Moment(told.load(Ordering::Relaxed)));
        let site = store.site(site, Moment(NOW)).await.unwrap();
        let office = Office::open(site, tell).await.unwrap();
        let (base, findings) = Base::read(files);
        let base = base.unwrap_or_else(|| panic!("{findings:?}"));
        let taken = office.take_files("folder", files, Arc::new(base), Terms::default());
        taken.await.unwrap();
        office.report(findings);
        let policy = Policy {
            steps: 50,
            ..Policy::default()
        };
        let set = Command::ChangePolicy {
            policy,
            expect: None,
        };
        office.submit("M-1", set, Terms::default()).await.unwrap();
        let mut hosting = Hosting {
            offices: vec![office.clone()],
            hosts: vec!["board.example".to_owned()],
            loopback: true,
            encrypted: false,
            effort: effort(),
            limits: Limits::default(),
        };
        change(&mut hosting);
        Shop {
            router: web::router(hosting),
            office,
            clock,
            folder,
        }
    }

    /// Makes a proposal and hands back its number.
    pub(crate) async fn propose(&self) -> u64 {
        let interrupt = Arc::new(AtomicBool::new(false));
        let kept = self.office.propose(effort(), "a test", &interrupt).await;
        kept.unwrap().unwrap().number
    }

    /// Publishes a new proposal and hands back its number.
    pub(crate) async fn publish(&self) -> u64 {
        let plan = self.propose().await;
        let publish = Command::Publish {
            plan,
            expect_published: None,
        };
        self.office
            .submit("M-1", publish, Terms::default())
            .await
            .unwrap();
        plan
    }

    /// Lets time pass.
    pub(crate) fn pass(&self, seconds: i64) {
        self.clock.fetch_add(seconds, Ordering::Relaxed);
    }

    /// Adds an account with a password.
    pub(crate) async fn account(&self, name: &str, role: Role) {
        let account = Account {
            name: name.to_owned(),
            role: role.word().to_owned(),
            password: Some(hash_password(PASSWORD).unwrap()),
            disabled: false,
        };
        let wish = PeopleWish::Put {
            account: &account,
            new_password: true,
        };
        let put = self.office.change_people("console", wish, None);
        put.await.unwrap();
    }

    /// Adds an account with a token, and hands the token back.
    pub(crate) async fn token(&self, role: Role) -> String {
        let name = format!("{}-1", role.word());
        self.account(&name, role).await;
        let token = new_token().unwrap();
        let hash = secret_hash(&token);
        let wish = PeopleWish::MakeToken {
            hash: &hash,
            account: &name,
            label: "test",
            expires: None,
        };
        let made = self.office.change_people("console", wish, None);
        made.await.unwrap();
        token
    }

    pub(crate) async fn send(&self, call: Call) -> Answer {
        let response = self.router.clone().oneshot(call.request()).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, usize::MAX).await.unwrap();
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: String::from_utf8(bytes.to_vec()).unwrap(),
        }
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(Call::new("GET", path)).await
    }
}

pub(crate) fn effort() -> Effort {
    Effort {
        seconds: 20,
        seed: 1,
    }
}

/// A request in the making.
#[derive(Clone)]
pub(crate) struct Call {
    method: String,
    path: String,
    headers: Vec<(String, String)>,
    body: String,
    peer: SocketAddr,
}

impl Call {
    pub(crate) fn new(method: &str, path: &str) -> Call {
        Call {
            method: method.to_owned(),
            path: path.to_owned(),
            headers: vec![("host".to_owned(), "127.0.0.1:7000".to_owned())],
            body: String::new(),
            peer: SocketAddr::from(([127, 0, 0, 1], 40_000)),
        }
    }

    pub(crate) fn put(path: &str, body: &Value) -> Call {
        Call::new("PUT", path).json(body)
    }

    pub(crate) fn post(path: &str, body: &Value) -> Call {
        Call::new("POST", path).json(body)
    }

    pub(crate) fn json(self, body: &Value) -> Call {
        self.text(&body.to_string())
            .with("content-type", "application/json")
    }

    pub(crate) fn text(mut self, body: &str) -> Call {
        body.clone_into(&mut self.body);
        self
    }

    pub(crate) fn with(mut self, header: &str, value: &str) -> Call {
        self.headers.retain(|(name, _)| name != header);
        self.headers.push((header.to_owned(), value.to_owned()));
        self
    }

    pub(crate) fn token(self, token: &str) -> Call {
        self.with("authorization", &format!("Bearer {token}"))
    }

    pub(crate) fn if_match(self, version: u64) -> Call {
        self.with("if-match", &format!("\"{version}\""))
    }

    pub(crate) fn new_thing(self) -> Call {
        self.with("if-none-match", "*")
    }

    pub(crate) fn from(mut self, peer: [u8; 4]) -> Call {
        self.peer = SocketAddr::from((peer, 40_000));
        self
    }

    pub(crate) fn request(self) -> Request<Body> {
        let mut request = Request::builder()
            .method(self.method.as_str())
            .uri(&self.path);
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let mut request = request.body(Body::from(self.body)).unwrap();
        request.extensions_mut().insert(ConnectInfo(self.peer));
        request
    }
}

pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) body: String,
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|_| panic!("{}", self.body))
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .map_or("", |value| value.to_str().unwrap())
    }

    /// The version its ETag says.
    pub(crate) fn version(&self) -> u64 {
        self.header("etag").trim_matches('"').parse().unwrap()
    }

    /// Checks the status, and that a refusal is a problem of the kind.
    #[track_caller]
    pub(crate) fn is(&self, status: u16, kind: &str) {
        assert_eq!(self.status.as_u16(), status, "{}", self.body);
        if !kind.is_empty() {
            let content = self.headers.get(header::CONTENT_TYPE).unwrap();
            assert_eq!(content, "application/problem+json");
            assert_eq!(self.json()["kind"], kind, "{}", self.body);
            assert_eq!(self.json()["status"], status);
        }
    }
}
