//! Columns of a long table and the reading of a long text, which `peer/tables.py` sets against a table library of Python.
//!
//! `cargo bench --bench tables -- [--read FILE]` prints seconds of the best run as JSON; with a file it reads that alone, once, and prints
//! the most memory that it took as well.

use hosewright::quantity::{Quantity, find_unit};
use hosewright::table::{Aggregate, Arithmetic, Cell, Column, Comparison, Logic, Operand, Order, Table, TableColumn};
use std::path::Path;
use std::time::Instant;

const ROWS: usize = 900_000;
const RUNS: usize = 9;
const ZONES: [&str; 5] = ["beds", "berries", "lawn", "hedge", "herbs"];

/// Numbers that look random and are the same everywhere: multiples of the golden section, as the peer makes them.
fn spread(row: usize) -> f64 {
    (row as f64 * 0.618_033_988_749_894_9).fract()
}

fn table() -> Table {
    let unit = |name| find_unit(name).expect("a unit of this bench");
    let psi = (0..ROWS).map(|row| 20.0 + 30.0 * spread(row));
    let gpm = (0..ROWS).map(|row| 8.0 * spread(row + 7));
    let zones = (0..ROWS).map(|row| ZONES[row % ZONES.len()]);
    let day = (0..ROWS).map(|row| (row / ZONES.len()) as f64);
    let columns = vec![
        Column::written("p", psi, unit("psi")),
        Column::written("q", gpm, unit("gpm")),
        Column::texts("zone", zones),
        Column::numbers("day", day),
    ];
    Table::new(columns).expect("a table")
}

fn quantity(value: f64, unit: &str) -> Operand {
    Operand::Value(Cell::Quantity(Quantity::written(value, find_unit(unit).expect("a unit of this bench"))))
}

/// Seconds of the best run.
fn best<T>(work: impl Fn() -> T) -> (f64, T) {
    let run = || {
        let start = Instant::now();
        let table = work();
        (start.elapsed().as_secs_f64(), table)
    };
    (1..RUNS).map(|_| run()).fold(run(), |best, next| if next.0 < best.0 { next } else { best })
}

/// The most memory that this process has taken, MB; none where the system does not tell.
fn most_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().trim_end_matches("kB").trim().parse::<f64>().ok()? / 1024.0)
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(place) = arguments.iter().position(|argument| argument == "--read") {
        let start = Instant::now();
        let table = Table::read(Path::new(&arguments[place + 1])).expect("a table");
        let seconds = start.elapsed().as_secs_f64();
        println!("{{\"rows\": {}, \"read\": {seconds}, \"memory_mb\": {}}}", table.rows(), most_memory_mb().unwrap_or(f64::NAN));
        return;
    }
    let table = table();
    let column = |name: &str| Operand::Column(table.series(name).expect("a column"));
    let above = |name: &str, limit: Operand| {
        Operand::Column(TableColumn::compare(Comparison::Greater, &column(name), &limit).expect("flags"))
    };
    let (filter, kept) = best(|| {
        let flags = TableColumn::combine(Logic::And, &above("p", quantity(30.0, "psi")), &above("q", quantity(2.0, "gpm")));
        table.filter_by(&flags.expect("flags")).expect("a table")
    });
    let (with, wider) = best(|| {
        let margin = TableColumn::calculate(Arithmetic::Minus, &column("p"), &quantity(30.0, "psi")).expect("a column");
        table.with_series("margin", &margin).expect("a table")
    });
    let (group, grouped) = best(|| table.aggregated(&["zone"], &[("mean", "p", Aggregate::Mean)]).expect("a table"));
    let (many, days) = best(|| table.aggregated(&["day"], &[("sum", "q", Aggregate::Sum)]).expect("a table"));
    let (describe, described) = best(|| table.select(&["p", "q", "zone"]).expect("columns").describe().expect("figures"));
    let (pivot, wide) = best(|| table.pivot("day", "zone", "p").expect("a table"));
    let (sort, sorted) = best(|| table.sort_by("p", Order::Rising).expect("a table"));
    let median = described[0].figures.as_ref().expect("numbers").median.in_unit("psi").expect("a pressure");
    let first = sorted.cell(0, "p").expect("a cell");
    let Cell::Quantity(first) = first else { panic!("a pressure") };
    let mean = |table: &Table, name: &str| {
        let Ok(Cell::Quantity(mean)) = table.series(name).expect("a column").aggregate(Aggregate::Mean) else { panic!("a mean") };
        mean.in_unit("psi").expect("a pressure")
    };
    println!(
        "{{\"filter\": {filter}, \"with\": {with}, \"group\": {group}, \"group many\": {many}, \"describe\": {describe}, \"pivot\": {pivot}, \
         \"sort\": {sort}, \"kept\": {}, \"mean_kept\": {}, \"mean_margin\": {}, \"groups\": {}, \"days\": {}, \"median\": {median}, \
         \"different\": {}, \"wide\": [{}, {}], \"mean_wide\": {}, \"first\": {}, \"cores\": {}}}",
        kept.rows(),
        mean(&kept, "p"),
        mean(&wider, "margin"),
        grouped.rows(),
        days.rows(),
        described[0].n_different,
        wide.rows(),
        wide.names().len(),
        mean(&wide, "beds"),
        first.in_unit("psi").expect("a pressure"),
        std::thread::available_parallelism().map_or(1, usize::from),
    );
}
