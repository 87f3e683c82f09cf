//! Signals of the system to a program: to end, or that a file would grow too large.
//!
//! Ctrl-C is not here: it stops an evaluation, which the command line sees to.

/// Asks for the signals; to be called once, at the start. Where they cannot be had all is as the system does it.
#[cfg(unix)]
pub fn listen() {
    use signal_hook::consts::{SIGHUP, SIGTERM, SIGXFSZ};
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    // That a file grows beyond what the system allows then fails the write, which is reported, and does not end the program.
    drop(signal_hook::flag::register(SIGXFSZ, Arc::new(AtomicBool::new(false))));

    // A program that was started to outlive its terminal must not end with it.
    let ends: &[i32] = if is_ignored(SIGHUP) { &[SIGTERM] } else { &[SIGTERM, SIGHUP] };
    let Ok(mut signals) = signal_hook::iterator::Signals::new(ends) else { return };
    let end = move || {
        for signal in signals.forever() {
            crate::files::abandon();
            drop(signal_hook::low_level::emulate_default_handler(signal));
        }
    };
    drop(std::thread::Builder::new().name("signals".into()).spawn(end));
}

#[cfg(not(unix))]
pub fn listen() {}

/// Ends the program at once with an exit code, and leaves no unfinished file.
pub fn leave(code: u8) -> ! {
    crate::files::abandon();
    std::process::exit(i32::from(code))
}

/// True when whoever started the program wants a signal ignored; known on Linux.
#[cfg(unix)]
fn is_ignored(signal: i32) -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).unwrap_or(0);
    mask >> (signal - 1) & 1 == 1
}
