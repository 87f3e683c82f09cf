//! Properties of balances, seasons and weeks.

use super::*;
use crate::moment::Date;
use crate::operation::{CalendarDays, Hours};
use crate::quantity::{Quantity, dim};
use crate::soil::{Crop, Intake, Soil};
use crate::weather::{Air, CourseDay, Et0, Place, Weather};
use proptest::collection::vec;
use proptest::prelude::*;

fn date(text: &str) -> Date {
    Date::read(text).expect("a day")
}

/// A year of weather without a file: warm and dry summers.
fn weather() -> Weather {
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm\n");
    for step in 0..365 {
        let day = date("2015-01-01").plus(step);
        let season = (f64::from(step) / 365.0 * std::f64::consts::TAU).cos();
        let rain = if step % 6 == 0 { 8.0 + 5.0 * season } else { 0.0 };
        text += &format!("{day},{:.2},{:.2},{rain:.2}\n", 8.0 - 7.0 * season, 18.0 - 10.0 * season);
    }
    Weather::read("year", &text).expect("weather").at(Place::new(45.0, 100.0).expect("a place"))
}

fn tomatoes(name: &str) -> Bed {
    let crop = Crop { planted: Some(date("2015-05-15")), ..Crop::named("tomato", None).expect("a crop") };
    let water = Water { rate_mm_per_h: 14.0, du: 0.72 };
    Bed { water: Some(water), area_m2: Some(20.0), ..Bed::new(name, crop, Soil::named("sandy loam").expect("a soil")) }
}

prop_compose! {
    fn any_crop()(
        initial in 0.2..0.9, middle in 0.7..1.2, end in 0.3..1.1, stages in proptest::option::of([1u32..60, 1u32..60, 1u32..90, 1u32..40]),
        first in 0.1..0.4, more in 0.0..0.8, share in 0.2..0.6,
    ) -> Crop {
        let crop = Crop::named("tomato", None).expect("a crop");
        Crop { coefficients: [initial, middle, end], stages_d: stages, roots_m: [first, first + more], share, planted: None, ..crop }
    }
}

prop_compose! {
    fn any_bed()(
        crop in any_crop(), wilting in 0.03..0.25, available in 0.06..0.2, ground in 0.15..1.0, curve in proptest::option::of(60.0..95.0),
        mulch in 0.0..1.0, exposure in 0.5..1.2,
    ) -> Bed {
        let soil = Soil { wilting_point: wilting, field_capacity: wilting + available, curve_number: curve, ..Soil::named("loam").expect("a soil") };
        Bed { ground_m: ground, mulch, exposure, ..Bed::new("bed", crop, soil) }
    }
}

fn any_rule() -> impl Strategy<Value = Rule> {
    prop_oneof![
        Just(Rule::Refill),
        Just(Rule::NoWater),
        (1.0..40.0).prop_map(|mm| Rule::Fixed { mm }),
        (1u32..10, proptest::option::of(1.0..40.0)).prop_map(|(days, mm)| Rule::Every { days, mm }),
        (0.0..1.0).prop_map(|share| Rule::Deficit { share }),
    ]
}

prop_compose! {
    fn any_plan()(
        rule in any_rule(), light in any::<bool>(), rain in 0.0..2.0, et0 in 0.5..1.5,
        allowed in proptest::option::of(prop_oneof![
            vec(0usize..7, 1..4).prop_map(CalendarDays::Weekdays), Just(CalendarDays::Odd), Just(CalendarDays::Even),
        ]),
    ) -> Plan {
        Plan { rule, light_rain_counts: light, rain_factor: rain, et0_factor: et0, allowed, ..Plan::default() }
    }
}

/// Waterings that were really given, on some of the first days.
fn any_log() -> impl Strategy<Value = Vec<(Date, f64)>> {
    vec((0i32..60, 0.0..30.0), 0..6).prop_map(|log| log.into_iter().map(|(day, mm)| (Date::from_days(day), mm)).collect())
}

fn any_days() -> impl Strategy<Value = Vec<CourseDay>> {
    let rain = prop_oneof![3 => Just(0.0), 1 => 0.0..60.0];
    vec((0.0..12.0, rain), 1..200).prop_map(|days| {
        let day = |(at, (mm, rain_mm)): (usize, (f64, f64))| CourseDay {
            date: Date::from_days(at as i32),
            rain_mm,
            et0: Et0 { mm, how: Air::Given },
            filled: false,
        };
        days.into_iter().enumerate().map(day).collect()
    })
}

proptest! {
    #[test]
    fn what_comes_is_used_percolated_stored_lost_or_runs_off(
        bed in any_bed(), plan in any_plan(), log in any_log(), missing in 0.0..80.0, days in any_days(),
    ) {
        let bed = Bed { log, ..bed };
        let found = balance(&bed, &plan, Date::from_days(0), missing, &days);
        prop_assert_eq!(found.len(), days.len());
        for (day, next) in found.iter().zip(found.iter().skip(1)) {
            prop_assert!(next.start_mm == day.end_mm.min(next.reservoir_mm));
        }
        for day in &found {
            prop_assert!(day.imbalance_mm().abs() < 1e-9, "{:?}", day);
            prop_assert!((0.0..=1.0).contains(&day.stress));
            prop_assert!(day.used_mm >= 0.0 && day.percolated_mm >= 0.0 && day.given_mm >= 0.0 && day.runoff_mm >= 0.0);
            prop_assert!(day.end_mm >= 0.0 && day.end_mm <= day.reservoir_mm + 1e-9, "{:?}", day);
            let logged = bed.log.iter().map(|(date, _)| *date).max();
            if logged.is_some_and(|last| day.date <= last) {
                prop_assert_eq!(day.given_mm, bed.logged_mm(day.date));
            } else {
                prop_assert!(day.given_mm == 0.0 || plan.allows(day.date), "{:?} is not allowed", day.date);
            }
        }
        let totals = Totals::of(&found);
        let start_mm = found[0].start_mm;
        let left_mm = totals.rain_mm + totals.given_mm - totals.rain_lost_mm - totals.used_mm - totals.percolated_mm;
        prop_assert!((start_mm - totals.end_mm - left_mm).abs() < 1e-7);
    }

    /// On each day a bed uses less than its roots hold beyond the limit of stress. Below that a day is too long a step: a bed that is
    /// drier in the morning may be less dry in the evening, since it uses less.
    #[test]
    fn more_water_never_means_more_stress(
        bed in any_bed(), days in any_days(), missing in 0.0..40.0, every in 1u32..8, mm in 0.5..20.0, more in 0.0..20.0,
    ) {
        let of = |mm: f64, missing: f64| balance(&bed, &Plan { rule: Rule::Every { days: every, mm: Some(mm) }, ..Plan::default() }, Date::from_days(0), missing, &days);
        let (less, more, wetter) = (of(mm, missing), of(mm + more, missing), of(mm, 0.5 * missing));
        let is_slow = |day: &BedDay| day.coefficient * day.et0_mm <= (1.0 - day.share) * day.reservoir_mm;
        prop_assume!(less.iter().all(is_slow));
        for ((less, more), wetter) in less.iter().zip(&more).zip(&wetter) {
            prop_assert!(more.stress >= less.stress - 1e-12 && more.end_mm <= less.end_mm + 1e-9);
            prop_assert!(wetter.stress >= less.stress - 1e-12 && wetter.end_mm <= less.end_mm + 1e-9);
        }
    }

    /// The same of waterings that were really given, in days on which a bed uses less than its roots hold beyond the limit of stress. A rule
    /// that waters when water is due has no such law: more rain or a larger depth moves its days, and a bed may be drier on one of them.
    #[test]
    fn more_water_in_a_log_never_means_more_stress(bed in any_bed(), days in any_days(), log in any_log(), at in 0i32..60, more in 0.0..20.0) {
        let bed = |log: Vec<(Date, f64)>| Bed { log, ..bed.clone() };
        let dry = Plan { rule: Rule::NoWater, ..Plan::default() };
        let of = |log| balance(&bed(log), &dry, Date::from_days(0), 0.0, &days);
        let less = of(log.clone());
        let more = of([log, vec![(Date::from_days(at), more)]].concat());
        prop_assume!(less.iter().all(|day| day.coefficient * day.et0_mm <= (1.0 - day.share) * day.reservoir_mm));
        for (less, more) in less.iter().zip(&more) {
            prop_assert!(more.stress >= less.stress - 1e-12 && more.end_mm <= less.end_mm + 1e-9);
        }
    }

    #[test]
    fn a_barrel_closes_every_day_and_more_of_it_or_of_the_roof_never_saves_less(
        volume in 0.01..2.0, roof in 0.0..80.0, flush in 0.0..3.0, full in 0.0..1.0, more in 1.0..3.0,
    ) {
        let weather = weather();
        let season = season(&[tomatoes("a")], &weather, &Plan::default()).expect("a season");
        let barrel = Barrel { first_flush_mm: flush, full_share: full, ..Barrel::new(volume, roof).expect("a barrel") };
        let of = |barrel: Barrel| barrel.checked().expect("a barrel").season(&season, &weather).expect("a season");
        let found = of(barrel);
        let mut before = found.start_m3;
        for day in &found.days {
            prop_assert!((before + day.caught_m3 - day.spilled_m3 - day.drawn_m3 - day.stored_m3).abs() < 1e-12, "{:?}", day);
            prop_assert!((0.0..=volume + 1e-12).contains(&day.stored_m3) && day.spilled_m3 >= 0.0 && day.drawn_m3 <= day.wanted_m3);
            let on_roof = 0.9 * roof * day.rain_mm / 1000.0;
            prop_assert!((day.caught_m3 + day.flushed_m3 - on_roof).abs() < 1e-12);
            before = day.stored_m3;
        }
        let given: f64 = season.beds[0].volume_m3(season.beds[0].totals().given_mm).expect("an area");
        prop_assert!((found.wanted_m3() - given).abs() < 1e-9);
        // A barrel that is full at first begins with more water where it is larger.
        let larger = of(Barrel { volume_m3: more * volume, ..barrel }).saved_m3();
        let wider = of(Barrel { roof_m2: more * roof, ..barrel }).saved_m3();
        prop_assert!(larger >= found.saved_m3() - 1e-9 && wider >= found.saved_m3() - 1e-9, "{} and {}", larger, wider);
    }

    #[test]
    fn the_order_of_beds_does_not_matter(crops in vec(any_crop(), 2..6), turn in 1usize..5) {
        let weather = weather();
        let mut beds: Vec<Bed> = crops.into_iter().enumerate().map(|(at, crop)| {
            let planted = Some(date("2015-03-01").plus(11 * at as i32));
            Bed::new(&format!("bed {at}"), Crop { planted, ..crop }, Soil::named("loam").expect("a soil"))
        }).collect();
        let one = season(&beds, &weather, &Plan::default()).expect("a season");
        let count = beds.len();
        beds.rotate_left(turn % count);
        let other = season(&beds, &weather, &Plan::default()).expect("a season");
        for bed in &one.beds {
            prop_assert!(other.beds.contains(bed));
        }
        let alone = season(&beds[..1], &weather, &Plan::default()).expect("a season");
        prop_assert_eq!(&alone.beds[0], &other.beds[0]);
    }

    #[test]
    fn runs_of_a_week_give_its_depth_and_never_overlap(rates in vec((3.0..60.0, 0.4..1.0, 1.0..30.0, 1.0..8.0), 1..6), start_h in 0.0..22.0) {
        let beds: Vec<Bed> = rates.iter().enumerate().map(|(at, (rate, du, intake, puddle))| {
            let bed = tomatoes(&format!("bed {at}"));
            let soil = Soil { intake: Intake::Steady { mm_per_h: *intake }, puddle_mm: *puddle, ..bed.soil };
            Bed { water: Some(Water { rate_mm_per_h: *rate, du: *du }), soil, ..bed }
        }).collect();
        let week = week(&beds, &weather(), date("2015-07-13"), &Plan::default()).expect("a week");
        let schedule = week.schedule(3600.0 * start_h).expect("a schedule");
        // Each timer once: what takes longer than a week would meet the next one.
        let mut runs: Vec<(f64, f64, &str)> = Vec::new();
        for timer in &schedule.timers {
            let mut from_s = timer.starts_s[0] + f64::from(timer.first_day - 1) * 86_400.0;
            for (zone, run_s) in &timer.zones {
                runs.push((from_s, from_s + run_s, zone));
                from_s += run_s;
            }
        }
        runs.sort_by(|a, b| a.0.total_cmp(&b.0));
        prop_assert!(runs.windows(2).all(|pair| pair[1].0 >= pair[0].1 - 1e-6));
        for job in &week.jobs {
            let runs: Vec<_> = runs.iter().filter(|run| run.2 == job.bed.zone()).collect();
            let run_s: f64 = runs.iter().map(|run| run.1 - run.0).sum();
            prop_assert!((run_s - job.run_s().expect("a rate")).abs() < 1e-3);
            // Each puddle is gone when its zone runs again.
            let water = job.bed.water.expect("a rate");
            let intake = job.bed.soil.intake.final_mm_per_h();
            let (mut standing, mut last_s): (f64, f64) = (0.0, 0.0);
            for run in runs {
                standing = (standing - intake * (run.0 - last_s) / 3600.0).max(0.0);
                standing = (standing + (water.rate_mm_per_h - intake) * (run.1 - run.0) / 3600.0).max(0.0);
                prop_assert!(standing <= job.bed.soil.puddle_mm * (1.0 + 1e-6), "{} of {}", standing, job.bed.soil.puddle_mm);
                last_s = run.1;
            }
        }
    }
}

#[test]
fn a_week_goes_on_where_the_season_is() {
    let beds = [tomatoes("tomatoes")];
    let (day, plan) = (date("2015-07-13"), Plan::default());
    let whole = season(&beds, &weather(), &plan).expect("a season");
    let found = week(&beds, &weather(), day, &plan).expect("a week");
    let at = whole.beds[0].days.iter().position(|known| known.date == day).expect("the day");
    assert_eq!(found.jobs[0].days, whole.beds[0].days[at..at + 7]);
    assert_eq!((found.assumed_from, found.jobs[0].is_over), (None, false));
    let depth: f64 = whole.beds[0].days[at..at + 7].iter().map(|day| day.given_mm).sum();
    assert!(depth > 0.0 && found.jobs[0].net_mm() == depth);
    let minutes = found.jobs[0].run_s().expect("a rate") / 60.0;
    assert!((minutes - 60.0 * depth / (14.0 * 0.72)).abs() < 1e-9);
    assert!((found.jobs[0].volume_m3().expect("an area") - 0.02 * depth / 0.72).abs() < 1e-12);
}

#[test]
fn what_is_missing_now_or_when_it_was_full_counts_before_the_rule() {
    let (weather, day, plan) = (weather(), date("2015-07-13"), Plan::default());
    let short = |bed: Bed| week(&[bed], &weather, day, &plan).expect("a week").jobs[0].short_by_mm;
    assert_eq!(short(Bed { missing_mm: Some(12.0), ..tomatoes("a") }), 12.0);
    let five_days = short(Bed { full_on: Some(date("2015-07-07")), ..tomatoes("a") });
    let use_mm: f64 = season(&[tomatoes("a")], &weather, &plan).expect("a season").beds[0].days[54..59]
        .iter()
        .map(|day| day.coefficient * day.et0_mm)
        .sum();
    assert!((five_days - use_mm).abs() < 15.0 && five_days > 10.0, "{five_days} against {use_mm}");
    assert_eq!(short(Bed { full_on: Some(date("2015-07-12")), ..tomatoes("a") }), 0.0);
}

#[test]
fn days_that_are_not_known_yet_are_like_the_last_week_without_rain() {
    let weather = weather();
    let found = week(&[tomatoes("a")], &weather, date("2015-12-29"), &Plan::default()).expect("a week");
    assert!(found.jobs[0].is_over && found.jobs[0].days.is_empty());
    assert_eq!(found.assumed_from, Some(date("2016-01-01")));
    let lawn = Bed::new("lawn", Crop::named("lawn", None).expect("a crop"), Soil::named("loam").expect("a soil"));
    let after = week(&[lawn], &weather, date("2016-01-01"), &Plan::default()).expect("a week");
    assert_eq!(after.assumed_from, Some(date("2016-01-01")));
    let days = &after.jobs[0].days;
    assert_eq!(days.len(), 7);
    assert!(days.iter().all(|day| day.rain_mm == 0.0 && day.et0_mm == days[0].et0_mm));
}

#[test]
fn a_season_refuses_what_it_cannot_use() {
    let (weather, plan) = (weather(), Plan::default());
    let error = |beds: &[Bed], plan: &Plan| season(beds, &weather, plan).expect_err("an error");
    assert_eq!(error(&[], &plan), SeasonError::NoBeds);
    assert!(matches!(error(&[tomatoes("a"), tomatoes("a")], &plan), SeasonError::SameName { .. }));
    let unplanted = |name: &str| Bed::new(name, Crop::named(name, None).expect("a crop"), Soil::named("loam").expect("a soil"));
    assert!(matches!(error(&[unplanted("tomato")], &plan), SeasonError::NotPlanted { .. }));
    let elsewhere = |at: &str| Bed { crop: Crop { planted: Some(date(at)), ..tomatoes("a").crop }, ..tomatoes("a") };
    assert!(matches!(error(&[elsewhere("2013-05-15")], &plan), SeasonError::NoDays { .. }));
    assert!(matches!(
        error(&[tomatoes("a")], &Plan { rule: Rule::Fixed { mm: 0.0 }, ..plan.clone() }),
        SeasonError::OutOfRange { .. }
    ));
    assert!(matches!(error(&[Bed { exposure: 9.0, ..tomatoes("a") }], &plan), SeasonError::OutOfRange { .. }));
    let late = season(&[elsewhere("2015-11-01")], &weather, &plan).expect("a season");
    assert_eq!(late.beds[0].cut_off, Some(date("2016-03-24")));
    let dry = week(&[Bed { water: None, ..tomatoes("a") }], &weather, date("2015-07-13"), &plan).expect("a week");
    assert!(matches!(dry.schedule(0.0), Err(SeasonError::NoRate { .. })));
    // A lawn needs no day of planting.
    assert!(season(&[unplanted("lawn")], &weather, &plan).is_ok());
}

#[test]
fn a_deficit_gives_less_and_mulch_or_shade_saves_water() {
    let weather = weather();
    let given =
        |bed: Bed, rule: Rule| season(&[bed], &weather, &Plan { rule, ..Plan::default() }).expect("a season").beds[0].totals();
    let full = given(tomatoes("a"), Rule::Refill);
    let deficit = given(tomatoes("a"), Rule::Deficit { share: 0.6 });
    assert!(deficit.given_mm < 0.8 * full.given_mm && deficit.stress_days > full.stress_days, "{deficit:?}");
    assert!(given(Bed { mulch: 1.0, ..tomatoes("a") }, Rule::Refill).used_mm < full.used_mm - 10.0);
    assert!(given(Bed { exposure: 0.7, ..tomatoes("a") }, Rule::Refill).used_mm < 0.75 * full.used_mm);
}

fn scenario() -> Scenario {
    Scenario { beds: vec![tomatoes("tomatoes"), tomatoes("pots. 2")], weather: weather().into(), plan: Plan::default() }
}

fn number(si: f64) -> Setting {
    Setting::Number(Quantity::new(si, dim::NUMBER))
}

#[test]
fn every_number_of_a_season_is_read_as_it_was_set() {
    for path in scenario().paths() {
        let target = scenario().target(&path).expect("a path");
        let Some((dimension, _)) = target.kind() else { continue };
        let mut set = scenario();
        set.set(&target, &Setting::Number(Quantity::new(86_400.0 * 3.0, dimension))).expect("a number");
        let found = set.number(&path).expect("a value");
        assert!((found.si - 86_400.0 * 3.0).abs() < 1e-6, "{path}: {found}");
        assert!(matches!(set.set(&target, &Setting::Name("clay".into())), Err(SeasonError::WrongKind { .. })), "{path}");
    }
    let all = scenario().with("*.mulch", &number(60.0)).expect("a season");
    assert!(all.beds.iter().all(|bed| bed.mulch == 0.6));
    let clay = scenario().with("pots. 2.soil", &Setting::Name("clay".into())).expect("a season");
    assert_eq!((clay.beds[0].soil.name.as_str(), clay.beds[1].soil.name.as_str()), ("sandy loam", "clay"));
    let moved = scenario().with("tomatoes.crop.planted", &Setting::Day(date("2015-06-01"))).expect("a season");
    assert_eq!(moved.season().expect("a season").beds[0].days[0].date, date("2015-06-01"));
    for path in ["tomatoes.crop.kc_midd", "tomatos.mulch", "rule.dept", "tomatoes"] {
        assert!(matches!(scenario().with(path, &number(1.0)), Err(SeasonError::NoPath { .. })), "{path}");
    }
    assert!(matches!(scenario().with("tomatoes.mulch", &number(130.0)), Err(SeasonError::OutOfRange { .. })));
    assert!(matches!(scenario().number("rule.depth"), Err(SeasonError::NoValue { .. })));
}

#[test]
fn a_season_is_planted_in_the_year_it_is_moved_to_and_parts_of_years_are_left_out() {
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm\n");
    for step in 0..1200 {
        let day = date("2012-01-01").plus(step);
        let rain = if step % 6 == 0 { f64::from(day.year() - 2011) * 4.0 } else { 0.0 };
        text += &format!("{day},12,26,{rain}\n");
    }
    let weather = Weather::read("years", &text).expect("weather").at(Place::new(45.0, 100.0).expect("a place"));
    let lawn = Bed::new("lawn", Crop::named("lawn", None).expect("a crop"), Soil::named("loam").expect("a soil"));
    let scenario = Scenario { beds: vec![tomatoes("tomatoes"), lawn], weather: weather.into(), plan: Plan::default() };
    let years = scenario.years().expect("years");
    let found: Vec<i32> = years.seasons.iter().map(|(year, _)| *year).collect();
    assert_eq!((found, years.left_out.as_slice()), (vec![2012, 2013, 2014], &[2015][..]));
    for (year, season) in &years.seasons {
        assert_eq!(season.beds[0].days[0].date, date("2015-05-15").in_year(*year).expect("a day"));
        assert_eq!(season.beds[1].days.len(), if *year == 2012 { 366 } else { 365 });
        let alone =
            Scenario { plan: Plan { year: Some(*year), ..Plan::default() }, ..scenario.clone() }.season().expect("a season");
        assert_eq!(alone.beds, season.beds);
    }
    let given: Vec<f64> = years.totals(0).iter().map(|(_, totals)| totals.given_mm).collect();
    assert!(given[0] > given[1] && given[1] > given[2], "{given:?}");
    assert_eq!(years.given_mm(0, 0.0), given[2]);
    assert_eq!(years.given_mm(0, 0.5), given[1]);
    assert_eq!(years.given_mm(0, 1.0), given[0]);
    let means = Weather::of_months("means", [crate::weather::Day::default(); 12]);
    assert!(matches!(Scenario { weather: means.into(), ..scenario }.years(), Err(SeasonError::NoYears { .. })));
}

#[test]
fn waterings_on_allowed_days_come_before_the_stress_that_waiting_would_bring() {
    let weather = weather();
    let on = |days: Vec<usize>| {
        let plan = Plan { allowed: Some(CalendarDays::Weekdays(days)), ..Plan::default() };
        season(&[tomatoes("a")], &weather, &plan).expect("a season").beds.remove(0)
    };
    let free = season(&[tomatoes("a")], &weather, &Plan::default()).expect("a season").beds.remove(0);
    assert_eq!(on((0..7).collect()).days, free.days);
    let two = on(vec![1, 5]);
    assert!(two.days.iter().all(|day| day.given_mm == 0.0 || ["Tue", "Sat"].contains(&day.date.weekday())));
    assert!(two.totals().stress_days <= 5, "{:?}", two.totals());
    assert!(matches!(
        season(&[tomatoes("a")], &weather, &Plan { allowed: Some(CalendarDays::Weekdays(vec![])), ..Plan::default() }),
        Err(SeasonError::OutOfRange { .. })
    ));
}

#[test]
fn a_schedule_without_a_start_ends_with_its_hours_or_begins_with_them() {
    let place = Place::new(45.0, 100.0).expect("a place");
    let sunrise_s = crate::weather::sunrise_and_sunset_s(&place, date("2015-07-13"))[0];
    let of = |rate: f64, hours: Option<Hours>| {
        let bed = Bed { water: Some(Water { rate_mm_per_h: rate, du: 0.72 }), missing_mm: Some(30.0), ..tomatoes("a") };
        week(&[bed], &weather(), date("2015-07-13"), &Plan { hours, ..Plan::default() }).expect("a week")
    };
    let short = of(18.0, None);
    let start_s = short.latest_start_s().expect("a start");
    assert_eq!(short.window.end, WindowEnd::SolarSunrise);
    assert!(start_s > 0.0 && start_s % 300.0 == 0.0 && short.late(start_s).expect("runs").is_empty());
    assert!(!short.late(start_s + 600.0).expect("runs").is_empty() && (short.window.to_s - sunrise_s).abs() < 1e-9);
    let long = of(3.0, None);
    assert_eq!(long.latest_start_s(), Ok(0.0));
    assert!(!long.late(0.0).expect("runs").is_empty());
    // Hours over midnight.
    let night = of(12.0, Some(Hours { from_s: 20.0 * 3600.0, to_s: 8.0 * 3600.0 }));
    assert!(night.late(21.0 * 3600.0).expect("runs").is_empty() && night.late(3600.0).expect("runs").is_empty());
    assert!(!night.late(12.0 * 3600.0).expect("runs").is_empty());
}

#[test]
fn waterings_of_a_log_count_until_now_and_drip_lines_wet_less() {
    let weather = weather();
    let short = |log: Vec<(Date, f64)>| {
        let bed = Bed { log, ..tomatoes("a") };
        week(&[bed], &weather, date("2015-07-13"), &Plan::default()).expect("a week").jobs[0].short_by_mm
    };
    let (dry, wet) = (short(vec![(date("2015-06-01"), 0.0)]), short(vec![(date("2015-07-12"), 500.0)]));
    assert!(dry > 30.0 && wet == 0.0, "{dry} and {wet}");
    let drip = tomatoes("a").with_drip(5e-7, 0.3, 0.5);
    assert!((drip.water.expect("a rate").rate_mm_per_h - 12.0).abs() < 1e-9 && drip.lost_share == 0.0);
    assert!(
        drip.coefficients()[0] < tomatoes("a").coefficients()[0] && drip.coefficients()[1] == tomatoes("a").coefficients()[1]
    );
    let gross_mm = drip.gross_mm(10.0);
    assert!((drip.net_mm(gross_mm) - 10.0).abs() < 1e-12);
}

#[test]
fn a_climate_like_that_of_the_tables_changes_nothing_and_a_dry_wind_asks_for_more() {
    use crate::soil::Climate;
    let of = |wind_m_per_s: f64, lowest_humidity_pct: f64| {
        tomatoes("a").crop.in_climate([Climate { wind_m_per_s, lowest_humidity_pct }; 2]).coefficients
    };
    assert_eq!(of(2.0, 45.0), tomatoes("a").crop.coefficients);
    assert!(of(4.0, 20.0)[1] > 1.25 && of(1.0, 70.0)[1] < 1.1);
    let found = in_climate_of(tomatoes("a").crop, &weather()).expect("a crop");
    assert!((found.coefficients[1] - 1.15).abs() < 0.1);
    assert!(in_climate_of(Crop { planted: None, ..tomatoes("a").crop }, &weather()).is_err());
}
