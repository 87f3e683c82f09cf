//! The whole of the room: texts in, days and remarks out.

use super::*;
use crate::moment::Date;

fn date(text: &str) -> Date {
    Date::read(text).expect("a day")
}

fn read(text: &str) -> Weather {
    Weather::read("file.csv", text).expect("weather")
}

/// A summer of lows 10 and highs 20 degC, with these lines changed.
fn lines(changes: &[(usize, &str)]) -> String {
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm\n");
    for day in 1..=30 {
        let line = changes.iter().find(|(of, _)| *of == day).map(|(_, line)| line.to_string());
        text += &line.unwrap_or_else(|| format!("2015-06-{day:02},10,20,1"));
        text.push('\n');
    }
    text
}

fn seattle(weather: Weather) -> Weather {
    weather.at(Place::new(47.45, 130.0).expect("a place"))
}

#[test]
fn gaps_up_to_three_days_are_filled_and_longer_ones_stop() {
    let weather = seattle(read(&lines(&[(10, ""), (11, "2015-06-11,,,"), (12, "2015-06-12,16,M,-"), (9, "2015-06-09,8,16,0")])));
    let course = weather.course(date("2015-06-08"), date("2015-06-14")).expect("filled");
    let filled: Vec<bool> = course.days.iter().map(|day| day.filled).collect();
    assert_eq!(filled, [false, false, true, true, true, false, false]);
    assert_eq!(course.days[3].rain_mm, 0.0);
    // Highs 16 and 20 lie four days apart, and the low of the 12th is known: 16.
    let et0 = |low: f64, high: f64, day: f64| {
        evapotranspiration::hargreaves_mm(evapotranspiration::extraterrestrial_mj_per_m2(47.45, day), low, high)
    };
    assert!((course.days[4].et0.mm - et0(16.0, 19.0, 163.0)).abs() < 1e-12);
    assert!(course.remarks.contains(&Remark::Filled {
        field: Field::Rain,
        dates: (10..=12).map(|day| Date::new(2015, 6, day).expect("a day")).collect()
    }));

    let weather = seattle(read(&lines(&[(10, ""), (11, ""), (12, ""), (13, "")])));
    let error = weather.course(date("2015-06-08"), date("2015-06-14")).expect_err("four days");
    let gap = WeatherError::Gap {
        name: "file.csv".into(),
        field: Field::Low,
        from: date("2015-06-10"),
        to: date("2015-06-13"),
        most: 3,
    };
    assert_eq!(error, gap);
    assert!(weather.course(date("2015-06-01"), date("2015-06-09")).is_ok());
    assert!(matches!(weather.course(date("2015-06-01"), date("2015-07-01")), Err(WeatherError::Outside { .. })));
}

#[test]
fn the_order_of_dates_is_found_or_asked_for() {
    let text = |dates: &[&str]| dates.iter().fold(String::from("day,low,high\n"), |text, date| text + *date + ",10,20\n");
    let first = |dates: &[&str]| Weather::read("f", &text(dates)).map(|weather| weather.span().expect("days").0);
    assert_eq!(first(&["4/5/2015", "4/13/2015"]), Ok(date("2015-04-05")));
    assert_eq!(first(&["4/5/2015", "13/5/2015"]), Ok(date("2015-05-04")));
    assert_eq!(first(&["4.5.2015"]), Ok(date("2015-05-04")));
    assert_eq!(first(&["20150405"]), Ok(date("2015-04-05")));
    assert_eq!(first(&["2015-04-05T00:00"]), Ok(date("2015-04-05")));
    assert_eq!(first(&["5/5/2015"]), Ok(date("2015-05-05")));
    assert!(matches!(first(&["4/5/2015", "4/6/2015"]), Err(WeatherError::DateOrder { line: 2, .. })));
    assert!(matches!(first(&["4/13/2015", "13/4/2015"]), Err(WeatherError::TwoDateOrders { .. })));
    assert!(matches!(first(&["yesterday"]), Err(WeatherError::NoDays { .. })));
}

#[test]
fn units_that_no_heading_names_are_read_from_the_numbers_and_told() {
    let us = read("Date,High,Low,Precip,Wind\n2015-07-01,86,59,0.5,10\n2015-07-02,77,59,T,5\n");
    let day = us.day(date("2015-07-01")).expect("a day");
    assert!((day.get(Field::High).expect("a high") - 30.0).abs() < 1e-9);
    assert!((day.get(Field::Rain).expect("rain") - 12.7).abs() < 1e-9);
    assert!((day.get(Field::Wind).expect("wind") - 4.4704).abs() < 1e-9);
    assert!(us.remarks.contains(&Remark::ReadAs { units: vec!["degrees F", "inches", "miles an hour"] }));
    assert!(us.remarks.contains(&Remark::Traces { days: 1 }));
    assert!(us.remarks.contains(&Remark::WindHeightAssumed));
    let named = read("date,tmin_F,tmax_F,rain_in\n2015-12-01,20,41,0.5\n");
    assert!((named.day(date("2015-12-01")).expect("a day").get(Field::High).expect("a high") - 5.0).abs() < 1e-9);
    assert_eq!(named.remarks, []);
}

#[test]
fn wrong_headings_are_errors_that_name_them() {
    let error = |text: &str| Weather::read("f", text).expect_err("an error");
    assert!(matches!(error(""), WeatherError::NoHeadings { .. }));
    assert!(matches!(error("2015-01-01,1,2\n"), WeatherError::NoHeadings { .. }));
    assert!(matches!(error("date,tmin,rain\n2015-01-01,1,2\n"), WeatherError::NoColumn { missing: Field::High, line: 1, .. }));
    assert!(matches!(error("date,tmin,tmax,high\n"), WeatherError::TwoColumns { field: Field::High, .. }));
    assert!(matches!(error("month,tmin,tmax\n1,2,3\n"), WeatherError::Months { found: 1, .. }));
    let unknown = error("station 7\ndate,tmin_C,tmax_furlongs,cloud\n2015-01-01,1,2,3\n");
    let WeatherError::NoColumn { line: 2, not_read, .. } = unknown else { panic!("{unknown}") };
    assert_eq!(not_read, ["tmax_furlongs", "cloud"]);
}

#[test]
fn a_gauge_keeps_its_total_and_follows_the_days_on_which_it_rained() {
    let gauge = Gauge::read("g", "date,rain_mm\n2015-06-04,6\n2015-06-08,8\n2015-06-11,3\n").expect("a gauge");
    let weather = read(&lines(&[
        (9, "2015-06-09,10,20,0"),
        (10, "2015-06-10,10,20,0"),
        (11, "2015-06-11,10,20,0"),
        (6, "2015-06-06,10,20,5"),
    ]));
    let weather = weather.with_gauge(&gauge);
    let rain = |day: u32| weather.day(Date::new(2015, 6, day).expect("a day")).expect("a day").get(Field::Rain);
    assert_eq!((rain(1), rain(4), rain(5), rain(6)), (Some(1.5), Some(1.5), Some(1.0), Some(5.0)));
    assert_eq!((rain(9), rain(11), rain(12)), (Some(1.0), Some(1.0), None));
}

#[test]
fn monthly_means_serve_days_of_any_year() {
    let months = std::array::from_fn(|at| {
        Day::default().with(Field::Low, at as f64).with(Field::High, 10.0 + at as f64).with(Field::Rain, 31.0)
    });
    let weather = seattle(Weather::of_months("means", months));
    let course = weather.course(date("2016-01-31"), date("2016-02-01")).expect("a course");
    assert_eq!(course.days[0].rain_mm, 1.0);
    assert!((course.days[1].rain_mm - 31.0 / 29.0).abs() < 1e-12);
    assert_eq!(weather.by_month().len(), 12);
}

mod random {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_text_makes_the_reader_panic(text in "(date|day|tmin|high|rain|rh|[0-9]{1,4}|[,;\t\n/.\"-]|T|M|°F| ){0,60}") {
            if let Ok(weather) = Weather::read("f", &text)
                && let Some((first, last)) = weather.span()
            {
                let _ = seattle(weather).course(first, last);
            }
            let _ = Gauge::read("f", &text);
        }

        #[test]
        fn the_order_of_lines_does_not_matter(lines in proptest::collection::vec((1u32..28, 0.0..10.0, 0.0..5.0), 1..20).prop_shuffle(), turn in 0usize..20) {
            let mut lines: Vec<String> = lines.iter().map(|(day, low, rain)| format!("2015-06-{day:02},{low},20,{rain}\n")).collect();
            let text = |lines: &[String]| format!("date,tmin,tmax,rain\n{}", lines.concat());
            let one = read(&text(&lines));
            let count = lines.len();
            lines.rotate_left(turn % count);
            let other = read(&text(&lines));
            let (first, last) = one.span().expect("days");
            prop_assert_eq!(one.span(), other.span());
            for step in 0..=last.since(first) {
                prop_assert_eq!(one.day(first.plus(step)), other.day(first.plus(step)));
            }
        }
    }
}
