//! `serve`: the daemon, until told to stop.

use crate::args::ServeArgs;
use crate::printer::Printer;
use crate::trouble::{Ended, Trouble};
use daemon::ServeAsk;
use std::future::Future;
use std::io;
use tracing_subscriber::EnvFilter;

/// What the log tells when the environment does not say: what was planned, and what went wrong.
const LOG: &str = "info,sqlx=warn";

/// Ends when the keyboard or the system asks it to.
pub(super) fn run(args: ServeArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(LOG));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(printer.colour_of_messages())
        .init();
    let ask = ServeAsk {
        folder: args.folder,
        database: args.db,
        listen: args.listen,
        steps: args.iterations,
        seed: args.seed,
    };
    let runtime = tokio::runtime::Runtime::new().map_err(Trouble::System)?;
    runtime.block_on(async {
        let told = told_to_stop().map_err(Trouble::System)?;
        let daemon = daemon::bind(ask).await?;
        printer.data(&format!("http://{}/\n", daemon.address()))?;
        daemon.run(told).await?;
        Ok(Ended::Done)
    })
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
