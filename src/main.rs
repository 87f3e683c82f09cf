//! The door: starts the command line on a stack large enough for deeply nested scripts.

use std::process::ExitCode;

fn main() -> ExitCode {
    let worker = std::thread::Builder::new().stack_size(hosewright::script::sizes::STACK_BYTES).spawn(hosewright::cli::main);
    match worker.map(std::thread::JoinHandle::join) {
        Ok(Ok(status)) => ExitCode::from(status.code()),
        _ => ExitCode::from(hosewright::cli::Status::ScriptError.code()),
    }
}
