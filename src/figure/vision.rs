//! How colors look to readers with three kinds of color vision besides the common one, and how far apart they look.
//!
//! Of the tests: the palette of lines and the ramp of values are held against it.

use super::palette::linear_light;
use super::scene::Ink;

/// What a reader sees of linear sRGB light: the common color vision, then full protanopia, deuteranopia and tritanopia.
///
/// Machado, Oliveira and Fernandes 2009, A physiologically-based model for simulation of color vision deficiency, IEEE Transactions on
/// Visualization and Computer Graphics 15(6), severity 1.0.
pub const VISIONS: [(&str, [[f64; 3]; 3]); 4] = [
    ("common", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    ("protanopia", [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]]),
    ("deuteranopia", [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]]),
    ("tritanopia", [[1.255_528, -0.076_749, -0.178_779], [-0.078_411, 0.930_809, 0.147_602], [0.004_733, 0.691_367, 0.303_900]]),
];

/// CIE 1976 L*a*b* of a color as seen by a color vision; white point D65.
pub fn lab(ink: Ink, vision: &[[f64; 3]; 3]) -> [f64; 3] {
    let light = linear_light(ink);
    let light = vision.map(|row| (row[0] * light[0] + row[1] * light[1] + row[2] * light[2]).clamp(0.0, 1.0));
    let row = |a: f64, b: f64, c: f64| a * light[0] + b * light[1] + c * light[2];
    let x = row(0.4124, 0.3576, 0.1805) / 0.9505;
    let y = row(0.2126, 0.7152, 0.0722);
    let z = row(0.0193, 0.1192, 0.9505) / 1.089;
    let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
    [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
}

/// Difference of two colors in L*a*b* by CIEDE2000 (ISO/CIE 11664-6); about 1 is the least that is noticed side by side.
pub fn difference(one: [f64; 3], other: [f64; 3]) -> f64 {
    let seventh = |chroma: f64| (chroma.powi(7) / (chroma.powi(7) + 25f64.powi(7))).sqrt();
    let stretched = 1.0 + 0.5 * (1.0 - seventh((one[1].hypot(one[2]) + other[1].hypot(other[2])) / 2.0));
    let polar = |color: [f64; 3]| {
        let a = color[1] * stretched;
        (color[0], a.hypot(color[2]), color[2].atan2(a).to_degrees().rem_euclid(360.0))
    };
    let ((l1, c1, h1), (l2, c2, h2)) = (polar(one), polar(other));
    let no_hue = c1 * c2 == 0.0;
    let turn = if no_hue { 0.0 } else { (h2 - h1 + 180.0).rem_euclid(360.0) - 180.0 };
    let mean_hue = if no_hue { h1 + h2 } else { (h1 + turn / 2.0).rem_euclid(360.0) };
    let (l, c) = ((l1 + l2) / 2.0, (c1 + c2) / 2.0);
    let cos = |factor: f64, shift: f64| (factor * mean_hue + shift).to_radians().cos();
    let t = 1.0 - 0.17 * cos(1.0, -30.0) + 0.24 * cos(2.0, 0.0) + 0.32 * cos(3.0, 6.0) - 0.20 * cos(4.0, -63.0);
    let of_l = (l2 - l1) / (1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt());
    let of_c = (c2 - c1) / (1.0 + 0.045 * c);
    let of_h = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin() / (1.0 + 0.015 * c * t);
    let rotation = -(60.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp()).to_radians().sin() * 2.0 * seventh(c);
    (of_l.powi(2) + of_c.powi(2) + of_h.powi(2) + rotation * of_c * of_h).sqrt()
}

/// Pairs from Sharma, Wu and Dalal 2005, The CIEDE2000 color-difference formula, Color Research and Application 30(1), table 1.
#[test]
fn differences_of_published_pairs() {
    let pairs = [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
        ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
        ([2.0776, 0.0795, -1.1350], [0.9033, -0.0636, -0.5514], 0.9082),
    ];
    for (one, other, expected) in pairs {
        assert!((difference(one, other) - expected).abs() < 6e-5, "{one:?} {other:?}: {}", difference(one, other));
    }
}
