//! Closed forms of a queue before one brake: what the simulation is checked against, and what a
//! pencil can do.
//!
//! Symbols as in books on factory physics: te mean time a job takes, u utilisation (share of the time
//! the brake is busy), ca² and ce² squared coefficients of variation of arrivals and of times.
//! Times are in whatever unit te is in.

/// Mean wait before service with Poisson arrivals and exponential times: u/(1 − u)·te `[memory]`.
/// `u` from 0 to below 1.
#[must_use]
pub fn wait_exponential(te: f64, u: f64) -> f64 {
    wait_poisson(te, u, 1.0)
}

/// Mean wait with Poisson arrivals and any times, Pollaczek and Khinchine: (1 + ce²)/2 · u/(1 − u) · te
/// `[memory]`. Exact.
#[must_use]
pub fn wait_poisson(te: f64, u: f64, ce2: f64) -> f64 {
    wait(te, u, 1.0, ce2)
}

/// Mean wait with any arrivals and any times, Kingman: (ca² + ce²)/2 · u/(1 − u) · te `[memory]`. An
/// approximation, exact for Poisson arrivals, good when busy.
#[must_use]
pub fn wait(te: f64, u: f64, ca2: f64, ce2: f64) -> f64 {
    (ca2 + ce2) / 2.0 * u / (1.0 - u) * te
}

/// Work in progress of a steady flow, Little: throughput times time in the system `[memory]`. Exact.
#[must_use]
pub fn work_in_progress(throughput: f64, time_in_system: f64) -> f64 {
    throughput * time_in_system
}

/// Time of a job with its share of the setups, and its ce²: every `ns` jobs on average, at random, a
/// setup of mean `ts` (squared variation `cs2`) comes before the bare time `t0` (`c02`).
///
/// te = t0 + ts/Ns; σe² = σ0² + σs²/Ns + (Ns − 1)/Ns² · ts² `[memory]`.
#[must_use]
pub fn with_setups(t0: f64, c02: f64, ts: f64, cs2: f64, ns: f64) -> (f64, f64) {
    let te = t0 + ts / ns;
    let variance = c02 * t0 * t0 + cs2 * ts * ts / ns + (ns - 1.0) / (ns * ns) * ts * ts;
    (te, variance / (te * te))
}

/// Time of a job with the stops of its brake, and its ce²: a mean time `mf` between stops, in working
/// time and at random, and exponential repairs of mean `mr`.
///
/// A = mf/(mf + mr); te = t0/A; ce² = c0² + 2·A·(1 − A)·mr/t0 `[memory]`.
#[must_use]
pub fn with_stops(t0: f64, c02: f64, mf: f64, mr: f64) -> (f64, f64) {
    let available = mf / (mf + mr);
    (
        t0 / available,
        c02 + 2.0 * available * (1.0 - available) * mr / t0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64) {
        assert!(
            (value - expected).abs() < 0.005 * expected.abs(),
            "{value}, not {expected}"
        );
    }

    /// Two machines compared in a textbook: te 20 min, u 0.95 `[memory]`; the figures `[computed]`.
    #[test]
    fn a_machine_that_varies_less_has_the_shorter_queue() {
        near(wait(20.0, 0.95, 1.0, 6.25), 1_377.5);
        near(wait(20.0, 0.95, 1.0, 1.0), 380.0);
    }

    /// t0 1 h, ts 2 h, ten jobs a setup, each c² 0.0625: te 1.2 h, ce² 0.31 `[memory]`, `[computed]`.
    #[test]
    fn setups_make_a_regular_job_irregular() {
        let (te, ce2) = with_setups(1.0, 0.0625, 2.0, 0.0625, 10.0);
        near(te, 1.2);
        near(ce2, 0.31);
    }

    /// Six a day, three days: eighteen `[computed]`.
    #[test]
    fn flow_times_time_is_stock() {
        near(work_in_progress(6.0, 3.0), 18.0);
    }

    /// Exponential times wait twice as long as times that never vary `[computed]`.
    #[test]
    fn half_of_the_wait_is_variation() {
        near(wait_exponential(10.0, 0.8), 40.0);
        near(wait_poisson(10.0, 0.8, 0.0), 20.0);
    }
}
