//! Contrast of every text colour on every ground it is used on, in both themes,
//! read from the token sheet itself. WCAG 2.2, "contrast ratio" and "relative
//! luminance"; the bar of 7:1 is its success criterion 1.4.6.

const TOKENS: &str = include_str!("../../styles/00-tokens.css");

const PAIRS: [(&str, &[&str]); 7] = [
    (
        "--ink",
        &[
            "--ground",
            "--surface",
            "--raised",
            "--sunk",
            "--blue-wash",
            "--good-wash",
            "--bad-wash",
            "--close-wash",
        ],
    ),
    ("--muted", &["--ground", "--surface", "--raised"]),
    ("--blue", &["--ground", "--surface", "--raised", "--blue-wash"]),
    ("--good", &["--surface", "--raised", "--good-wash"]),
    ("--bad", &["--surface", "--raised", "--bad-wash"]),
    ("--close", &["--surface", "--raised", "--close-wash"]),
    ("--on-blue", &["--blue"]),
];

fn theme(start: &str) -> &'static str {
    let from = TOKENS.find(start).unwrap_or_else(|| panic!("no {start} in the tokens"));
    let block = &TOKENS[from..];
    &block[..block.find('}').unwrap()]
}

fn token(theme: &str, name: &str) -> [f64; 3] {
    let at = theme.find(&format!("{name}: #")).unwrap_or_else(|| panic!("no {name}"));
    let hex = &theme[at + name.len() + 3..][..6];
    [0, 2, 4].map(|from| {
        let channel = f64::from(u8::from_str_radix(&hex[from..from + 2], 16).unwrap()) / 255.0;
        if channel <= 0.040_45 { channel / 12.92 } else { ((channel + 0.055) / 1.055).powf(2.4) }
    })
}

fn contrast(one: [f64; 3], two: [f64; 3]) -> f64 {
    let luminance = |[red, green, blue]: [f64; 3]| 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    let (one, two) = (luminance(one), luminance(two));
    (one.max(two) + 0.05) / (one.min(two) + 0.05)
}

#[test]
fn every_text_colour_keeps_seven_to_one_on_every_ground() {
    for theme in
        [theme(":root {"), theme(":root:not([data-theme=\"light\"])"), theme(":root[data-theme=\"dark\"]")]
    {
        for (text, grounds) in PAIRS {
            for ground in grounds {
                let ratio = contrast(token(theme, text), token(theme, ground));
                assert!(ratio >= 7.0, "{text} on {ground}: {ratio:.2}");
            }
        }
    }
}

#[test]
fn black_on_white_is_twenty_one_to_one() {
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
}
