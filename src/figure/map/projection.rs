//! How places on a map become pixels on its sheet.

use crate::figure::geometry::Spot;

/// How places become pixels.
pub(super) trait Projection {
    fn px(&self, place: (f64, f64)) -> Spot;
    /// A direction on the map as a direction on the sheet.
    fn turn(&self, toward: (f64, f64)) -> Spot;
}
