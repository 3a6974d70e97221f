//! Reads a quantity as a mechanic writes it.
//!
//! ```text
//! quantity = [sign] number [unit]        0.032   1/8   3/32 in   1 1/2 in   1-1/2"   ½ in
//! length   = quantity | "#" n | "No." n | letter          #30   No. 30   F
//! ```

use super::{Drill, Measure, NotAQuantity, Unit};

/// Longer texts are not measurements.
const LONGEST: usize = 64;

pub(super) fn measure<M: Measure>(text: &str, bare: Option<&Unit>) -> Result<M, NotAQuantity> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NotAQuantity::new::<M>("is empty"));
    }
    if text.len() > LONGEST {
        return Err(NotAQuantity::new::<M>("is too long to be a measurement"));
    }
    if M::NAME == super::Length::NAME
        && let Some(inches) = drill(text)?
    {
        return M::from_unit(inches, "in");
    }
    let (value, rest) = number::<M>(text)?;
    let unit = rest.trim();
    if !unit.is_empty() {
        return M::from_unit(value, unit);
    }
    match bare {
        Some(unit) => M::from_si(unit.to_si(value)),
        None => Err(NotAQuantity::new::<M>("has no unit")),
    }
}

/// The diameter of a number or letter drill in inches, if the text names one.
fn drill(text: &str) -> Result<Option<f64>, NotAQuantity> {
    let unknown = || NotAQuantity {
        reason: format!("`{text}` is not a drill size"),
        accepted: "#1 to #80, A to Z".to_owned(),
    };
    let mut letters = text.chars();
    if let (Some(letter), None) = (letters.next(), letters.next())
        && letter.is_ascii_alphabetic()
    {
        return Drill::Letter(letter).inches().map(Some).ok_or_else(unknown);
    }
    let lower = text.to_ascii_lowercase();
    let Some(digits) = ["#", "no.", "no "].iter().find_map(|start| lower.strip_prefix(start)) else {
        return Ok(None);
    };
    let number = digits.trim().parse().map_err(|_| unknown())?;
    Drill::Number(number).inches().map(Some).ok_or_else(unknown)
}

/// The number at the start of the text, and what follows it.
fn number<M: Measure>(text: &str) -> Result<(f64, &str), NotAQuantity> {
    let (sign, text) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    if let Some((part, rest)) = vulgar(text) {
        return Ok((sign * part, rest));
    }
    let (whole, rest) = digits(text);
    if whole.is_empty() && !rest.starts_with('.') {
        return Err(NotAQuantity::new::<M>("does not start with a number"));
    }
    if rest.starts_with('.') || is_exponent(rest) {
        let (value, rest) = point::<M>(text)?;
        return Ok((sign * value, rest));
    }
    if rest.starts_with(',') {
        return Err(NotAQuantity::new::<M>("has a comma: write the decimal with a point"));
    }
    if let Some(after) = rest.strip_prefix('/') {
        let (value, rest) = fraction::<M>(whole, after)?;
        return Ok((sign * value, rest));
    }
    let value: f64 = whole.parse().map_err(|_| NotAQuantity::new::<M>("is not a number"))?;
    let (part, rest) = mixed::<M>(rest)?;
    Ok((sign * (value + part), rest))
}

/// `1/2` after a whole number and a space or a hyphen, or `½` straight after it.
fn mixed<M: Measure>(rest: &str) -> Result<(f64, &str), NotAQuantity> {
    let tail = rest.trim_start();
    let tail = tail.strip_prefix(['-', '−']).unwrap_or(tail);
    if let Some(part) = vulgar(tail) {
        return Ok(part);
    }
    let (over, after) = digits(tail);
    if over.is_empty() {
        return Ok((0.0, rest));
    }
    match after.strip_prefix('/') {
        Some(after) => fraction::<M>(over, after),
        // `12 1e-6/K`: the digits belong to the unit.
        None if M::unit(rest.trim()).is_some() => Ok((0.0, rest)),
        None => Err(NotAQuantity::new::<M>("has two numbers where one was expected")),
    }
}

/// `3` and `32 in`: three thirty-seconds, and the rest.
fn fraction<'a, M: Measure>(over: &str, after: &'a str) -> Result<(f64, &'a str), NotAQuantity> {
    let (under, rest) = digits(after);
    let (Ok(over), Ok(under)) = (over.parse::<u32>(), under.parse::<u32>()) else {
        return Err(NotAQuantity::new::<M>("has a fraction that is not two whole numbers"));
    };
    if under == 0 {
        return Err(NotAQuantity::new::<M>("has a fraction over zero"));
    }
    Ok((f64::from(over) / f64::from(under), rest))
}

/// A decimal number with a point or an exponent.
fn point<M: Measure>(text: &str) -> Result<(f64, &str), NotAQuantity> {
    let (_, rest) = digits(text);
    let rest = rest.strip_prefix('.').map_or(rest, |rest| digits(rest).1);
    let rest = if is_exponent(rest) {
        let power = &rest[1..];
        digits(power.strip_prefix(['-', '+']).unwrap_or(power)).1
    } else {
        rest
    };
    let value =
        text[..text.len() - rest.len()].parse().map_err(|_| NotAQuantity::new::<M>("is not a number"))?;
    Ok((value, rest))
}

/// Whether the text starts with `e5`, `E-5`: an exponent, not a unit.
fn is_exponent(text: &str) -> bool {
    text.strip_prefix(['e', 'E']).is_some_and(|power| {
        power.strip_prefix(['-', '+']).unwrap_or(power).starts_with(|digit: char| digit.is_ascii_digit())
    })
}

/// The leading digits, and the rest.
fn digits(text: &str) -> (&str, &str) {
    text.split_at(text.find(|digit: char| !digit.is_ascii_digit()).unwrap_or(text.len()))
}

/// A one-character fraction at the start, as telephone keyboards offer it.
fn vulgar(text: &str) -> Option<(f64, &str)> {
    let first = text.chars().next()?;
    let value = match first {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    };
    Some((value, &text[first.len_utf8()..]))
}
