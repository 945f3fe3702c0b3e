//! A caller with one connection, which asks one thing after the other.

use std::io::{self, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Order,
    Page,
    Brakes,
    NewOrder,
    Change,
}

impl Kind {
    pub(super) fn words(self) -> &'static str {
        match self {
            Kind::Order => "read an order",
            Kind::Page => "read a hundred orders",
            Kind::Brakes => "read all brakes",
            Kind::NewOrder => "put a new order",
            Kind::Change => "change an order",
        }
    }
}

/// How it went; status 0 when there was no answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    pub(super) kind: Kind,
    pub(super) status: u16,
    pub(super) took: Duration,
}

impl Told {
    pub(super) fn is_fault(&self) -> bool {
        self.status == 0 || self.status >= 500
    }
}

/// A caller.
pub(super) struct Caller<'a> {
    address: &'a str,
    connection: Option<(TcpStream, Vec<u8>)>,
    dice: u64,
    number: u64,
    writes: u64,
    orders: &'a [String],
    parts: &'a [String],
    due: &'a str,
    /// What this caller has put in itself, with its version: nobody else changes it.
    own: Vec<(String, String)>,
    made: u64,
}

impl<'a> Caller<'a> {
    pub(super) fn new(
        address: &'a str,
        number: u64,
        writes: u64,
        (orders, parts, due): (&'a [String], &'a [String], &'a str),
    ) -> Caller<'a> {
        Caller {
            address,
            connection: None,
            dice: number.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(1),
            number,
            writes,
            orders,
            parts,
            due,
            own: Vec::new(),
            made: 0,
        }
    }

    /// Asks one thing and waits for the answer.
    pub(super) fn ask(&mut self) -> Told {
        let writes = self.roll(100) < self.writes;
        if writes {
            return self.write();
        }
        let (kind, path) = match self.roll(8) {
            0 => (Kind::Page, "/api/v1/orders?limit=100".to_owned()),
            1 => (Kind::Brakes, "/api/v1/brakes".to_owned()),
            _ => {
                let order = self.pick(self.orders);
                (Kind::Order, format!("/api/v1/orders/{order}"))
            }
        };
        self.timed(kind, ("GET", &path), (&[], "")).0
    }

    fn write(&mut self) -> Told {
        let quantity = 1 + self.roll(50);
        let part = self.pick(self.parts);
        let body = format!(
            r#"{{"cells": {{"part": "{part}", "quantity": "{quantity}", "due": "{}"}}}}"#,
            self.due
        );
        let changes = !self.own.is_empty() && self.roll(2) == 0;
        let (kind, order, terms) = if changes {
            let chosen = self.roll(self.own.len() as u64);
            let (order, tag) = self.own.swap_remove(usize::try_from(chosen).unwrap_or(0));
            (Kind::Change, order, ("If-Match", tag))
        } else {
            self.made += 1;
            let order = format!("L{}-{}", self.number, self.made);
            (Kind::NewOrder, order, ("If-None-Match", "*".to_owned()))
        };
        let path = format!("/api/v1/orders/{order}");
        let headers = [
            ("Content-Type", "application/json"),
            (terms.0, terms.1.as_str()),
        ];
        let (told, tag) = self.timed(kind, ("PUT", &path), (&headers, &body));
        if let Some(tag) = tag.filter(|_| told.status == 200) {
            self.own.push((order, tag));
        }
        told
    }

    fn timed(
        &mut self,
        kind: Kind,
        what: (&str, &str),
        with: (&[(&str, &str)], &str),
    ) -> (Told, Option<String>) {
        let began = Instant::now();
        let reply = self.exchange(what, with);
        let took = began.elapsed();
        let (status, tag) = match reply {
            Ok(reply) => (reply.status, reply.tag),
            Err(_) => {
                self.connection = None;
                (0, None)
            }
        };
        (Told { kind, status, took }, tag)
    }

    fn exchange(&mut self, what: (&str, &str), with: (&[(&str, &str)], &str)) -> io::Result<Reply> {
        if self.connection.is_none() {
            let stream = TcpStream::connect(self.address)?;
            stream.set_nodelay(true)?;
            stream.set_read_timeout(Some(Duration::from_secs(60)))?;
            self.connection = Some((stream, Vec::new()));
        }
        match &mut self.connection {
            Some((stream, left)) => exchange((stream, left), self.address, what, with),
            None => Err(ErrorKind::NotConnected.into()),
        }
    }

    fn pick(&mut self, from: &'a [String]) -> &'a str {
        let at = usize::try_from(self.roll(from.len().max(1) as u64)).unwrap_or(0);
        from.get(at).map_or("", String::as_str)
    }

    /// A number below `sides`; SplitMix64 (Steele, Lea and Flood 2014) [memory].
    fn roll(&mut self, sides: u64) -> u64 {
        self.dice = self.dice.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.dice;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % sides
    }
}

/// What was answered.
pub(super) struct Reply {
    pub(super) status: u16,
    tag: Option<String>,
}

/// Sends one request and reads its answer; what came after it stays for the next.
pub(super) fn exchange(
    (stream, left): (&mut TcpStream, &mut Vec<u8>),
    host: &str,
    (method, path): (&str, &str),
    (headers, body): (&[(&str, &str)], &str),
) -> io::Result<Reply> {
    let mut request = format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\n");
    for (name, value) in headers {
        request.push_str(&format!("{name}: {value}\r\n"));
    }
    request.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
    stream.write_all(request.as_bytes())?;
    let head_end = loop {
        if let Some(end) = left.windows(4).position(|four| four == b"\r\n\r\n") {
            break end + 4;
        }
        more(stream, left)?;
    };
    let head = String::from_utf8_lossy(&left[..head_end]).into_owned();
    let header = |wanted: &str| {
        head.lines().find_map(|line| {
            let (name, value) = line.split_once(':')?;
            name.eq_ignore_ascii_case(wanted)
                .then(|| value.trim().to_owned())
        })
    };
    let bad = || io::Error::from(ErrorKind::InvalidData);
    let status = head
        .split(' ')
        .nth(1)
        .and_then(|status| status.parse().ok());
    let status = status.ok_or_else(bad)?;
    let length = header("content-length").and_then(|length| length.parse().ok());
    let length: usize = length.ok_or_else(bad)?;
    while left.len() < head_end + length {
        more(stream, left)?;
    }
    left.drain(..head_end + length);
    Ok(Reply {
        status,
        tag: header("etag"),
    })
}

fn more(stream: &mut TcpStream, left: &mut Vec<u8>) -> io::Result<()> {
    let mut piece = [0; 16 * 1024];
    match stream.read(&mut piece)? {
        0 => Err(ErrorKind::UnexpectedEof.into()),
        read => {
            left.extend_from_slice(&piece[..read]);
            Ok(())
        }
    }
}
