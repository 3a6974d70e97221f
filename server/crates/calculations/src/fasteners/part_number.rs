//! `part-number`: reads and writes solid-rivet designations.
//!
//! ```text
//! designation = ("MS20470" | "MS20426" | "AN470" | "AN426") alloy diameter "-" length
//! alloy       = "A" | "AD" | "B" | "D" | "DD"
//! diameter    = thirty-seconds of an inch          length = sixteenths, half sizes as 3.5
//! ```

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System};
use shared_types::worksheet::Quantity;

use crate::Calculation;
use crate::catalogue::heads::Head;
use crate::catalogue::rivets::{Alloy, Dash};
use crate::catalogue::{INCH, Origin};
use crate::drawing::{Anchor, Class, Drawing};
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;

const DIAMETER_RULE: Origin = Origin::Read("NAVEDTRA 14315 ch 3 (text under Table 3-1)");
const LENGTH_RULE: Origin =
    Origin::Read("NAVEDTRA 14315 ch 3 (text under Table 3-1); half sizes: AC 43.13-1B p 4-16 par 4-57a(4)");
/// The longest length dash that is read.
const LONGEST: f64 = 64.0;
/// The longest text that is looked at.
const LONGEST_TEXT: usize = 40;

/// The input of `part-number`: a designation to read, or a rivet to write one for.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PartNumber {
    /// The designation to read: `MS20470AD4-5`.
    #[serde(default)]
    part_number: Option<String>,
    /// The head to write a designation for.
    #[serde(default)]
    head: Option<Head>,
    /// The alloy to write a designation for.
    #[serde(default)]
    alloy: Option<Alloy>,
    /// The shank diameter to write a designation for.
    #[serde(default)]
    diameter: Option<Entered<Length>>,
    /// The length to write a designation for.
    #[serde(default)]
    length: Option<Entered<Length>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// The result of `part-number`.
#[derive(Debug, Serialize)]
pub struct PartNumberResult {
    /// In the MS form.
    part_number: String,
    /// In the older AN form.
    also: String,
    head: Head,
    head_words: &'static str,
    /// `2117-T4`
    alloy: &'static str,
    /// `AD`
    alloy_code: &'static str,
    /// Alloy and temper once driven.
    driven: &'static str,
    marking: &'static str,
    diameter: Quantity,
    diameter_dash: u8,
    length: Quantity,
    length_dash: f64,
    /// From the drawings' convention, from memory.
    length_measured: &'static str,
    head_diameter: Quantity,
    head_height: Quantity,
}

/// A designation, read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Designation {
    pub head: Head,
    pub alloy: Alloy,
    pub diameter: Dash,
    /// In sixteenths of an inch, whole or half.
    pub length: f64,
}

impl Designation {
    /// In the MS form.
    pub fn ms(&self) -> String {
        self.written(match self.head {
            Head::Universal => "MS20470",
            Head::Countersunk => "MS20426",
        })
    }

    /// In the older AN form.
    pub fn an(&self) -> String {
        self.written(match self.head {
            Head::Universal => "AN470",
            Head::Countersunk => "AN426",
        })
    }

    fn written(&self, style: &str) -> String {
        format!("{style}{}{}-{}", self.alloy.row().code, self.diameter.number(), self.length)
    }
}

/// What is wrong with a designation, and at which character, counted from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Misread {
    pub at: usize,
    pub reason: String,
    pub accepted: String,
}

/// Reads a designation, letter by letter; white space is passed over.
pub(super) fn read(text: &str) -> Result<Designation, Misread> {
    let mut reader = Reader::new(text);
    let head = reader.head()?;
    let alloy = reader.alloy()?;
    let diameter = reader.diameter()?;
    reader.hyphen()?;
    let length = reader.length()?;
    reader.end()?;
    Ok(Designation { head, alloy, diameter, length })
}

/// The letters of a designation in capitals, each with its place in the text.
struct Reader {
    letters: Vec<(usize, char)>,
    next: usize,
    /// One past the last character.
    after: usize,
}

impl Reader {
    fn new(text: &str) -> Self {
        let places = text.chars().enumerate().map(|(place, letter)| (place + 1, letter));
        let letters = places.filter(|(_, letter)| !letter.is_whitespace());
        // A dash that a keyboard made long is still a dash.
        let plain = |letter: char| match letter {
            '–' | '—' | '−' | '‐' | '‑' => '-',
            letter => letter.to_ascii_uppercase(),
        };
        Self {
            letters: letters.map(|(place, letter)| (place, plain(letter))).collect(),
            next: 0,
            after: text.chars().count() + 1,
        }
    }

    fn peek(&self) -> Option<char> {
        self.letters.get(self.next).map(|letter| letter.1)
    }

    fn misread(&self, what: &str, accepted: impl Into<String>) -> Misread {
        let (at, reason) = match self.letters.get(self.next) {
            Some((at, letter)) => (*at, format!("`{letter}` is not {what}")),
            None => (self.after, format!("ends where {what} should be")),
        };
        Misread { at, reason: format!("at character {at}: {reason}"), accepted: accepted.into() }
    }

    /// Takes as many letters as agree with `word`; true when all do.
    fn word(&mut self, word: &str) -> bool {
        let letters = self.letters[self.next..].iter().map(|letter| letter.1);
        let agree = letters.zip(word.chars()).take_while(|(one, two)| one == two).count();
        if agree == word.chars().count() {
            self.next += agree;
            return true;
        }
        false
    }

    fn head(&mut self) -> Result<Head, Misread> {
        const CODES: [(&str, Head); 4] = [
            ("MS20470", Head::Universal),
            ("AN470", Head::Universal),
            ("MS20426", Head::Countersunk),
            ("AN426", Head::Countersunk),
        ];
        if let Some((_, head)) = CODES.iter().find(|(code, _)| self.word(code)) {
            return Ok(*head);
        }
        // Point at the first letter that agrees with none of them.
        let agree = |code: &str| {
            let letters = self.letters.iter().map(|letter| letter.1);
            letters.zip(code.chars()).take_while(|(one, two)| one == two).count()
        };
        self.next = CODES.iter().map(|(code, _)| agree(code)).max().unwrap_or(0);
        Err(self.misread("part of a head code", "MS20470, MS20426, AN470, AN426"))
    }

    fn alloy(&mut self) -> Result<Alloy, Misread> {
        // The longer codes first: AD begins with A.
        for alloy in [Alloy::AD, Alloy::DD, Alloy::A, Alloy::B, Alloy::D] {
            if self.word(alloy.row().code) {
                return Ok(alloy);
            }
        }
        Err(self.misread("an alloy code", "A, AD, B, D, DD"))
    }

    /// The digits that follow without a gap, up to two.
    fn digits(&mut self) -> Option<u8> {
        let from = self.next;
        let start = self.letters.get(from)?.0;
        let mut value = None;
        while let Some(digit) = self.peek().and_then(|letter| letter.to_digit(10)) {
            let place = self.letters.get(self.next)?.0;
            if self.next - from == 2 || place - start != self.next - from {
                break;
            }
            let digit = u8::try_from(digit).ok()?;
            value = Some(value.unwrap_or(0) * 10 + digit);
            self.next += 1;
        }
        value
    }

    fn diameter(&mut self) -> Result<Dash, Misread> {
        let from = self.next;
        let accepted = "a diameter dash in thirty-seconds of an inch: 2, 3, 4, 5, 6, 8, 10, 12";
        let Some(number) = self.digits() else {
            return Err(self.misread("a diameter dash", accepted));
        };
        Dash::new(number).ok_or_else(|| {
            self.next = from;
            self.misread("the start of a diameter that rivets have", accepted)
        })
    }

    fn hyphen(&mut self) -> Result<(), Misread> {
        if self.word("-") { Ok(()) } else { Err(self.misread("the hyphen before the length", "-")) }
    }

    fn length(&mut self) -> Result<f64, Misread> {
        let from = self.next;
        let accepted = "a length dash in sixteenths of an inch: 2 to 64, half sizes as 3.5";
        let Some(whole) = self.digits() else {
            return Err(self.misread("a length dash", accepted));
        };
        let half = if self.word(".") {
            if self.word("5") {
                0.5
            } else if self.word("0") {
                0.0
            } else {
                return Err(self.misread("a half size", "5: half sizes are written .5"));
            }
        } else {
            0.0
        };
        let length = f64::from(whole) + half;
        if (2.0..=LONGEST).contains(&length) {
            return Ok(length);
        }
        self.next = from;
        Err(self.misread("the start of a length that rivets have", accepted))
    }

    fn end(&mut self) -> Result<(), Misread> {
        match self.peek() {
            None => Ok(()),
            Some(_) => Err(self.misread("expected after the length", "nothing more")),
        }
    }
}

impl Calculation for PartNumber {
    const KIND: &'static str = "part-number";
    const ABOUT: &'static str =
        "Reads and writes solid-rivet designations of MS20470/AN470 and MS20426/AN426.";
    const EXAMPLE: &'static str = r#"{ "part_number": "MS20470AD4-5" }"#;
    type Output = PartNumberResult;

    fn work(&self, working: &mut Working) -> Result<PartNumberResult, Refused> {
        working.show_in(self.units);
        let designation = self.designation()?;
        let (diameter, length) = (designation.diameter.diameter(), designation.length / 16.0 * INCH);
        lines(working, &designation);
        cautions(working, designation.alloy);
        working.draw(picture(&designation));
        let row = designation.alloy.row();
        let size = designation.head.size(diameter);
        let (head_words, length_measured) = match designation.head {
            Head::Universal => ("universal, protruding", "underside of head to end of shank"),
            Head::Countersunk => ("100 degree countersunk", "overall, head included"),
        };
        Ok(PartNumberResult {
            part_number: designation.ms(),
            also: designation.an(),
            head: designation.head,
            head_words,
            alloy: row.name,
            alloy_code: row.code,
            driven: row.driven,
            marking: row.marking,
            diameter: working.length(diameter),
            diameter_dash: designation.diameter.number(),
            length: working.length(length),
            length_dash: designation.length,
            length_measured,
            head_diameter: working.length(size.diameter),
            head_height: working.length(size.height),
        })
    }
}

impl PartNumber {
    fn designation(&self) -> Result<Designation, Refused> {
        let Some(text) = &self.part_number else {
            return self.wanted();
        };
        let mut check = Check::default();
        let others = [
            ("head", self.head.is_some()),
            ("alloy", self.alloy.is_some()),
            ("diameter", self.diameter.is_some()),
            ("length", self.length.is_some()),
        ];
        for (field, _) in others.into_iter().filter(|other| other.1) {
            check.refuse(field, "stands beside a designation to read", "`part_number` alone");
        }
        if text.len() > LONGEST_TEXT {
            check.refuse("part_number", "is too long", format!("up to {LONGEST_TEXT} bytes"));
        }
        check.done()?;
        read(text).map_err(|misread| Refused::one("part_number", misread.reason, misread.accepted))
    }

    /// The designation of the rivet that is described.
    fn wanted(&self) -> Result<Designation, Refused> {
        use shared_types::quantity::Measure as _;
        let mut check = Check::default();
        let missing = "a value, or `part_number` to read";
        let (Some(alloy), Some(diameter), Some(length)) = (self.alloy, &self.diameter, &self.length) else {
            for (field, given) in [
                ("alloy", self.alloy.is_some()),
                ("diameter", self.diameter.is_some()),
                ("length", self.length.is_some()),
            ] {
                if !given {
                    check.refuse(field, "is missing", missing);
                }
            }
            check.done()?;
            return Err(Refused::one("part_number", "is missing", missing));
        };
        let dash = Dash::of(diameter.si());
        if dash.is_none() {
            check.refuse("diameter", "is not a rivet diameter", Dash::NAMES);
        }
        let metres = check.within("length", length, Accepted::si(INCH / 8.0, 4.0 * INCH));
        let halves = metres / INCH * 32.0;
        if (halves - halves.round()).abs() > 0.02 {
            check.refuse(
                "length",
                "is not a whole number of 1/32 in",
                "multiples of 1/16 in, half sizes of 1/32 in",
            );
        }
        check.done()?;
        let diameter =
            dash.ok_or_else(|| Refused::one("diameter", "is not a rivet diameter", Dash::NAMES))?;
        Ok(Designation { head: self.head.unwrap_or_default(), alloy, diameter, length: halves.round() / 2.0 })
    }
}

fn lines(working: &mut Working, designation: &Designation) {
    let dash = designation.diameter.number();
    let value = working.length(designation.diameter.diameter());
    working.line(
        "D",
        "shank diameter",
        "first dash × 1/32 in",
        format!("{dash} × 1/32 in"),
        value,
        DIAMETER_RULE.source(),
    );
    let value = working.length(designation.length / 16.0 * INCH);
    let numbers = format!("{} × 1/16 in", designation.length);
    working.line("L", "length", "second dash × 1/16 in", numbers, value, LENGTH_RULE.source());
    let size = designation.head.size(designation.diameter.diameter());
    let value = working.length(size.diameter);
    let numbers = format!("{} ± {}", working.len(size.diameter), working.len(size.tolerance));
    working.line("A", "manufactured head diameter", "table", numbers, value, size.origin.source());
    let value = working.length(size.height);
    let numbers = working.len(size.height);
    working.line("H", "manufactured head height", "table", numbers, value, size.origin.source());
}

fn cautions(working: &mut Working, alloy: Alloy) {
    match alloy {
        Alloy::A => working.caution(
            "soft-alloy",
            "1100 rivets: nonstructural parts of soft alloys (1100, 3003, 5052) only (AC 43.13-1B par \
             7-2c; NAVEDTRA 14315 ch 3).",
        ),
        Alloy::B => working.caution(
            "magnesium",
            "5056 rivets are the only alloy used in magnesium structure (AC 43.13-1B par 7-2d).",
        ),
        Alloy::D | Alloy::DD => working.caution(
            "cold-storage",
            "2017 and 2024 rivets are driven within 20 minutes after quenching, or from cold storage at \
             or below 32 °F, which delays ageing 24 hours (NAVEDTRA 14315 ch 3).",
        ),
        Alloy::AD => {}
    }
}

/// The rivet from the side to scale, and its head with the marking.
fn picture(designation: &Designation) -> Drawing {
    let d = designation.diameter.diameter();
    let size = designation.head.size(d);
    let length = designation.length / 16.0 * INCH;
    let high = match designation.head {
        Head::Universal => size.height + length,
        Head::Countersunk => length,
    };
    let scale = (150.0 / high).min(110.0 / size.diameter);
    let (r, a, h, l) = (d / 2.0 * scale, size.diameter / 2.0 * scale, size.height * scale, length * scale);
    let mut drawing =
        Drawing::new(320.0, high * scale + 40.0, "The rivet from the side, and its head from above");
    let (x, top) = (80.0, 16.0);
    match designation.head {
        Head::Universal => {
            let y = top + h;
            let outline = [
                (x - a, y),
                (x - a * 0.8, y - h * 0.7),
                (x - a * 0.35, y - h),
                (x + a * 0.35, y - h),
                (x + a * 0.8, y - h * 0.7),
                (x + a, y),
            ];
            drawing.polygon(Class::Fastener, &outline);
            drawing.rect(Class::Fastener, x - r, y, 2.0 * r, l);
        }
        Head::Countersunk => {
            drawing
                .polygon(Class::Fastener, &[(x - a, top), (x - r, top + h), (x + r, top + h), (x + a, top)]);
            drawing.rect(Class::Fastener, x - r, top + h, 2.0 * r, l - h);
        }
    }
    let (x, y) = (230.0, top + a.max(20.0));
    drawing.ring(Class::Fastener, x, y, a);
    let m = a * 0.3;
    match designation.alloy {
        Alloy::A => {}
        Alloy::AD => drawing.ring(Class::Ink, x, y, m * 0.4),
        Alloy::D => drawing.disc(Class::Ink, x, y, m * 0.4),
        Alloy::B => {
            drawing.line(Class::Ink, (x - m, y), (x + m, y));
            drawing.line(Class::Ink, (x, y - m), (x, y + m));
        }
        Alloy::DD => {
            drawing.line(Class::Ink, (x - m, y - m * 0.4), (x + m, y - m * 0.4));
            drawing.line(Class::Ink, (x - m, y + m * 0.4), (x + m, y + m * 0.4));
        }
    }
    let words = designation.alloy.row().marking;
    drawing.text(Class::Ink, (x, y + a + 14.0), 11.0, Anchor::Middle, words);
    drawing
}
