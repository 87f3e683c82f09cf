//! The names of the files of a part.

/// How the files of a part are called, without their endings.
pub(super) fn part_name(sweep: usize, part: usize, parts: usize) -> String {
    let width = parts.to_string().len().max(3);
    format!("sweep-{sweep}-part-{part:0width$}-of-{parts:0width$}")
}

/// The file that says why a run of a part failed.
pub(super) fn failure_file(part: usize, parts: usize) -> String {
    format!("part-{part}-of-{parts}.failed")
}
