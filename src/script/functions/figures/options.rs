//! Sizes, limits and pixel ratios as scripts write them.

use crate::operation::clock_time_s;
use crate::quantity::{Preference, Quantity, dim};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe};
use rhai::{Dynamic, INT};

/// Pixels in a meter: 96 an inch (CSS Values and Units, W3C).
const PIXELS_PER_M: f64 = 96.0 / 0.0254;

/// A width or a height in pixels, from a number or a length. Errors: anything else.
pub fn pixels(value: &Dynamic) -> Answer<u32> {
    let found = as_quantity(value).filter(|size| size.dimension == dim::LENGTH || size.dimension == dim::NUMBER);
    let size = found.ok_or_else(|| {
        let error = ScriptError::new(format!("sized needs numbers of pixels or lengths, found {}", describe(value)));
        error.with_hint("write .sized(760, 480) or .sized(160.mm, 100.mm)")
    })?;
    let pixels = if size.dimension == dim::LENGTH { size.si * PIXELS_PER_M } else { size.si };
    // What is no size is refused where the figure is drawn.
    Ok(pixels.round().clamp(0.0, f64::from(u32::MAX)) as u32)
}

/// How many pixels a picture has for one of its size. Errors: no number above zero.
pub fn whole_ratio(ratio: INT) -> Answer<u32> {
    u32::try_from(ratio).map_err(|_| {
        let error = ScriptError::new(format!("pixel_ratio must be 1 or more, found {ratio}"));
        error.with_hint("write .pixel_ratio(2) for a sharp screen").into()
    })
}

/// The ends of an axis: numbers, quantities, or texts of times of the day. Errors: anything else; two of different dimensions.
pub fn limits_of(option: &str, low: &Dynamic, high: &Dynamic) -> Answer<(Quantity, Quantity)> {
    let end = |value: &Dynamic| -> Answer<Quantity> {
        if let Ok(text) = value.as_immutable_string_ref() {
            let si = clock_time_s(&text).map_err(raise)?;
            return Ok(Quantity { si, dimension: dim::TIME, preference: Preference::Clock });
        }
        as_quantity(value).ok_or_else(|| {
            let error = ScriptError::new(format!("{option} needs two numbers or quantities, found {}", describe(value)));
            error.with_hint(format!("write .{option}({{20.psi, 60.psi|1.bar, 4.bar}}), or times such as \"05:30\"")).into()
        })
    };
    let (low, high) = (end(low)?, end(high)?);
    if low.dimension != high.dimension {
        let error =
            ScriptError::new(format!("{option}: {} and {} are of different dimensions", low.described(), high.described()));
        return Err(error.with_hint("give both ends in one unit").into());
    }
    if low.si >= high.si {
        let error =
            ScriptError::new(format!("{option}: the lower end comes first, found {} and {}", low.described(), high.described()));
        return Err(error.with_hint("write the lower end first").into());
    }
    Ok((low, high))
}
