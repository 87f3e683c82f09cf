//! Weather from day to day: what is known, what is filled, and the reference evapotranspiration of each day.

use super::day::{Day, Field};
use super::error::WeatherError;
use super::evapotranspiration::{ground_heat_by_month_mj_per_m2, saturation_kpa, wind_at_2_m};
use super::gauge::Gauge;
use super::read::{Records, When, records};
use super::reference::{Air, Et0, Means, Method, Place, Settings, Sky, evapotranspiration_of};
use super::remark::Remark;
use crate::limits;
use crate::moment::{Date, days_in_month};

/// Days in a row without a value that are filled at most.
pub const LONGEST_GAP_DAYS: usize = 3;
/// Mean wind at 2 m of a season that gardens do not have, m/s. Common practice, no source.
const STRONG_WIND_M_PER_S: f64 = 3.0;
/// Mean reference evapotranspiration of a month above which something is wrong, mm. From memory, FAO Irrigation and Drainage Paper 56
/// (1998), Table 2: 6 mm to 8 mm where it is warm and dry; in deserts a little more.
const MOST_ET0_MM: f64 = 10.0;
/// Days of a month from which on its mean counts.
const LEAST_DAYS: usize = 10;
/// Years from the first to the last day at most.
const MOST_YEARS: i32 = 300;
/// The days of the year in the middle of the months, as this method takes them.
const MIDDLES: [f64; 12] = [15.0, 46.0, 74.0, 105.0, 135.0, 166.0, 196.0, 227.0, 258.0, 288.0, 319.0, 349.0];

/// Weather of a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Weather {
    /// Name of the text it comes from.
    pub name: String,
    source: Source,
    /// Where it was measured.
    pub place: Option<Place>,
    /// How evapotranspiration is determined.
    pub settings: Settings,
    /// What a reader must know of the text.
    pub remarks: Vec<Remark>,
    /// True where the text or somebody gave the height of the wind instrument.
    wind_height_given: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum Source {
    /// Every day from the first on; a day that is missing has no values.
    Days { first: Date, days: Vec<Day> },
    /// Mean days of the months of any year; rain is that of the month.
    Months(Box<[Day; 12]>),
}

/// A month with its means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Month {
    /// Year; none for means of many years.
    pub year: Option<i32>,
    /// Month, from 1 to 12.
    pub month: u32,
    /// Mean of the lows, degC.
    pub low_c: Option<f64>,
    /// Mean of the highs, degC.
    pub high_c: Option<f64>,
    /// Rain of the month, mm; days without a value count as none.
    pub rain_mm: Option<f64>,
    /// Mean reference evapotranspiration, mm a day; for means of many years in the middle of the month.
    pub et0: Option<Et0>,
}

/// A day as a water balance uses it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseDay {
    /// The day.
    pub date: Date,
    /// Rain, mm.
    pub rain_mm: f64,
    /// Reference evapotranspiration.
    pub et0: Et0,
    /// True where a temperature or the rain was missing and filled.
    pub filled: bool,
}

/// Weather from a day to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Every day.
    pub days: Vec<CourseDay>,
    /// What a reader must know of these days.
    pub remarks: Vec<Remark>,
}

/// Reference evapotranspiration of all days by one method, for comparison.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MethodTotal {
    /// The method with its data.
    pub name: &'static str,
    /// The sum, mm.
    pub total_mm: f64,
    /// Days with low and high.
    pub days: usize,
    /// The standard deviation of its days from those of the first method, mm.
    pub scatter_mm: f64,
}

impl Weather {
    /// Weather from the text of an export: one line a day, or twelve lines with a month.
    ///
    /// Errors: headings, dates or months that cannot be read; see [`WeatherError`]. What is wrong with single lines is in the remarks.
    pub fn read(name: &str, text: &str) -> Result<Weather, WeatherError> {
        let mut records = records(name, text)?;
        for missing in [Field::Low, Field::High] {
            if !records.fields.contains(&missing) {
                let (line, not_read) = (records.heading_line, std::mem::take(&mut records.not_read));
                return Err(WeatherError::NoColumn { name: name.into(), line, missing, not_read });
            }
        }
        let mut remarks = std::mem::take(&mut records.remarks);
        if !records.not_read.is_empty() {
            remarks.push(Remark::NotRead { headings: std::mem::take(&mut records.not_read) });
        }
        let source = if matches!(records.rows[0].1, When::Month(_)) {
            months(name, &records)?
        } else {
            days(name, &records, &mut remarks)?
        };
        let has_rain = records.fields.contains(&Field::Rain);
        if !has_rain {
            remarks.push(Remark::NoRain);
        }
        if let Source::Days { first, days } = &source {
            let needed = [Field::Low, Field::High, Field::Rain].into_iter().filter(|field| *field != Field::Rain || has_rain);
            for field in needed {
                // Days without any value have no line, or a fault of their own.
                let empty = days.iter().enumerate().filter(|(_, day)| day.get(field).is_none() && **day != Day::default());
                let dates: Vec<Date> = empty.map(|(at, _)| first.plus(at as i32)).collect();
                if !dates.is_empty() {
                    remarks.push(Remark::NoValue { field, dates });
                }
            }
        }
        let mut settings = Settings::default();
        let wind_height_given = records.wind_height_m.is_some();
        settings.wind_height_m = records.wind_height_m.unwrap_or(settings.wind_height_m);
        if records.fields.contains(&Field::Wind) && !wind_height_given {
            remarks.push(Remark::WindHeightAssumed);
        }
        Ok(Weather { name: name.into(), source, place: None, settings, remarks, wind_height_given })
    }

    /// Weather from mean days of twelve months, from January; the rain is that of the month.
    pub fn of_months(name: &str, months: [Day; 12]) -> Weather {
        let remarks = vec![Remark::FromMonths];
        let source = Source::Months(Box::new(months));
        Weather { name: name.into(), source, place: None, settings: Settings::default(), remarks, wind_height_given: false }
    }

    /// The same at a place.
    pub fn at(self, place: Place) -> Weather {
        Weather { place: Some(place), ..self }
    }

    /// The same with wind measured at a height. Errors: a height from which the law of the wind does not hold.
    pub fn with_wind_height(mut self, height_m: f64) -> Result<Weather, WeatherError> {
        if !(0.5..=200.0).contains(&height_m) {
            let expected = "0.5 m to 200 m";
            return Err(WeatherError::BadSetting { what: "height of the wind instrument in m", found: height_m, expected });
        }
        self.settings.wind_height_m = height_m;
        self.wind_height_given = true;
        self.remarks.retain(|remark| *remark != Remark::WindHeightAssumed);
        Ok(self)
    }

    /// The same with another factor of radiation from temperatures. Errors: one outside of 0.1 to 0.25.
    pub fn with_radiation_factor(mut self, factor: f64) -> Result<Weather, WeatherError> {
        if !(0.1..=0.25).contains(&factor) {
            return Err(WeatherError::BadSetting { what: "factor of radiation", found: factor, expected: "0.1 to 0.25" });
        }
        self.settings.radiation_factor = factor;
        Ok(self)
    }

    /// The same by another method.
    pub fn by(mut self, method: Method) -> Weather {
        self.settings.method = method;
        self
    }

    /// The same with the rain of a gauge in place of its own.
    ///
    /// What a reading collected is put on its days in the shares in which the weather has rain on them, and evenly where it has none. Days
    /// outside of the readings have no value.
    pub fn with_gauge(mut self, gauge: &Gauge) -> Weather {
        let Source::Days { first, days } = &mut self.source else { return self };
        let own: Vec<f64> = days.iter().map(|day| day.get(Field::Rain).unwrap_or(0.0)).collect();
        days.iter_mut().for_each(|day| day.set(Field::Rain, None));
        for (from, to, rain_mm) in gauge.spans() {
            let at = |date: Date| date.since(*first).clamp(0, days.len() as i32) as usize;
            let span = at(from)..at(to.plus(1));
            if span.is_empty() {
                continue;
            }
            let whole: f64 = own[span.clone()].iter().sum();
            let count = span.len() as f64;
            for index in span {
                let share = if whole > 0.0 { own[index] / whole } else { 1.0 / count };
                days[index].set(Field::Rain, Some(rain_mm * share));
            }
        }
        self.remarks.retain(|remark| !matches!(remark, Remark::NoRain | Remark::NoValue { field: Field::Rain, .. }));
        self.remarks.extend(gauge.remarks.iter().cloned());
        self.remarks.push(Remark::Gauge { readings: gauge.readings.len() });
        self
    }

    /// First and last day; none for monthly means, which hold for all.
    pub fn span(&self) -> Option<(Date, Date)> {
        match &self.source {
            Source::Days { first, days } => Some((*first, first.plus(days.len() as i32 - 1))),
            Source::Months(_) => None,
        }
    }

    /// What is known of a day, without anything filled.
    pub fn day(&self, date: Date) -> Option<Day> {
        match &self.source {
            Source::Days { first, days } => days.get(usize::try_from(date.since(*first)).ok()?).copied(),
            Source::Months(months) => {
                let (year, month, _) = date.parts();
                let mut day = months[month as usize - 1];
                let rain_mm = day.get(Field::Rain).map(|rain_mm| rain_mm / f64::from(days_in_month(year, month)));
                day.set(Field::Rain, rain_mm);
                Some(day)
            }
        }
    }

    /// The days from one to another, both counted, with filled gaps and their reference evapotranspiration.
    ///
    /// Errors: a day that is not there; a gap longer than [`LONGEST_GAP_DAYS`]; no place.
    pub fn course(&self, from: Date, to: Date) -> Result<Course, WeatherError> {
        if let Some((first, last)) = self.span() {
            let outside = [from, to].into_iter().find(|date| *date < first || *date > last);
            if let Some(wanted) = outside {
                return Err(WeatherError::Outside { name: self.name.clone(), first, last, wanted });
            }
        }
        let mut filled: [Vec<Date>; 3] = Default::default();
        let mut days = Vec::with_capacity((to.since(from) + 1).max(0) as usize);
        let mut of_temperatures = 0;
        for step in 0..=to.since(from) {
            if step % 4096 == 0 && limits::ended() {
                break;
            }
            let date = from.plus(step);
            let mut day = self.day(date).unwrap_or_default();
            let before = day;
            for (at, field) in [Field::Low, Field::High, Field::Rain].into_iter().enumerate() {
                if day.get(field).is_none() && (field == Field::Rain || day.get(Field::Et0).is_none()) {
                    day.set(field, Some(self.filling(field, date)?));
                    if field != Field::Rain || self.has(Field::Rain) {
                        filled[at].push(date);
                    }
                }
            }
            let et0 = self.et0_of(&day, date)?;
            of_temperatures += usize::from(et0.how.is_of_temperatures());
            let rain_mm = day.get(Field::Rain).unwrap_or(0.0);
            days.push(CourseDay { date, rain_mm, et0, filled: day != before });
        }
        let mut remarks = Vec::new();
        for (field, dates) in [Field::Low, Field::High, Field::Rain].into_iter().zip(filled) {
            if !dates.is_empty() {
                remarks.push(Remark::Filled { field, dates });
            }
        }
        if of_temperatures > 0 {
            remarks.push(Remark::TemperaturesOnly { days: of_temperatures, of: days.len() });
        }
        remarks.extend(self.assumed(&days, from, to));
        Ok(Course { days, remarks })
    }

    /// What was taken for what no instrument measured, and what no place has.
    fn assumed(&self, days: &[CourseDay], from: Date, to: Date) -> Vec<Remark> {
        let mut remarks = Vec::new();
        let count = |is: fn(bool, Sky) -> bool| {
            let counts = |day: &&CourseDay| matches!(day.et0.how, Air::PenmanMonteith { wind, sky, .. } if !day.et0.how.is_of_temperatures() && is(wind, sky));
            days.iter().filter(counts).count()
        };
        let (calm, dull) = (count(|wind, _| !wind), count(|_, sky| sky == Sky::Temperatures));
        if calm > 0 {
            remarks.push(Remark::WindAssumed { days: calm, of: days.len() });
        }
        if dull > 0 {
            remarks.push(Remark::SunAssumed { days: dull, of: days.len() });
        }
        if let (Some(wind_m_per_s), _) = self.climate(from, to)
            && wind_m_per_s > STRONG_WIND_M_PER_S
        {
            remarks.push(Remark::WindOfStation { wind_m_per_s });
        }
        let month = |day: &CourseDay| (day.date.year(), day.date.month());
        let mean = |days: &[CourseDay]| days.iter().map(|day| day.et0.mm).sum::<f64>() / days.len() as f64;
        let months = days.chunk_by(|one, other| month(one) == month(other)).filter(|days| days.len() >= LEAST_DAYS);
        let highest = months.map(|days| (month(&days[0]), mean(days))).max_by(|one, other| one.1.total_cmp(&other.1));
        if let Some((month, mean_mm)) = highest.filter(|(_, mean_mm)| *mean_mm > MOST_ET0_MM) {
            remarks.push(Remark::Et0Unusual { month, mean_mm });
        }
        remarks
    }

    fn et0_of(&self, day: &Day, date: Date) -> Result<Et0, WeatherError> {
        if let (Method::ByData, Some(mm)) = (self.settings.method, day.get(Field::Et0)) {
            return Ok(Et0 { mm, how: Air::Given });
        }
        let place = self.place.ok_or_else(|| WeatherError::NoPlace { name: self.name.clone() })?;
        let means = Means { ground_heat_mj_per_m2: self.ground_heat(date.month()), sunshine_share: None };
        let found = evapotranspiration_of(day, f64::from(date.day_of_year()), &place, &self.settings, &means);
        found.ok_or_else(|| self.gap(Field::Low, date, date))
    }

    /// The climate from one day to another: the mean wind at 2 m, m/s, and the mean of the lowest humidities, percent. The humidity is
    /// that of the file, else by the dew point at the highest temperature, else with the low as dew point (equation 64); none where
    /// no day has wind, or high and low.
    pub fn climate(&self, from: Date, to: Date) -> (Option<f64>, Option<f64>) {
        let days = (0..=to.since(from)).filter_map(|step| self.day(from.plus(step)));
        let (mut winds, mut humidities) = (Vec::new(), Vec::new());
        for day in days {
            winds.extend(day.get(Field::Wind).map(|wind| wind_at_2_m(wind, self.settings.wind_height_m)));
            let of_dew = |dew_c: f64, high_c: f64| 100.0 * saturation_kpa(dew_c) / saturation_kpa(high_c);
            let high_c = day.get(Field::High);
            let dew = day.get(Field::DewPoint).or(day.get(Field::Low)).zip(high_c).map(|(dew_c, high_c)| of_dew(dew_c, high_c));
            humidities.extend(day.get(Field::HumidityLow).or(dew).map(|humidity| humidity.min(100.0)));
        }
        let mean = |values: &[f64]| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
        (mean(&winds), mean(&humidities))
    }

    /// Heat that the ground takes in a month of monthly means; zero from day to day.
    fn ground_heat(&self, month: u32) -> f64 {
        let Source::Months(months) = &self.source else { return 0.0 };
        let mean = |at: usize| {
            months[at % 12].get(Field::Low).zip(months[at % 12].get(Field::High)).map(|(low, high)| (low + high) / 2.0)
        };
        let at = month as usize - 1;
        mean(at + 11).zip(mean(at + 1)).map_or(0.0, |(before, after)| ground_heat_by_month_mj_per_m2(before, after))
    }

    /// True where any day has the field.
    pub fn has(&self, field: Field) -> bool {
        let has = |day: &Day| day.get(field).is_some();
        match &self.source {
            Source::Days { days, .. } => days.iter().any(has),
            Source::Months(months) => months.iter().any(has),
        }
    }

    fn gap(&self, field: Field, from: Date, to: Date) -> WeatherError {
        WeatherError::Gap { name: self.name.clone(), field, from, to, most: LONGEST_GAP_DAYS }
    }

    /// What stands in for a value that is missing. Errors: too long a gap.
    fn filling(&self, field: Field, date: Date) -> Result<f64, WeatherError> {
        let Source::Days { first, days } = &self.source else {
            return if field == Field::Rain { Ok(0.0) } else { Err(self.gap(field, date, date)) };
        };
        if field == Field::Rain && !self.has(Field::Rain) {
            return Ok(0.0);
        }
        let at = date.since(*first) as usize;
        let value = |index: usize| days[index].get(field);
        let before = (0..at).rev().find(|index| value(*index).is_some());
        let after = (at + 1..days.len()).find(|index| value(*index).is_some());
        let (from, to) = (before.map_or(0, |before| before + 1), after.map_or(days.len() - 1, |after| after - 1));
        let too_long = to + 1 - from > LONGEST_GAP_DAYS;
        let day = |index: usize| first.plus(index as i32);
        match (field, before, after) {
            _ if too_long => Err(self.gap(field, day(from), day(to))),
            (Field::Rain, ..) => Ok(0.0),
            (_, Some(before), Some(after)) => {
                let share = (at - before) as f64 / (after - before) as f64;
                Ok(value(before).unwrap_or(0.0) * (1.0 - share) + value(after).unwrap_or(0.0) * share)
            }
            _ => Err(self.gap(field, day(from), day(to))),
        }
    }

    /// Months with their means, in order; only months with at least one day.
    pub fn by_month(&self) -> Vec<Month> {
        match &self.source {
            Source::Months(months) => (0..12).map(|at| self.month_of_means(at, &months[at])).collect(),
            Source::Days { first, days } => {
                let dated: Vec<(Date, Day)> = days.iter().enumerate().map(|(at, day)| (first.plus(at as i32), *day)).collect();
                let months = dated.chunk_by(|a, b| (a.0.year(), a.0.month()) == (b.0.year(), b.0.month()));
                months.map(|days| self.month_of_days(days)).collect()
            }
        }
    }

    fn month_of_means(&self, at: usize, day: &Day) -> Month {
        let means = Means { ground_heat_mj_per_m2: self.ground_heat(at as u32 + 1), sunshine_share: None };
        let et0 = self.place.and_then(|place| evapotranspiration_of(day, MIDDLES[at], &place, &self.settings, &means));
        let [low_c, high_c, rain_mm] = [Field::Low, Field::High, Field::Rain].map(|field| day.get(field));
        Month { year: None, month: at as u32 + 1, low_c, high_c, rain_mm, et0 }
    }

    fn month_of_days(&self, days: &[(Date, Day)]) -> Month {
        let values = |field: Field| days.iter().filter_map(move |(_, day)| day.get(field));
        let mean = |field: Field| Some(values(field).sum::<f64>() / values(field).count() as f64).filter(|mean| !mean.is_nan());
        let et0s: Vec<Et0> = days.iter().filter_map(|(date, day)| self.et0_of(day, *date).ok()).collect();
        let et0 =
            et0s.first().map(|first| Et0 { mm: et0s.iter().map(|et0| et0.mm).sum::<f64>() / et0s.len() as f64, how: first.how });
        Month {
            year: Some(days[0].0.year()),
            month: days[0].0.month(),
            low_c: mean(Field::Low),
            high_c: mean(Field::High),
            rain_mm: values(Field::Rain).next().map(|_| values(Field::Rain).sum()),
            et0,
        }
    }

    /// Reference evapotranspiration of all days that have low and high: by all data, then by temperatures alone, so that the error of
    /// doing without other instruments shows.
    ///
    /// Errors: no place.
    pub fn methods(&self) -> Result<Vec<MethodTotal>, WeatherError> {
        let place = self.place.ok_or_else(|| WeatherError::NoPlace { name: self.name.clone() })?;
        let Source::Days { first, days } = &self.source else { return Ok(Vec::new()) };
        let known = |day: &&(Date, Day)| day.1.get(Field::Low).is_some() && day.1.get(Field::High).is_some();
        let dated: Vec<(Date, Day)> = days.iter().enumerate().map(|(at, day)| (first.plus(at as i32), *day)).collect();
        let sums = |method: Method, blind: bool| -> Vec<f64> {
            let settings = Settings { method, ..self.settings };
            let et0 = |(date, day): &(Date, Day)| {
                let day = if blind { day.temperatures_only() } else { *day };
                evapotranspiration_of(&day, f64::from(date.day_of_year()), &place, &settings, &Means::default())
                    .map_or(0.0, |et0| et0.mm)
            };
            dated.iter().filter(known).map(et0).collect()
        };
        let all = sums(Method::PenmanMonteith, false);
        let count = all.len();
        let against = |name: &'static str, days: &[f64]| {
            let squares: f64 = days.iter().zip(&all).map(|(one, other)| (one - other).powi(2)).sum();
            MethodTotal { name, total_mm: days.iter().sum(), days: count, scatter_mm: (squares / count.max(1) as f64).sqrt() }
        };
        Ok(vec![
            against("Penman-Monteith, all data", &all),
            against("Penman-Monteith, temperatures only", &sums(Method::PenmanMonteith, true)),
            against("Hargreaves", &sums(Method::Hargreaves, true)),
        ])
    }
}

/// Twelve months from the rows of a text.
fn months(name: &str, records: &Records) -> Result<Source, WeatherError> {
    let mut months: [Option<Day>; 12] = [None; 12];
    for (_, when, day) in &records.rows {
        if let When::Month(month) = when {
            months[*month as usize - 1] = Some(*day);
        }
    }
    let found = months.iter().flatten().count();
    if found < 12 || records.rows.len() > 12 {
        return Err(WeatherError::Months { name: name.into(), found });
    }
    Ok(Source::Months(Box::new(months.map(Option::unwrap_or_default))))
}

/// Every day from the first to the last, from the rows of a text in any order.
fn days(name: &str, records: &Records, remarks: &mut Vec<Remark>) -> Result<Source, WeatherError> {
    let dated = records.rows.iter().filter_map(|(line, when, day)| match when {
        When::Day(date) => Some((*date, *line, *day)),
        When::Month(_) => None,
    });
    let mut rows: Vec<(Date, usize, Day)> = dated.collect();
    rows.sort_by_key(|(date, line, _)| (*date, *line));
    let (Some((first, ..)), Some((last, ..))) = (rows.first().copied(), rows.last().copied()) else {
        return Err(WeatherError::NoDays { name: name.into() });
    };
    if last.year() - first.year() >= MOST_YEARS {
        return Err(WeatherError::TooLong { name: name.into(), first, last, most_years: MOST_YEARS });
    }
    let mut days = vec![Day::default(); (last.since(first) + 1) as usize];
    let mut next = first;
    for group in rows.chunk_by(|one, other| one.0 == other.0) {
        let (date, line, day) = group[0];
        if date > next {
            remarks.push(Remark::DaysMissing { from: next, to: date.plus(-1) });
        }
        next = date.plus(1);
        let same = group.iter().all(|(_, _, other)| *other == day);
        for (_, other, _) in &group[1..] {
            remarks.push(Remark::DayTwice { lines: (line, *other), date, same });
        }
        if same {
            days[date.since(first) as usize] = day;
        }
    }
    Ok(Source::Days { first, days })
}
