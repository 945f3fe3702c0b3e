//! The daemon, started as a service is.

use crate::program::{Scratch, brakewright, command};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// A child that does not outlive its test.
struct Service(Child);

impl Drop for Service {
    fn drop(&mut self) {
        // Already ended when the test went well.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn get(address: &str, path: &str) -> Option<String> {
    let mut stream = TcpStream::connect(address).ok()?;
    let host = format!("Host: {address}\r\nConnection: close\r\n\r\n");
    stream
        .write_all(format!("GET {path} HTTP/1.1\r\n{host}").as_bytes())
        .ok()?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer).ok()?;
    Some(answer)
}

#[test]
fn a_board_comes_up_and_goes_down_when_told() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    let database = format!("sqlite://{}", scratch.text("board.db"));
    let args = [
        "serve",
        shop.to_str().unwrap(),
        "--db",
        &database,
        "--listen",
        "127.0.0.1:0",
        "--seconds",
        "1",
    ];
    let child = command(&args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut service = Service(child.expect("the executable starts"));
    let mut first = String::new();
    let mut out = BufReader::new(service.0.stdout.take().unwrap());
    out.read_line(&mut first).unwrap();
    let address = first
        .trim()
        .trim_start_matches("http://")
        .trim_end_matches('/')
        .to_owned();
    let patience = Instant::now() + Duration::from_secs(60);
    let answer = loop {
        let answer = get(&address, "/api/v1/plans/proposal").unwrap_or_default();
        if answer.starts_with("HTTP/1.1 200") || Instant::now() > patience {
            break answer;
        }
        sleep(Duration::from_millis(100));
    };
    assert!(answer.contains("\"brakewright.plan/1\""), "{first}{answer}");
    let told = Command::new("kill")
        .args(["-TERM", &service.0.id().to_string()])
        .status();
    assert!(told.is_ok_and(|status| status.success()));
    assert_eq!(service.0.wait().unwrap().code(), Some(0));
}

#[test]
fn other_machines_are_not_served() {
    let scratch = Scratch::new();
    let database = format!("sqlite://{}", scratch.text("board.db"));
    let args = [
        "serve",
        "tests/tiny-shop",
        "--db",
        &database,
        "--listen",
        "0.0.0.0:0",
    ];
    let answer = brakewright(&args);
    assert_eq!(answer.code, Some(2), "{}", answer.err);
    assert!(answer.err.contains("refusing to listen"), "{}", answer.err);
    assert_eq!(scratch.names(), Vec::<String>::new());
}
