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
    let mut text = String::with_capacity(24);
    push_decimal(&mut text, value, digits);
    text
}

/// The same at the end of a text. Worksheets write hundreds of numbers, so this
/// goes without the formatting machinery.
pub fn push_decimal(text: &mut String, value: f64, digits: u8) {
    let Some(magnitude) = magnitude(value) else {
        // Zero, dust below what anyone measures, or beyond all reason.
        if value.abs() < 1.0 {
            text.push('0');
        } else {
            text.push_str(&format!("{value:e}"));
        }
        return;
    };
    let places = usize::try_from(i32::from(digits) - 1 - magnitude).unwrap_or(0);
    push_fixed(text, value, places);
}

/// A number to so many decimal places, trailing zeros dropped, at the end of a
/// text. Beyond 1e18 in the last place it saturates.
pub fn push_fixed(text: &mut String, value: f64, places: usize) {
    let scaled = (value.abs() * POWERS.get(places).copied().unwrap_or(1e22)).round();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates")]
    let mut left = scaled as u64;
    if left == 0 {
        text.push('0');
        return;
    }
    if value < 0.0 {
        text.push('-');
    }
    // From the last digit to the first; a u64 has at most twenty.
    let mut digits = [b'0'; 48];
    let mut at = digits.len();
    let mut place = 0;
    let mut written = false;
    while left > 0 || place <= places {
        let digit = u8::try_from(left % 10).unwrap_or(0);
        left /= 10;
        // Zeros after the last digit that counts are dropped.
        if place >= places || digit > 0 || written {
            if place == places && written {
                at -= 1;
                digits[at] = b'.';
            }
            at -= 1;
            digits[at] = b'0' + digit;
            written = true;
        }
        place += 1;
    }
    text.extend(digits[at..].iter().map(|digit| char::from(*digit)));
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
