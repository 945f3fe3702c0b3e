//! Counts for whoever watches the daemon, in the text format Prometheus reads (version 0.0.4).

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Upper ends of the histogram's classes, seconds.
const CLASSES: [f64; 10] = [0.001, 0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.5, 10.0];

/// What was counted since the daemon started.
#[derive(Debug, Default)]
pub(crate) struct Metrics {
    counts: Mutex<Counts>,
}

#[derive(Debug, Default)]
struct Counts {
    /// By method, route and status.
    requests: BTreeMap<(String, String, u16), u64>,
    /// By route.
    times: BTreeMap<String, Times>,
    streams: u64,
    rushes: u64,
}

#[derive(Debug, Default)]
struct Times {
    classes: [u64; CLASSES.len()],
    count: u64,
    sum: f64,
}

/// What is read at the moment of asking.
#[derive(Debug)]
pub(crate) struct Now<'a> {
    pub(crate) site: &'a str,
    pub(crate) events: u64,
    pub(crate) open_orders: usize,
    pub(crate) proposals: usize,
    pub(crate) plan_wanted: bool,
    pub(crate) published: bool,
}

impl Metrics {
    fn with<T>(&self, change: impl FnOnce(&mut Counts) -> T) -> T {
        // A count that a panic cut short is still a count.
        change(&mut self.counts.lock().unwrap_or_else(PoisonError::into_inner))
    }

    pub(crate) fn answered(&self, method: &str, route: &str, status: u16, took: Duration) {
        let seconds = took.as_secs_f64();
        self.with(|counts| {
            let key = (method.to_owned(), route.to_owned(), status);
            *counts.requests.entry(key).or_default() += 1;
            let times = counts.times.entry(route.to_owned()).or_default();
            times.count += 1;
            times.sum += seconds;
            for (class, most) in times.classes.iter_mut().zip(CLASSES) {
                *class += u64::from(seconds <= most);
            }
        });
    }

    pub(crate) fn stream_opened(&self) {
        self.with(|counts| counts.streams += 1);
    }

    pub(crate) fn rush_planned(&self) {
        self.with(|counts| counts.rushes += 1);
    }

    /// All of it as text.
    pub(crate) fn text(&self, sites: &[Now<'_>]) -> String {
        let mut out = String::new();
        // Writing into a text cannot fail.
        let _ = self.with(|counts| write_counts(&mut out, counts));
        let _ = write_sites(&mut out, sites);
        out
    }
}

fn write_counts(out: &mut String, counts: &Counts) -> std::fmt::Result {
    writeln!(out, "# HELP brakewright_requests_total Requests answered.")?;
    writeln!(out, "# TYPE brakewright_requests_total counter")?;
    for ((method, route, status), count) in &counts.requests {
        let (method, route) = (quoted(method), quoted(route));
        writeln!(
            out,
            "brakewright_requests_total{{method={method},route={route},status=\"{status}\"}} {count}"
        )?;
    }
    writeln!(
        out,
        "# HELP brakewright_request_seconds Time until an answer began."
    )?;
    writeln!(out, "# TYPE brakewright_request_seconds histogram")?;
    for (route, times) in &counts.times {
        let route = quoted(route);
        let name = "brakewright_request_seconds";
        for (class, most) in times.classes.iter().zip(CLASSES) {
            writeln!(out, "{name}_bucket{{route={route},le=\"{most}\"}} {class}")?;
        }
        let count = times.count;
        writeln!(out, "{name}_bucket{{route={route},le=\"+Inf\"}} {count}")?;
        writeln!(out, "{name}_sum{{route={route}}} {}", times.sum)?;
        writeln!(out, "{name}_count{{route={route}}} {count}")?;
    }
    let plain = [
        ("streams_total", "Event streams opened.", counts.streams),
        (
            "rush_plans_total",
            "Searches for what orders would cost.",
            counts.rushes,
        ),
    ];
    for (name, help, count) in plain {
        writeln!(out, "# HELP brakewright_{name} {help}")?;
        writeln!(out, "# TYPE brakewright_{name} counter")?;
        writeln!(out, "brakewright_{name} {count}")?;
    }
    Ok(())
}

/// One figure of a site.
type Figure = (
    &'static str,
    &'static str,
    &'static str,
    fn(&Now<'_>) -> u64,
);

fn write_sites(out: &mut String, sites: &[Now<'_>]) -> std::fmt::Result {
    let figures: [Figure; 5] = [
        ("events_total", "counter", "Events in the log.", |now| {
            now.events
        }),
        ("orders_open", "gauge", "Orders that are not done.", |now| {
            now.open_orders as u64
        }),
        ("proposals", "gauge", "Proposals kept of late.", |now| {
            now.proposals as u64
        }),
        (
            "plan_wanted",
            "gauge",
            "1 while something has happened that no plan knows of.",
            |now| u64::from(now.plan_wanted),
        ),
        (
            "plan_published",
            "gauge",
            "1 once a plan is published.",
            |now| u64::from(now.published),
        ),
    ];
    for (name, kind, help, figure) in figures {
        writeln!(out, "# HELP brakewright_{name} {help}")?;
        writeln!(out, "# TYPE brakewright_{name} {kind}")?;
        for now in sites {
            let site = quoted(now.site);
            writeln!(out, "brakewright_{name}{{site={site}}} {}", figure(now))?;
        }
    }
    Ok(())
}

/// A label's value between quotes.
fn quoted(value: &str) -> String {
    let value = value.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{}\"", value.replace('\n', "\\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_add_up_and_labels_are_escaped() {
        let metrics = Metrics::default();
        for (status, millis) in [(200, 3), (200, 30), (404, 3)] {
            metrics.answered("GET", "/a\"b", status, Duration::from_millis(millis));
        }
        let text = metrics.text(&[]);
        let counted =
            "brakewright_requests_total{method=\"GET\",route=\"/a\\\"b\",status=\"200\"} 2";
        assert!(text.lines().any(|line| line == counted), "{text}");
        let class = "brakewright_request_seconds_bucket{route=\"/a\\\"b\",le=\"0.005\"} 2";
        assert!(text.lines().any(|line| line == class), "{text}");
        assert!(text.contains("brakewright_request_seconds_count{route=\"/a\\\"b\"} 3"));
    }
}
