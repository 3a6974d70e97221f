use proptest::prelude::*;
use serde_json::json;

use super::*;
use crate::worksheet::Quantity;

fn inches(text: &str) -> f64 {
    Length::parse(text).unwrap().si() / 0.0254
}

fn close(one: f64, two: f64) -> bool {
    (one - two).abs() <= 1e-12 * two.abs().max(1e-300)
}

#[test]
fn lengths_read_as_a_mechanic_writes_them() {
    for (text, expected) in [
        ("0.032", 0.032),
        (".032", 0.032),
        ("1/8", 0.125),
        ("3/32 in", 0.09375),
        ("3/32\"", 0.09375),
        ("1 1/2 in", 1.5),
        ("1-1/2", 1.5),
        ("1½ in", 1.5),
        ("½", 0.5),
        ("-3 in", -3.0),
        ("−1 1/4 in", -1.25),
        ("0.8 mm", 0.8 / 25.4),
        ("0.8mm", 0.8 / 25.4),
        ("25.4 MM", 1.0),
        ("2.54 cm", 1.0),
        ("32 thou", 0.032),
        ("1 ft", 12.0),
        ("3.2e1 mil", 0.032),
        ("#30", 0.1285),
        ("No. 30", 0.1285),
        ("no 12", 0.189),
        ("F", 0.257),
        ("w", 0.386),
    ] {
        assert!(close(inches(text), expected), "{text} -> {}", inches(text));
    }
}

#[test]
fn other_measures_read_with_their_units() {
    let si = |result: Result<f64, NotAQuantity>| result.unwrap();
    // NIST SP 811 Appendix B, to the seven digits printed there.
    for (value, printed) in [
        (si(Force::parse("1 lbf").map(Force::si)), 4.448_222),
        (si(Force::parse("1 kip").map(Force::si)), 4_448.222),
        (si(Stress::parse("1 psi").map(Stress::si)), 6_894.757),
        (si(Stress::parse("1 ksi").map(Stress::si)), 6_894_757.0),
        (si(Mass::parse("1 lb").map(Mass::si)), 0.453_592_4),
        (si(Mass::parse("1 oz").map(Mass::si)), 0.028_349_52),
        (si(ArealMass::parse("1 oz/yd2").map(ArealMass::si)), 0.033_905_75),
        (si(ArealMass::parse("1 oz/ft2").map(ArealMass::si)), 0.305_151_7),
        (si(Density::parse("1 lb/in3").map(Density::si)), 27_679.90),
        (si(Density::parse("1 lb/ft3").map(Density::si)), 16.018_46),
        (si(Moment::parse("1 lbf in").map(Moment::si)), 0.112_984_8),
        (si(Moment::parse("1 ft-lb").map(Moment::si)), 1.355_818),
        (si(ForcePerLength::parse("1 lbf/in").map(ForcePerLength::si)), 175.126_8),
        (si(Volume::parse("1 gal").map(Volume::si)), 3.785_412e-3),
        (si(Volume::parse("1 fl oz").map(Volume::si)), 2.957_353e-5),
        (si(Area::parse("1 ft2").map(Area::si)), 0.092_903_04),
        (si(Temperature::parse("32 degF").map(Temperature::si)), 273.15),
        (si(Temperature::parse("-40 °C").map(Temperature::si)), 233.15),
        (si(Ratio::parse("65 %").map(Ratio::si)), 0.65),
    ] {
        assert!((value - printed).abs() <= 5e-7 * printed, "{value} is not {printed}");
    }
}

#[test]
fn nonsense_is_refused_with_reason_and_forms() {
    for text in [
        "",
        "  ",
        "thick",
        "NaN",
        "inf",
        "1/0",
        "1/8/2",
        "1 2",
        "0,8 mm",
        "3 furlongs",
        "#0",
        "#81",
        "#abc",
        "#30 mm",
        "1e999",
        "--1",
        "1e",
        "é",
        "½½",
        "1/99999999999",
        "in",
        "-",
        "+",
        "no.",
    ] {
        let error = Length::parse(text).expect_err(text);
        assert!(!error.reason.is_empty() && !error.accepted.is_empty());
        let message = error.to_string();
        assert_eq!(NotAQuantity::split(&message), Some((error.reason.as_str(), error.accepted.as_str())));
    }
    assert_eq!(Force::parse("12").unwrap_err().reason, "has no unit");
    assert!(Length::from_si(f64::NAN).is_err());
    assert!(Length::from_unit(f64::INFINITY, "in").is_err());
}

#[test]
fn a_unit_may_start_with_digits() {
    for text in ["12 1e-6/K", "12.0 1e-6/K", "0.000012 1/K"] {
        assert!(close(Expansion::parse(text).unwrap().si(), 12e-6), "{text}");
    }
    assert_eq!(Length::parse("3 4 in").unwrap_err().reason, "has two numbers where one was expected");
}

#[test]
fn the_caller_may_name_the_unit_of_a_bare_number() {
    let mm = Length::unit("mm").unwrap();
    assert!(close(Length::parse_in("25.4", mm).unwrap().si(), 0.0254));
    assert!(close(Length::parse_in("1 in", mm).unwrap().si(), 0.0254));
}

#[test]
fn what_was_entered_stays() {
    for (given, text) in [
        (json!("1/8"), "1/8"),
        (json!(0.125), "0.125"),
        (json!({ "value": 3.175, "unit": "mm" }), "3.175 mm"),
    ] {
        let entered: Entered<Length> = serde_json::from_value(given).unwrap();
        assert_eq!(entered.text(), text);
        assert!(close(entered.si(), 0.003_175));
        assert_eq!(serde_json::to_value(&entered).unwrap(), json!(text));
    }
    assert!(serde_json::from_value::<Entered<Force>>(json!(3)).is_err());
    assert!(serde_json::from_value::<Entered<Length>>(json!(null)).is_err());
    assert!(serde_json::from_value::<Entered<Length>>(json!({ "value": 1, "unit": "psi" })).is_err());
}

#[test]
fn numbers_are_shown_without_dust() {
    let length = |inches: f64| Length::from_unit(inches, "in").unwrap();
    assert_eq!(length(0.2675).show(System::Inch), "0.2675 in");
    assert_eq!(length(0.125).show(System::Metric), "3.175 mm");
    assert_eq!(length(0.0).show(System::Inch), "0 in");
    assert_eq!(length(12.0).quantity(System::Inch), Quantity { value: 12.0, unit: "in".into() });
    assert_eq!(Ratio::from_si(2.0).unwrap().show(System::Inch), "2");
    assert_eq!(decimal(70_000.4, 3), "70000");
    assert_eq!(decimal(-0.06251, 3), "-0.0625");
    assert_eq!(decimal(1e-15, 3), "0");
    assert_eq!(decimal(99.9999, 3), "100");
    assert_eq!(decimal(0.999_996, 5), "1");
    assert_eq!(decimal(100.0, 5), "100");
    assert_eq!(decimal(0.000_012_345_6, 3), "0.0000123");
    assert_eq!(decimal(1e20, 3), "18446744073709551615");
    assert_eq!(decimal(2e22, 3), "2e22");
    assert_eq!(tidy(0.267_499_999_999_999_96), 0.2675);
}

#[test]
fn every_unit_is_found_by_its_own_symbol_and_listed_once() {
    fn check<M: Measure>() {
        let mut spellings: Vec<&str> = Vec::new();
        for unit in M::UNITS {
            spellings.push(unit.symbol);
            spellings.extend(unit.spellings);
            assert_eq!(M::unit(unit.symbol), Some(unit));
        }
        let count = spellings.len();
        spellings.sort_unstable();
        spellings.dedup();
        assert_eq!(spellings.len(), count, "{} has a unit twice", M::NAME);
        assert!(close(M::UNITS[0].to_si(1.0), 1.0));
        for system in [System::Inch, System::Metric] {
            assert!(M::UNITS.contains(M::shown_unit(system)));
        }
        assert!(M::BARE.is_none_or(|unit| M::unit(unit).is_some()));
    }
    check::<Length>();
    check::<Area>();
    check::<Volume>();
    check::<Mass>();
    check::<ArealMass>();
    check::<Density>();
    check::<Force>();
    check::<Moment>();
    check::<SecondMoment>();
    check::<ForcePerLength>();
    check::<Stress>();
    check::<Temperature>();
    check::<TemperatureDifference>();
    check::<HeatingRate>();
    check::<Diffusivity>();
    check::<Expansion>();
    check::<Duration>();
    check::<Angle>();
    check::<Ratio>();
}

#[test]
fn drills_fall_as_their_numbers_rise() {
    assert!(NUMBER_DRILLS.windows(2).all(|pair| pair[0] > pair[1]));
    assert!(LETTER_DRILLS.windows(2).all(|pair| pair[0] < pair[1]));
    let (a, one) = (Drill::Letter('A'), Drill::Number(1));
    assert!(a.inches() > one.inches());
}

fn there_and_back<M: Measure>(value: f64) {
    for unit in M::UNITS {
        let text = format!("{value} {}", unit.symbol);
        let measure = M::parse(&text).unwrap();
        let back = unit.of_si(measure.si());
        assert!((back - value).abs() <= 1e-9 * (value.abs() + unit.offset), "{text} -> {back}");
        let json = serde_json::to_value(text.parse::<Entered<M>>().unwrap()).unwrap();
        assert_eq!(json, serde_json::Value::String(text));
    }
}

proptest! {
    #[test]
    fn text_and_units_go_there_and_back(value in -1e6..1e6_f64) {
        there_and_back::<Length>(value);
        there_and_back::<Force>(value);
        there_and_back::<Stress>(value);
        there_and_back::<Temperature>(value);
        there_and_back::<ArealMass>(value);
        there_and_back::<Moment>(value);
        there_and_back::<Volume>(value);
        there_and_back::<Expansion>(value);
    }

    #[test]
    fn fractions_go_there_and_back(whole in 0_u32..100, over in 1_u32..64) {
        let expected = f64::from(whole) + f64::from(over) / 64.0;
        let (spaced, hyphened) = (format!("{whole} {over}/64 in"), format!("-{whole}-{over}/64"));
        prop_assert!(close(inches(&spaced), expected));
        prop_assert!(close(inches(&hyphened), -expected));
    }

    #[test]
    fn what_is_shown_reads_back_to_the_digits_shown(inches in 0.001..100.0_f64) {
        for system in [System::Inch, System::Metric] {
            let length = Length::from_unit(inches, "in").unwrap();
            let shown = Length::parse(&length.show(system)).unwrap();
            prop_assert!((shown.si() / length.si() - 1.0).abs() <= 5e-5);
            prop_assert!((length.value_in(system) / Length::shown_unit(system).of_si(length.si()) - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn decimals_agree_with_the_standard_library(value in -1e6..1e6_f64, digits in 1_u8..9) {
        let ours: f64 = decimal(value, digits).parse().unwrap();
        let theirs: f64 = format!("{value:.*e}", usize::from(digits) - 1).parse().unwrap();
        // Digits before the point are never cut; halves may round either way.
        let step = 10_f64.powi(value.abs().log10().floor() as i32 - i32::from(digits) + 1).min(1.0);
        let whole = value.abs() >= 10_f64.powi(i32::from(digits));
        let expected = if whole { value.round() } else { theirs };
        prop_assert!((ours - expected).abs() <= step * 1e-6 || (ours - value).abs() <= step * 0.500_001);
    }

    #[test]
    fn no_text_panics_or_gives_more_than_a_finite_number(text in "\\PC{0,80}") {
        for result in [Length::parse(&text).map(Length::si), Temperature::parse(&text).map(Temperature::si)] {
            prop_assert!(result.map_or(true, f64::is_finite));
        }
    }

    #[test]
    fn no_text_made_of_our_own_characters_panics(text in "[-+−0-9./ eE#½\"'inmftoNAZ,]{0,20}") {
        prop_assert!(Length::parse(&text).map_or(true, |length| length.si().is_finite()));
    }
}
