//! Counts for whoever watches the daemon, in the text format Prometheus reads (version 0.0.4).

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;
use workshop::Counted;

/// Upper ends of the histogram's classes, seconds.
const CLASSES: [f64; 10] = [0.001, 0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.5, 10.0];

/// What was counted since the daemon started.
#[derive(Debug, Default)]
pub(crate) struct Metrics {
    counts: Mutex<Counts>,
}

#[derive(Debug, Default)]
struct Counts {
    /// By site, method, route and status; the site is empty where none was meant.
    requests: BTreeMap<(String, String, String, u16), u64>,
    /// By site and route.
    times: BTreeMap<(String, String), Times>,
    /// By site.
    streams: BTreeMap<String, u64>,
    /// By site.
    rushes: BTreeMap<String, u64>,
}

#[derive(Debug, Default)]
struct Times {
    classes: [u64; CLASSES.len()],
    count: u64,
    sum: f64,
}

/// What is read at the moment of asking.
#[derive(Debug)]
pub(crate) struct Now {
    pub(crate) site: String,
    pub(crate) events: u64,
    pub(crate) open_orders: usize,
    pub(crate) proposals: usize,
    pub(crate) plan_wanted: bool,
    pub(crate) published: bool,
    pub(crate) counted: Counted,
}

impl Metrics {
    fn with<T>(&self, change: impl FnOnce(&mut Counts) -> T) -> T {
        // A count that a panic cut short is still a count.
        change(&mut self.counts.lock().unwrap_or_else(PoisonError::into_inner))
    }

    pub(crate) fn answered(
        &self,
        site: &str,
        method: &str,
        route: &str,
        status: u16,
        took: Duration,
    ) {
        let seconds = took.as_secs_f64();
        self.with(|counts| {
            let key = (site.to_owned(), method.to_owned(), route.to_owned(), status);
            *counts.requests.entry(key).or_default() += 1;
            let key = (site.to_owned(), route.to_owned());
            let times = counts.times.entry(key).or_default();
            times.count += 1;
            times.sum += seconds;
            for (class, most) in times.classes.iter_mut().zip(CLASSES) {
                *class += u64::from(seconds <= most);
            }
        });
    }

    pub(crate) fn stream_opened(&self, site: &str) {
        self.with(|counts| *counts.streams.entry(site.to_owned()).or_default() += 1);
    }

    pub(crate) fn rush_planned(&self, site: &str) {
        self.with(|counts| *counts.rushes.entry(site.to_owned()).or_default() += 1);
    }

    /// All of it as text.
    pub(crate) fn text(&self, sites: &[Now]) -> String {
        let mut out = String::new();
        // Writing into a text cannot fail.
        let _ = self.with(|counts| write_counts(&mut out, counts, sites));
        let _ = write_sites(&mut out, sites);
        let _ = write_times(&mut out, sites);
        out
    }
}

fn head(out: &mut String, name: &str, kind: &str, help: &str) -> std::fmt::Result {
    writeln!(out, "# HELP brakewright_{name} {help}")?;
    writeln!(out, "# TYPE brakewright_{name} {kind}")
}

fn write_counts(out: &mut String, counts: &Counts, sites: &[Now]) -> std::fmt::Result {
    head(out, "requests_total", "counter", "Requests answered.")?;
    for ((site, method, route, status), count) in &counts.requests {
        let (site, method, route) = (quoted(site), quoted(method), quoted(route));
        writeln!(
            out,
            "brakewright_requests_total{{site={site},method={method},route={route},status=\"{status}\"}} {count}"
        )?;
    }
    head(
        out,
        "request_seconds",
        "histogram",
        "Time until an answer began.",
    )?;
    for ((site, route), times) in &counts.times {
        let labels = format!("site={},route={}", quoted(site), quoted(route));
        let (classes, sum) = (times.classes.into_iter().zip(CLASSES), times.sum);
        histogram(out, "request_seconds", &labels, classes, (times.count, sum))?;
    }
    let by_site = [
        ("streams_total", "Event streams opened.", &counts.streams),
        (
            "rush_plans_total",
            "Searches for what orders would cost.",
            &counts.rushes,
        ),
    ];
    for (name, help, counts) in by_site {
        head(out, name, "counter", help)?;
        for now in sites {
            let count = counts.get(&now.site).unwrap_or(&0);
            writeln!(
                out,
                "brakewright_{name}{{site={}}} {count}",
                quoted(&now.site)
            )?;
        }
    }
    Ok(())
}

/// A histogram's lines: how many fit each class, how many there were, and their sum.
fn histogram(
    out: &mut String,
    name: &str,
    labels: &str,
    classes: impl Iterator<Item = (u64, f64)>,
    (count, sum): (u64, f64),
) -> std::fmt::Result {
    for (class, most) in classes {
        writeln!(
            out,
            "brakewright_{name}_bucket{{{labels},le=\"{most}\"}} {class}"
        )?;
    }
    writeln!(
        out,
        "brakewright_{name}_bucket{{{labels},le=\"+Inf\"}} {count}"
    )?;
    writeln!(out, "brakewright_{name}_sum{{{labels}}} {sum}")?;
    writeln!(out, "brakewright_{name}_count{{{labels}}} {count}")
}

/// One figure of a site: its name, its kind, what it is, how it is read.
type Figure = (&'static str, &'static str, &'static str, fn(&Now) -> u64);

const FIGURES: [Figure; 11] = [
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
    (
        "plan_jobs_asked_total",
        "counter",
        "Wishes for a plan.",
        |now| now.counted.asked,
    ),
    (
        "plan_jobs_taken_total",
        "counter",
        "Plan jobs this daemon took.",
        |now| now.counted.taken,
    ),
    (
        "plan_jobs_taken_over_total",
        "counter",
        "Of those taken, jobs whose worker had been lost.",
        |now| now.counted.taken_over,
    ),
    (
        "plan_jobs_planned_total",
        "counter",
        "Plan jobs that ended with a proposal.",
        |now| now.counted.planned,
    ),
    (
        "plan_jobs_failed_total",
        "counter",
        "Plan jobs that ended with a fault.",
        |now| now.counted.failed,
    ),
    (
        "plan_jobs_dropped_total",
        "counter",
        "Plan jobs that ended with neither.",
        |now| now.counted.dropped,
    ),
];

fn write_sites(out: &mut String, sites: &[Now]) -> std::fmt::Result {
    for (name, kind, help, figure) in FIGURES {
        head(out, name, kind, help)?;
        for now in sites {
            let site = quoted(&now.site);
            writeln!(out, "brakewright_{name}{{site={site}}} {}", figure(now))?;
        }
    }
    Ok(())
}

/// What takes seconds, with classes of its own: its name, what it is, how it is read.
type Timed = (&'static str, &'static str, fn(&Counted) -> &workshop::Times);

const TIMED: [Timed; 2] = [
    (
        "search_seconds",
        "Time plans were searched and judged, for proposals and for rush questions.",
        |counted| &counted.searches,
    ),
    (
        "quote_seconds",
        "Time dates with odds took, waiting left out.",
        |counted| &counted.quotes,
    ),
];

fn write_times(out: &mut String, sites: &[Now]) -> std::fmt::Result {
    for (name, help, times) in TIMED {
        head(out, name, "histogram", help)?;
        for now in sites {
            let times = times(&now.counted);
            let labels = format!("site={}", quoted(&now.site));
            let classes = times.classes.into_iter().zip(workshop::CLASSES);
            histogram(out, name, &labels, classes, (times.count, times.seconds))?;
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
            metrics.answered("s", "GET", "/a\"b", status, Duration::from_millis(millis));
        }
        let text = metrics.text(&[]);
        let counted = "brakewright_requests_total{site=\"s\",method=\"GET\",route=\"/a\\\"b\",status=\"200\"} 2";
        assert!(text.lines().any(|line| line == counted), "{text}");
        let class =
            "brakewright_request_seconds_bucket{site=\"s\",route=\"/a\\\"b\",le=\"0.005\"} 2";
        assert!(text.lines().any(|line| line == class), "{text}");
        assert!(text.contains("brakewright_request_seconds_count{site=\"s\",route=\"/a\\\"b\"} 3"));
    }
}
