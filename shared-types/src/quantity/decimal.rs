//! Decimal numbers for people and for results.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// How many significant digits a result keeps.
const KEPT: i32 = 12;

/// A number without floating-point dust, to twelve significant digits:
/// `0.26749999999999996` becomes `0.2675`. Very small and very large numbers stay as they are.
///
/// The same on every machine: only multiplication, rounding and division by exact powers of ten.
#[must_use]
pub fn tidy(value: f64) -> f64 {
    let Some(magnitude) = magnitude(value) else {
        return value;
    };
    match usize::try_from(KEPT - 1 - magnitude).map(|power| POWERS.get(power)) {
        Ok(Some(power)) => (value * power).round() / power,
        _ => value,
    }
}

/// A number for people, to so many significant digits, trailing zeros dropped.
///
/// Digits before the point are never cut: `70000.4` to three digits reads `70000`.
#[must_use]
pub fn decimal(value: f64, digits: u8) -> String {
    let Some(magnitude) = magnitude(value) else {
        // Zero, dust below what anyone measures, or beyond all reason.
        return if value.abs() < 1.0 { "0".to_owned() } else { format!("{value:e}") };
    };
    let Some(places) = usize::try_from(i32::from(digits) - 1 - magnitude).ok().filter(|places| *places > 0)
    else {
        return format!("{value:.0}");
    };
    let scaled = (value.abs() * POWERS.get(places).copied().unwrap_or(1e22)).round();
    // At most `digits` digits, which a u64 holds.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "see above")]
    let text = format!("{:0width$}", scaled as u64, width = places + 1);
    let (whole, part) = text.split_at(text.len() - places);
    let part = part.trim_end_matches('0');
    let sign = if value < 0.0 { "-" } else { "" };
    let point = if part.is_empty() { "" } else { "." };
    [sign, whole, point, part].concat()
}

/// The power of ten of a number's first digit, from -11 to 21.
fn magnitude(value: f64) -> Option<i32> {
    let size = value.abs();
    if !(1e-11..1e22).contains(&size) {
        return None;
    }
    if size >= 1.0 {
        let above = POWERS.iter().take_while(|power| size >= **power).count();
        i32::try_from(above).ok().map(|above| above - 1)
    } else {
        let below = POWERS.iter().take_while(|power| size * **power < 1.0).count();
        i32::try_from(below).ok().map(|below| -below)
    }
}
