//! Weather, seasons and weeks as tables and in words.

use crate::moment::Date;
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim};
use crate::season::{Barrel, BarrelDay, BarrelSeason, Bed, BedDay, BedSeason, Job, Season, Totals, Week, Years};
use crate::table::{Column, Table, TableError, Values};
use crate::weather::{Field, Weather, WeatherError};

/// A depth of water as people read it.
pub fn depth(mm: f64) -> Quantity {
    Quantity { preference: shown_in("in"), ..Quantity::new(mm / 1000.0, dim::LENGTH) }
}

/// A time of watering as people read it.
fn shown_in(us: &str) -> Preference {
    UnitSystem::default().preference_of(us)
}

fn depths(name: &str, mm: impl IntoIterator<Item = Option<f64>>) -> Column {
    Column::quantities(name, mm.into_iter().map(|mm| mm.map(|mm| mm / 1000.0)), dim::LENGTH, shown_in("in"))
}

fn temperatures(name: &str, celsius: impl IntoIterator<Item = Option<f64>>) -> Column {
    Column::quantities(
        name,
        celsius.into_iter().map(|value| value.map(|value| value + 273.15)),
        dim::TEMPERATURE,
        shown_in("degF"),
    )
}

fn of_unit(name: &str, values: impl IntoIterator<Item = Option<f64>>, dimension: Dimension, us: &str) -> Column {
    Column::quantities(name, values, dimension, shown_in(us))
}

fn dates(days: impl IntoIterator<Item = Date>) -> Column {
    dates_of("date", days.into_iter().map(Some))
}

fn dates_of(name: &str, days: impl IntoIterator<Item = Option<Date>>) -> Column {
    let ms = days.into_iter().map(|date| date.map(|date| date.moment().ms())).collect();
    Column { name: name.into(), values: Values::Dates { ms, clock: false } }
}

/// Every day of a weather: lows, highs, rain, evapotranspiration and how it was determined; a day in a gap that is too long has no
/// evapotranspiration.
pub fn weather_table(weather: &Weather) -> Result<Table, TableError> {
    let Some((first, last)) = weather.span() else { return months_table(weather) };
    let days: Vec<Date> = (0..=last.since(first)).map(|step| first.plus(step)).collect();
    let known = |field: Field| days.iter().map(move |date| weather.day(*date).and_then(|day| day.get(field)));
    // Day by day, so that a gap does not hide the rest.
    let whole = weather.course(first, last);
    let et0 = |at: usize, date: Date| match &whole {
        Ok(course) => course.days.get(at).copied(),
        Err(_) => weather.course(date, date).ok().and_then(|course| course.days.first().copied()),
    };
    let course: Vec<_> = days.iter().enumerate().map(|(at, date)| et0(at, *date)).collect();
    let how = course.iter().map(|day| match day {
        Some(day) if day.filled => format!("{}, filled", day.et0.how),
        Some(day) => day.et0.how.to_string(),
        None => "none".to_string(),
    });
    Table::new(vec![
        dates(days.iter().copied()),
        temperatures("tmin", known(Field::Low)),
        temperatures("tmax", known(Field::High)),
        depths("rain", known(Field::Rain)),
        depths("et0", course.iter().map(|day| day.map(|day| day.et0.mm))),
        Column::texts("how", how),
    ])
}

/// Months with means and sums.
pub fn months_table(weather: &Weather) -> Result<Table, TableError> {
    let months = weather.by_month();
    let name = |month: &crate::weather::Month| match month.year {
        Some(year) => format!("{year}-{:02}", month.month),
        None => format!("{:02}", month.month),
    };
    Table::new(vec![
        Column::texts("month", months.iter().map(name)),
        temperatures("tmin", months.iter().map(|month| month.low_c)),
        temperatures("tmax", months.iter().map(|month| month.high_c)),
        depths("rain", months.iter().map(|month| month.rain_mm)),
        depths("et0_per_day", months.iter().map(|month| month.et0.map(|et0| et0.mm))),
    ])
}

/// Evapotranspiration by all data and by temperatures alone. Errors: no place.
pub fn methods_table(weather: &Weather) -> Result<Result<Table, TableError>, WeatherError> {
    let methods = weather.methods()?;
    let whole = methods.first().map_or(0.0, |method| method.total_mm);
    Ok(Table::new(vec![
        Column::texts("method", methods.iter().map(|method| method.name)),
        depths("total", methods.iter().map(|method| Some(method.total_mm))),
        Column::numbers("percent", methods.iter().map(|method| if whole > 0.0 { 100.0 * method.total_mm / whole } else { 0.0 })),
        depths("scatter_per_day", methods.iter().map(|method| Some(method.scatter_mm))),
    ]))
}

/// A weather in one line.
pub fn weather_in_words(weather: &Weather) -> String {
    let what = match weather.span() {
        Some((first, last)) => format!("{} days, {first} to {last}", last.since(first) + 1),
        None => "monthly means".to_string(),
    };
    format!("{}: {what}", weather.name)
}

/// One row a bed with the sums of its season.
pub fn season_table(season: &Season) -> Result<Table, TableError> {
    let beds = &season.beds;
    let totals: Vec<_> = beds.iter().map(BedSeason::totals).collect();
    let mut columns = vec![
        Column::texts("bed", beds.iter().map(|bed| bed.bed.name.as_str())),
        depths("rain", totals.iter().map(|totals| Some(totals.rain_mm))),
        depths("used", totals.iter().map(|totals| Some(totals.used_mm))),
        depths("given", totals.iter().map(|totals| Some(totals.given_mm))),
        Column::numbers("waterings", totals.iter().map(|totals| totals.waterings as f64)),
        depths("percolated", totals.iter().map(|totals| Some(totals.percolated_mm))),
        Column::numbers("stress_days", totals.iter().map(|totals| totals.stress_days as f64)),
    ];
    columns.extend(times_and_volumes(beds.iter().zip(&totals).map(|(bed, totals)| (bed, totals.given_mm)).collect()));
    Table::new(columns)
}

/// Every day of beds; minutes where a bed has a rate.
pub fn days_table<'a>(beds: impl Iterator<Item = (&'a Bed, &'a [BedDay])> + Clone) -> Result<Table, TableError> {
    let rows = || beds.clone().flat_map(|(bed, days)| days.iter().map(move |day| (bed, day)));
    let of = |name: &str, value: fn(&BedDay) -> f64| depths(name, rows().map(|(_, day)| Some(value(day))));
    let mut columns = vec![
        Column::texts("bed", rows().map(|(bed, _)| bed.name.as_str())),
        dates(rows().map(|(_, day)| day.date)),
        Column::numbers("day", rows().map(|(_, day)| f64::from(day.day_of_crop))),
        of("rain", |day| day.rain_mm),
        of("et0", |day| day.et0_mm),
        Column::numbers("kc", rows().map(|(_, day)| day.coefficient)),
        of("used", |day| day.used_mm),
        of("given", |day| day.given_mm),
        of("percolated", |day| day.percolated_mm),
        of("depletion", |day| day.end_mm),
        of("limit", BedDay::limit_mm),
        Column::numbers("stress", rows().map(|(_, day)| day.stress)),
    ];
    if beds.clone().any(|(bed, _)| bed.water.is_some()) {
        columns.push(of_unit("run_time", rows().map(|(bed, day)| bed.run_s(day.given_mm)), dim::TIME, "min"));
    }
    Table::new(columns)
}

/// One row a month and a bed.
pub fn season_by_month(season: &Season) -> Result<Table, TableError> {
    let of_bed = |bed: &BedSeason| {
        bed.by_month().into_iter().map(|(month, totals)| (bed.bed.name.clone(), month_name(month), totals)).collect::<Vec<_>>()
    };
    let rows: Vec<_> = season.beds.iter().flat_map(of_bed).collect();
    let mut columns = vec![
        Column::texts("bed", rows.iter().map(|row| row.0.as_str())),
        Column::texts("month", rows.iter().map(|row| row.1.as_str())),
        depths("rain", rows.iter().map(|row| Some(row.2.rain_mm))),
        depths("used", rows.iter().map(|row| Some(row.2.used_mm))),
        depths("given", rows.iter().map(|row| Some(row.2.given_mm))),
        Column::numbers("waterings", rows.iter().map(|row| row.2.waterings as f64)),
    ];
    let bed = |name: &str| season.beds.iter().find(|bed| bed.bed.name == name);
    let given = rows.iter().filter_map(|row| Some((bed(&row.0)?, row.2.given_mm))).collect();
    columns.extend(times_and_volumes(given));
    Table::new(columns)
}

fn month_name((year, month): (i32, u32)) -> String {
    format!("{year}-{month:02}")
}

/// One row a year and a bed: sums, days of stress, first and last day of watering.
pub fn years_table(years: &Years) -> Result<Table, TableError> {
    let rows: Vec<(i32, &BedSeason, Totals)> =
        years.seasons.iter().flat_map(|(year, season)| season.beds.iter().map(move |bed| (*year, bed, bed.totals()))).collect();
    let of = |name: &str, value: fn(&Totals) -> f64| depths(name, rows.iter().map(|(.., totals)| Some(value(totals))));
    let number =
        |name: &str, value: fn(&Totals) -> usize| Column::numbers(name, rows.iter().map(|(.., totals)| value(totals) as f64));
    let mut columns = vec![
        Column::numbers("year", rows.iter().map(|(year, ..)| f64::from(*year))),
        Column::texts("bed", rows.iter().map(|(_, bed, _)| bed.bed.name.as_str())),
        of("rain", |totals| totals.rain_mm),
        of("et0", |totals| totals.et0_mm),
        of("used", |totals| totals.used_mm),
        of("given", |totals| totals.given_mm),
        number("waterings", |totals| totals.waterings),
        number("stress_days", |totals| totals.stress_days),
        dates_of("first", rows.iter().map(|(.., totals)| totals.watered.map(|(first, _)| first))),
        dates_of("last", rows.iter().map(|(.., totals)| totals.watered.map(|(_, last)| last))),
    ];
    columns.extend(times_and_volumes(rows.iter().map(|(_, bed, totals)| (*bed, totals.given_mm)).collect()));
    Table::new(columns)
}

/// Run times and volumes of net depths, where beds have a rate or ground.
fn times_and_volumes(given: Vec<(&BedSeason, f64)>) -> Vec<Column> {
    let times: Vec<_> = given.iter().map(|(bed, mm)| bed.run_s(*mm)).collect();
    let volumes: Vec<_> = given.iter().map(|(bed, mm)| bed.volume_m3(*mm)).collect();
    let mut columns = Vec::new();
    if times.iter().any(Option::is_some) {
        columns.push(of_unit("run_time", times, dim::TIME, "h"));
    }
    if volumes.iter().any(Option::is_some) {
        columns.push(Column::quantities("water", volumes, dim::VOLUME, Preference::Usual));
    }
    columns
}

/// One row a bed and a share of the years in percent: what such a share does not exceed.
pub fn need_table(years: &Years, percents: &[f64]) -> Result<Table, TableError> {
    let beds = years.seasons.first().map_or(&[][..], |(_, season)| &season.beds);
    let rows: Vec<(&BedSeason, f64, f64)> = beds
        .iter()
        .enumerate()
        .flat_map(|(at, bed)| percents.iter().map(move |percent| (bed, *percent, years.given_mm(at, percent / 100.0))))
        .collect();
    let mut columns = vec![
        Column::texts("bed", rows.iter().map(|(bed, ..)| bed.bed.name.as_str())),
        Column::numbers("percent_of_years", rows.iter().map(|(_, percent, _)| *percent)),
        Column::numbers("years", rows.iter().map(|_| years.seasons.len() as f64)),
        depths("given", rows.iter().map(|(.., mm)| Some(*mm))),
    ];
    columns.extend(times_and_volumes(rows.iter().map(|(bed, _, mm)| (*bed, *mm)).collect()));
    Table::new(columns)
}

fn volume(m3: f64) -> String {
    Quantity::new(m3, dim::VOLUME).show(UnitSystem::default())
}

/// A barrel in a line.
pub fn barrel_as_given(barrel: &Barrel) -> String {
    let roof = Quantity::new(barrel.roof_m2, dim::AREA).show(UnitSystem::default());
    format!("barrel of {} below {roof} of roof", volume(barrel.volume_m3))
}

/// What a barrel caught, spilled and gave over a season.
pub fn barrel_in_words(season: &BarrelSeason) -> String {
    let (saved, wanted) = (season.saved_m3(), season.wanted_m3());
    let percent = if wanted > 0.0 { 100.0 * saved / wanted } else { 0.0 };
    format!(
        "{}: catches {}, spills {}, gives {} of {} ({percent:.0} %)",
        barrel_as_given(&season.barrel),
        volume(season.caught_m3()),
        volume(season.spilled_m3()),
        volume(saved),
        volume(wanted)
    )
}

/// Every day of a barrel.
pub fn barrel_days(season: &BarrelSeason) -> Result<Table, TableError> {
    let days = &season.days;
    let of = |name: &str, value: fn(&BarrelDay) -> f64| {
        Column::quantities(name, days.iter().map(|day| Some(value(day))), dim::VOLUME, Preference::Usual)
    };
    Table::new(vec![
        dates(days.iter().map(|day| day.date)),
        depths("rain", days.iter().map(|day| Some(day.rain_mm))),
        of("flushed", |day| day.flushed_m3),
        of("caught", |day| day.caught_m3),
        of("spilled", |day| day.spilled_m3),
        of("wanted", |day| day.wanted_m3),
        of("drawn", |day| day.drawn_m3),
        of("stored", |day| day.stored_m3),
    ])
}

/// The months of a barrel.
pub fn barrel_by_month(season: &BarrelSeason) -> Result<Table, TableError> {
    let month = |day: &BarrelDay| (day.date.year(), day.date.month());
    let months: Vec<&[BarrelDay]> = season.days.chunk_by(|a, b| month(a) == month(b)).collect();
    let of = |name: &str, value: fn(&BarrelDay) -> f64| {
        let sums = months.iter().map(|days| Some(days.iter().map(value).sum()));
        Column::quantities(name, sums, dim::VOLUME, Preference::Usual)
    };
    Table::new(vec![
        Column::texts("month", months.iter().map(|days| month_name(month(&days[0])))),
        of("caught", |day| day.caught_m3),
        of("spilled", |day| day.spilled_m3),
        of("wanted", |day| day.wanted_m3),
        of("drawn", |day| day.drawn_m3),
    ])
}

/// One row a bed: what it is short by, what may be missing, what it gets, how long its zone runs, in how many runs and pauses.
pub fn week_table(week: &Week) -> Result<Table, TableError> {
    let jobs = &week.jobs;
    let longest = |job: &Job| job.waterings.iter().filter_map(|watering| watering.cycles).max_by(|a, b| a.count.cmp(&b.count));
    let days = |job: &Job| job.waterings.iter().map(|watering| watering.date.weekday()).collect::<Vec<_>>().join(" ");
    Table::new(vec![
        Column::texts("bed", jobs.iter().map(|job| job.bed.name.as_str())),
        depths("short_by", jobs.iter().map(|job| Some(job.short_by_mm))),
        depths("limit", jobs.iter().map(|job| Some(job.limit_mm))),
        Column::texts("days", jobs.iter().map(days)),
        depths("depth", jobs.iter().map(|job| Some(job.net_mm()))),
        of_unit("run_time", jobs.iter().map(Job::run_s), dim::TIME, "min"),
        Column::numbers("cycles", jobs.iter().map(|job| longest(job).map_or(0.0, |cycles| cycles.count as f64))),
        of_unit("run", jobs.iter().map(|job| longest(job).map(|cycles| cycles.run_s)), dim::TIME, "min"),
        of_unit("soak", jobs.iter().map(|job| longest(job).map(|cycles| cycles.soak_s)), dim::TIME, "min"),
        Column::quantities("water", jobs.iter().map(Job::volume_m3), dim::VOLUME, Preference::Usual),
    ])
}

/// The waterings of a week, a row each.
pub fn waterings_table(week: &Week) -> Result<Table, TableError> {
    let rows: Vec<_> = week.jobs.iter().flat_map(|job| job.waterings.iter().map(move |watering| (job, watering))).collect();
    let cycles = |at: fn(&crate::soil::Cycles) -> f64| rows.iter().map(move |(_, watering)| watering.cycles.as_ref().map(at));
    Table::new(vec![
        Column::texts("bed", rows.iter().map(|(job, _)| job.bed.name.as_str())),
        dates(rows.iter().map(|(_, watering)| watering.date)),
        depths("depth", rows.iter().map(|(_, watering)| Some(watering.net_mm))),
        of_unit("run_time", rows.iter().map(|(_, watering)| watering.run_s), dim::TIME, "min"),
        Column::quantities("cycles", cycles(|cycles| cycles.count as f64), dim::NUMBER, Preference::Usual),
        of_unit("run", cycles(|cycles| cycles.run_s), dim::TIME, "min"),
        of_unit("soak", cycles(|cycles| cycles.soak_s), dim::TIME, "min"),
    ])
}

/// A time in minutes as people read it.
pub fn minutes(seconds: f64) -> Quantity {
    let preference = Preference::written_in("min");
    Quantity { preference, ..Quantity::new(seconds, dim::TIME) }
}
