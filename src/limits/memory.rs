//! What the system tells of memory, in `/proc` (Linux); elsewhere nothing.

/// Bytes of a page of memory, as good as always.
const PAGE_BYTES: u64 = 4096;

/// Memory that the program holds, in bytes; nothing where the system does not tell.
pub fn used_bytes() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/self/statm").ok()?;
    let pages: u64 = text.split(' ').nth(1)?.parse().ok()?;
    Some(pages * PAGE_BYTES)
}

/// Memory of the machine that is free, in bytes; nothing where the system does not tell.
pub fn free_bytes() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/meminfo").ok()?;
    let line = text.lines().find(|line| line.starts_with("MemAvailable:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes * 1024)
}
