//! The door: starts the command line on a stack large enough for deeply nested scripts.

use std::process::ExitCode;

/// Stack of the working thread; only what is used is taken from the machine.
const STACK_BYTES: usize = 256 << 20;

fn main() -> ExitCode {
    let worker = std::thread::Builder::new().stack_size(STACK_BYTES).spawn(hosewright::cli::main);
    match worker.map(std::thread::JoinHandle::join) {
        Ok(Ok(status)) => ExitCode::from(status.code()),
        _ => ExitCode::from(hosewright::cli::Status::ScriptError.code()),
    }
}
