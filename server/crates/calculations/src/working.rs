//! The working: lines that an inspector can check by hand, cautions, a drawing.

use shared_types::quantity::{Force, Length, Measure, Ratio, System};
use shared_types::worksheet::{Caution, Line, Quantity, Source, Verdict};

use crate::drawing::Drawing;
use crate::input::Refused;

/// What stands on every worksheet.
const WORKING_AID: &str = "A working aid, not approved data. The aircraft type's own manuals \
    and data and local rules come first; a licensed person decides.";

/// A worksheet while it is being worked out.
#[derive(Debug, Default)]
pub struct Working {
    system: System,
    lines: Vec<Line>,
    cautions: Vec<Caution>,
    drawing: Option<String>,
    beyond_number: bool,
}

impl Working {
    /// Shows values in a system of units from here on.
    pub fn show_in(&mut self, system: System) {
        self.system = system;
    }

    /// The system of units that values are shown in.
    #[must_use]
    pub fn system(&self) -> System {
        self.system
    }

    /// An SI number as a result. A number that is not finite makes the worksheet refused.
    #[must_use]
    pub fn value<M: Measure>(&mut self, si: f64) -> Quantity {
        match M::from_si(si) {
            Ok(measure) => measure.quantity(self.system),
            Err(_) => {
                self.beyond_number = true;
                Quantity { value: 0.0, unit: M::shown_unit(self.system).symbol.to_owned() }
            }
        }
    }

    /// An SI number for a line's text, in the reader's unit.
    #[must_use]
    pub fn text<M: Measure>(&self, si: f64) -> String {
        M::from_si(si).map_or_else(|_| "beyond number".to_owned(), |it| it.show(self.system))
    }

    /// A length in metres as a result.
    #[must_use]
    pub fn length(&mut self, metres: f64) -> Quantity {
        self.value::<Length>(metres)
    }

    /// A length in metres for a line's text.
    #[must_use]
    pub fn len(&self, metres: f64) -> String {
        self.text::<Length>(metres)
    }

    /// A force in newtons as a result.
    #[must_use]
    pub fn force(&mut self, newtons: f64) -> Quantity {
        self.value::<Force>(newtons)
    }

    /// A plain ratio as a result.
    #[must_use]
    pub fn ratio(&mut self, ratio: f64) -> Quantity {
        self.value::<Ratio>(ratio)
    }

    /// Adds a line: `formula` and `numbers` are the right-hand sides, after `symbol =`.
    pub fn line(
        &mut self,
        symbol: &str,
        meaning: impl Into<String>,
        formula: &str,
        numbers: impl AsRef<str>,
        value: Quantity,
        source: Source,
    ) -> &mut Line {
        self.lines.push(Line {
            symbol: symbol.to_owned(),
            meaning: meaning.into(),
            formula: [symbol, " = ", formula].concat(),
            substituted: [symbol, " = ", numbers.as_ref()].concat(),
            value,
            limit: None,
            verdict: None,
            source,
        });
        let last = self.lines.len() - 1;
        &mut self.lines[last]
    }

    /// Adds a caution, once per code.
    pub fn caution(&mut self, code: &str, text: impl Into<String>) {
        if self.cautions.iter().all(|caution| caution.code != code) {
            self.cautions.push(Caution { code: code.to_owned(), text: text.into() });
        }
    }

    /// Sets the drawing.
    pub fn draw(&mut self, drawing: Drawing) {
        self.drawing = Some(drawing.finish());
    }

    /// Lines, cautions and drawing, the standing caution first.
    ///
    /// # Errors
    /// A result was not a finite number.
    pub(crate) fn finish(mut self) -> Result<Finished, Refused> {
        if self.beyond_number {
            return Err(Refused::one(
                "",
                "leads to a result that is not a finite number",
                "measurements as they occur on an aircraft",
            ));
        }
        let standing = Caution { code: "working-aid".to_owned(), text: WORKING_AID.to_owned() };
        self.cautions.insert(0, standing);
        Ok(Finished { lines: self.lines, cautions: self.cautions, drawing: self.drawing })
    }
}

/// The parts of a worksheet that every kind has.
pub(crate) struct Finished {
    pub lines: Vec<Line>,
    pub cautions: Vec<Caution>,
    pub drawing: Option<String>,
}

/// A published source.
#[must_use]
pub fn published(document: &str) -> Source {
    Source::Published(document.to_owned())
}

/// A source that was remembered and not looked up.
#[must_use]
pub fn from_memory(document: &str) -> Source {
    Source::FromMemory(document.to_owned())
}

/// Within the limit or outside it.
#[must_use]
pub fn verdict(within: bool) -> Verdict {
    if within { Verdict::Within } else { Verdict::Outside }
}

/// Whether `value` stays at or below `most`, floating-point dust forgiven.
#[must_use]
pub fn stays(value: f64, most: f64) -> bool {
    value <= most + 1e-9 * most.abs()
}

/// Whether `value` reaches `least`, floating-point dust forgiven.
#[must_use]
pub fn reaches(value: f64, least: f64) -> bool {
    value >= least - 1e-9 * least.abs()
}
