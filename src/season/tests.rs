//! Properties of balances, seasons and weeks.

use super::*;
use crate::moment::Date;
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
        bed in any_bed(), rule in any_rule(), light in any::<bool>(), missing in 0.0..80.0, days in any_days(),
    ) {
        let found = balance(&bed, &Plan { rule, light_rain_counts: light, ..Plan::default() }, Date::from_days(0), missing, &days);
        prop_assert_eq!(found.len(), days.len());
        for (day, next) in found.iter().zip(found.iter().skip(1)) {
            prop_assert!(next.start_mm == day.end_mm.min(next.reservoir_mm));
        }
        for day in &found {
            prop_assert!(day.imbalance_mm().abs() < 1e-9, "{:?}", day);
            prop_assert!((0.0..=1.0).contains(&day.stress));
            prop_assert!(day.used_mm >= 0.0 && day.percolated_mm >= 0.0 && day.given_mm >= 0.0 && day.runoff_mm >= 0.0);
            prop_assert!(day.end_mm >= 0.0 && day.end_mm <= day.reservoir_mm + 1e-9, "{:?}", day);
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
