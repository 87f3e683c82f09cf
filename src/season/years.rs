//! A season in every year of a weather: what a dry year takes and a wet one.

use super::balance::Totals;
use super::error::SeasonError;
use super::plan::Plan;
use super::run::{Season, season_on};
use super::scenario::Scenario;
use crate::limits;
use crate::numeric::quantile;

/// The seasons of all years of which the weather has every day.
#[derive(Clone, Debug, PartialEq)]
pub struct Years {
    /// Each year with its season.
    pub seasons: Vec<(i32, Season)>,
    /// Years of which the weather has a part only; they are left out.
    pub left_out: Vec<i32>,
}

impl Scenario {
    /// The same beds planted in every year of the weather. Errors: monthly means, which have no years; no year is whole; as for a season.
    pub fn years(&self) -> Result<Years, SeasonError> {
        let Some((first, last)) = self.weather.span() else { return Err(SeasonError::NoYears { left_out: Vec::new() }) };
        let whole = self.weather.course(first, last).ok();
        let (mut seasons, mut left_out) = (Vec::new(), Vec::new());
        for year in limits::while_going_on(first.year()..=last.year()) {
            let plan = Plan { year: Some(year), ..self.plan.clone() };
            let season = match &whole {
                Some(course) => season_on(&self.beds, &self.weather, course, &plan),
                None => super::run::season(&self.beds, &self.weather, &plan),
            };
            match season {
                Ok(season) if season.beds.iter().all(super::run::BedSeason::is_whole) => seasons.push((year, season)),
                Ok(_) | Err(SeasonError::NoDays { .. }) => left_out.push(year),
                Err(error) => return Err(error),
            }
        }
        if seasons.is_empty() {
            return Err(SeasonError::NoYears { left_out });
        }
        Ok(Years { seasons, left_out })
    }
}

impl Years {
    /// The sums of a bed, by its place among the beds, in each year.
    pub fn totals(&self, bed: usize) -> Vec<(i32, Totals)> {
        self.seasons.iter().map(|(year, season)| (*year, season.beds[bed].totals())).collect()
    }

    /// What a bed was given in such a share of the years or in less, mm: 0.8 is a dry year, which four years of five do not exceed.
    pub fn given_mm(&self, bed: usize, share: f64) -> f64 {
        let mut given: Vec<f64> = self.totals(bed).iter().map(|(_, totals)| totals.given_mm).collect();
        given.sort_by(f64::total_cmp);
        quantile(&given, share)
    }
}
