//! The keyboard's interrupt: the first ends the search, the second the program.

use crate::trouble::Trouble;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Exit code of a program ended from the keyboard: 128 and the signal's number.
const ENDED_FROM_KEYBOARD: i32 = 130;

/// Starts to listen, and hands out the flag that an interrupt sets.
pub(super) fn watch_keyboard() -> Result<&'static AtomicBool, Trouble> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_io()
        .build()
        .map_err(Trouble::System)?;
    thread::Builder::new()
        .name("interrupt".to_owned())
        .spawn(move || runtime.block_on(listen()))
        .map_err(Trouble::System)?;
    Ok(&INTERRUPTED)
}

/// Whether an interrupt came.
pub(super) fn came() -> bool {
    INTERRUPTED.load(Ordering::Relaxed)
}

async fn listen() {
    while tokio::signal::ctrl_c().await.is_ok() {
        if INTERRUPTED.swap(true, Ordering::Relaxed) {
            // The person insists; nothing is half-written at any moment, so this is safe.
            #[allow(clippy::exit)]
            std::process::exit(ENDED_FROM_KEYBOARD);
        }
    }
}
