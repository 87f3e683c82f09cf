//! Crop coefficients in the climate of a weather.

use super::error::SeasonError;
use crate::moment::Date;
use crate::soil::{Climate, Crop};
use crate::weather::Weather;

/// Wind at 2 m and lowest humidity for which the tables are, and that stand where the weather has none (FAO Irrigation and Drainage
/// Paper 56, 1998, chapter 6).
const OF_TABLES: Climate = Climate { wind_m_per_s: 2.0, lowest_humidity_pct: 45.0 };

/// A crop with its coefficients in the climate that a weather has in its middle and its late stage; a cover that stays in that of all
/// days. Errors: not planted; the weather has none of its days.
pub fn in_climate_of(crop: Crop, weather: &Weather) -> Result<Crop, SeasonError> {
    let [middle, late] = match (crop.stages_d, crop.planted, weather.span()) {
        (Some(_), None, _) => return Err(SeasonError::NotPlanted { bed: crop.name.clone(), crop: crop.name.clone() }),
        (Some([initial, development, middle, late]), Some(planted), known) => {
            let at = |days: u32| planted.plus(days as i32);
            let spans = [
                (initial + development, initial + development + middle),
                (initial + development + middle, initial + development + middle + late),
            ];
            let inside = |(from, to): (u32, u32)| -> (Date, Date) {
                let (from, to) = (at(from), at(to.max(from + 1)).plus(-1));
                known.map_or((from, to), |(first, last)| (from.max(first), to.min(last)))
            };
            spans.map(inside)
        }
        (None, _, known) => {
            let year = |year: i32| Date::new(year, 1, 1).zip(Date::new(year, 12, 31));
            let span = known.or(year(2015)).unwrap_or((Date::from_days(0), Date::from_days(364)));
            [span, span]
        }
    };
    if middle.0 > middle.1 {
        return Err(SeasonError::NoDays { bed: crop.name.clone(), crop: crop.name.clone(), from: middle.0, to: middle.1 });
    }
    let climate = |(from, to): (Date, Date)| {
        let (wind, humidity) = weather.climate(from, to);
        Climate {
            wind_m_per_s: wind.unwrap_or(OF_TABLES.wind_m_per_s),
            lowest_humidity_pct: humidity.unwrap_or(OF_TABLES.lowest_humidity_pct),
        }
    };
    Ok(crop.in_climate([climate(middle), climate(late)]))
}
