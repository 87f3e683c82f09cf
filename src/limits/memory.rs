//! What the system reports about memory; none where it does not report.

use std::sync::{LazyLock, Mutex, MutexGuard, PoisonError};
use sysinfo::{MemoryRefreshKind, Process, ProcessRefreshKind, ProcessesToUpdate, System};

/// One view of the system for all who ask, since to make one takes longer than to ask.
static SYSTEM: LazyLock<Mutex<System>> = LazyLock::new(|| Mutex::new(System::new()));

/// Memory that the program holds, in bytes; none where the system does not report it.
pub fn used_bytes() -> Option<u64> {
    used_in(&mut system())
}

/// Memory that the program can still get, in bytes: what is free on the machine, but no more than a container leaves. Nothing where the
/// system does not report it.
pub fn free_bytes() -> Option<u64> {
    let mut system = system();
    system.refresh_memory_specifics(MemoryRefreshKind::nothing().with_ram());
    let free = Some(system.available_memory()).filter(|free| *free > 0)?;
    let used = used_in(&mut system).unwrap_or(0);
    Some(system.cgroup_limits().map_or(free, |limits| free.min(limits.total_memory.saturating_sub(used))))
}

fn used_in(system: &mut System) -> Option<u64> {
    let program = sysinfo::get_current_pid().ok()?;
    let memory_only = ProcessRefreshKind::nothing().without_tasks().with_memory();
    system.refresh_processes_specifics(ProcessesToUpdate::Some(&[program]), false, memory_only);
    system.process(program).map(Process::memory).filter(|bytes| *bytes > 0)
}

fn system() -> MutexGuard<'static, System> {
    SYSTEM.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn memory_that_is_taken_is_seen() {
        if !sysinfo::IS_SUPPORTED_SYSTEM {
            return;
        }
        let before = used_bytes().expect("told");
        let taken = vec![1u8; 64 << 20];
        let after = used_bytes().expect("told");
        assert!(after >= before + (32 << 20), "{before} {after}");
        assert!(taken.iter().step_by(4096).all(|byte| *byte == 1) && free_bytes().is_some_and(|free| free > 1 << 20));
    }
}
