//! How cure slows down in the cold: the rate rule, and time at changing temperature.

/// The step in temperature over which the rate doubles.
pub const DOUBLING: f64 = 10.0;

/// How fast cure goes at `temperature` against the reference temperature: twice per 10 K.
#[must_use]
pub fn rate(temperature: f64, reference: f64) -> f64 {
    libm::exp2((temperature - reference) / DOUBLING)
}

/// Time needed at `temperature` for what takes `time` at the reference temperature.
#[must_use]
pub fn time_at(time: f64, reference: f64, temperature: f64) -> f64 {
    time * libm::exp2((reference - temperature) / DOUBLING)
}

/// Equivalent time at the reference temperature of a span over which the temperature changes
/// evenly from one value to another: the integral of the rate, exactly.
#[must_use]
pub fn equivalent(span: f64, from: f64, to: f64, reference: f64) -> f64 {
    let per_kelvin = core::f64::consts::LN_2 / DOUBLING;
    let change = per_kelvin * (to - from);
    // (e^x - 1)/x, which is 1 where the temperature does not change.
    let mean = if change == 0.0 { 1.0 } else { libm::expm1(change) / change };
    span * rate(from, reference) * mean
}
