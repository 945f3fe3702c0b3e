//! `serve`: the daemon, until told to stop.

use super::now;
use crate::args::ServeArgs;
use crate::printer::Printer;
use crate::trouble::{Ended, Trouble};
use daemon::Settings;
use std::future::Future;
use std::io;
use std::sync::Arc;
use tracing_subscriber::EnvFilter;
use units::Seconds;
use workshop::Clock;

/// What the log tells when the environment does not say: what was planned, and what went wrong.
const LOG: &str = "info,sqlx=warn";

/// Ends when the keyboard or the system asks it to.
pub(super) fn run(args: ServeArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(LOG));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(printer.colour_of_messages());
    if args.log_json {
        log.json().init();
    } else {
        log.init();
    }
    let clock = clock(args.clock.as_deref())?;
    let settings = settings(args)?;
    let runtime = tokio::runtime::Runtime::new().map_err(Trouble::System)?;
    runtime.block_on(async {
        let told = told_to_stop().map_err(Trouble::System)?;
        let daemon = daemon::bind(settings, clock).await?;
        let scheme = if daemon.is_encrypted() {
            "https"
        } else {
            "http"
        };
        printer.data(&format!("{scheme}://{}/\n", daemon.address()))?;
        daemon.run(told).await?;
        Ok(Ended::Done)
    })
}

/// The settings file, and over it what was given on the command line.
fn settings(args: ServeArgs) -> Result<Settings, Trouble> {
    let mut settings = match &args.config {
        Some(file) => Settings::read(file)?,
        None => Settings::default(),
    };
    fn over<T>(given: Option<T>, setting: &mut T) {
        if let Some(given) = given {
            *setting = given;
        }
    }
    over(args.folder, &mut settings.folder);
    over(args.db, &mut settings.database);
    over(args.site, &mut settings.site);
    over(args.listen, &mut settings.listen.address);
    over(args.inbox, &mut settings.inbox.folder);
    over(args.seconds, &mut settings.planning.seconds);
    over(args.seed, &mut settings.planning.seed);
    settings.listen.open_to_others |= args.open_to_others;
    Ok(settings)
}

/// The system's clock, set forward or back when a moment was given for its beginning.
fn clock(begins: Option<&str>) -> Result<Clock, Trouble> {
    let ahead = match begins {
        None => Seconds::ZERO,
        Some(text) => {
            let begins = documents::parse_moment(text, chrono_tz::UTC)
                .map_err(|problem| Trouble::Usage(format!("--clock: {problem}")))?;
            begins - now()
        }
    };
    Ok(Arc::new(move || now() + ahead))
}

/// Ready when Ctrl-C is pressed or the system ends the service.
#[cfg(unix)]
fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut keyboard = signal(SignalKind::interrupt())?;
    let mut system = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = keyboard.recv() => {}
            _ = system.recv() => {}
        }
    })
}

/// Ready when Ctrl-C is pressed.
#[cfg(not(unix))]
fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        // Without a listener nothing would ever stop the daemon, so failing to listen stops it.
        let _ = tokio::signal::ctrl_c().await;
    })
}
