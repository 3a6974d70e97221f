//! `fasteners-per-inch`: AC 43.13-1B tables 4-9 to 4-11 with their reductions.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, Measure, System};
use shared_types::worksheet::Quantity;

use super::parts::THICKNESS;
use crate::Calculation;
use crate::catalogue::INCH;
use crate::catalogue::Origin;
use crate::catalogue::allowables::{Column, Entry, WidthTable};
use crate::catalogue::rivets::Dash;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;

const NOTES: Origin = Origin::Read("AC 43.13-1B (9/8/98, Chg 1 9/27/01) tables 4-9 to 4-11 notes a-c");
const ROUNDING: Origin = Origin::Read(
    "AC 43.13-1B (9/8/98, Chg 1 9/27/01) fig 4-20 p 4-41 and par 4-58g p 4-27: rounded up at each step",
);

/// The input of `fasteners-per-inch`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FastenersPerInch {
    /// Which table: it depends on the sheet's alloy.
    table: WidthTable,
    /// The sheet's thickness.
    thickness: Entered<Length>,
    /// Rivet or bolt.
    fastener: Fastener,
    /// The rivet's diameter; an AN-3 bolt needs none.
    #[serde(default)]
    diameter: Option<Entered<Length>>,
    /// The width over which the sheet is cut, or of the flange.
    width: Entered<Length>,
    /// Which of the tables' notes applies.
    #[serde(default)]
    case: Case,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// The tables' fasteners.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Fastener {
    /// A 2117-T4 (AD) protruding-head rivet.
    Rivet,
    /// An AN-3 bolt.
    Bolt,
}

/// The cases of the tables' notes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Case {
    /// The tabulated number.
    #[default]
    General,
    /// Stringers in the upper surface of a wing, or in a fuselage: 80 percent.
    Stringer,
    /// Intermediate frames: 60 percent.
    Frame,
    /// Single lap sheet joints: 75 percent.
    SingleLap,
}

impl Case {
    const fn share(self) -> (f64, &'static str) {
        match self {
            Self::General => (1.0, "general"),
            Self::Stringer => (0.8, "stringers in the upper surface of a wing or in a fuselage"),
            Self::Frame => (0.6, "intermediate frames"),
            Self::SingleLap => (0.75, "single lap sheet joints"),
        }
    }
}

/// The result of `fasteners-per-inch`.
#[derive(Debug, Serialize)]
pub struct FastenersPerInchResult {
    /// The tabulated number.
    tabulated: Quantity,
    /// The thickness that the table was entered with.
    entered_at: Quantity,
    /// With the case's share.
    per_inch: Quantity,
    /// Fasteners for the width, on each side of the joint or cut.
    count: u32,
}

impl Calculation for FastenersPerInch {
    const KIND: &'static str = "fasteners-per-inch";
    const ABOUT: &'static str =
        "How many AD rivets or AN-3 bolts per inch of width a sheet needs, by AC 43.13-1B.";
    const EXAMPLE: &'static str = r#"{
        "table": "4-9", "thickness": "0.051 in", "fastener": "rivet",
        "diameter": "5/32 in", "width": "2 in", "case": "general"
    }"#;
    type Output = FastenersPerInchResult;

    fn work(&self, working: &mut Working) -> Result<FastenersPerInchResult, Refused> {
        working.show_in(self.units);
        let (column, sheet, width) = self.check()?;
        let (listed, tabulated) = self.look_up(working, column, sheet)?;
        let (share, case) = self.case.share();
        let per_inch = tabulated * share;
        let value = per_inch_value(working, per_inch);
        let meaning = format!("per inch of width, case: {case}");
        working.line(
            "n'",
            meaning,
            "share × n",
            format!("{share} × {tabulated}"),
            value.clone(),
            NOTES.source(),
        );
        let inches = width / INCH;
        let whole = ceil(tabulated * inches);
        let count = ceil(whole * share);
        let quantity = working.ratio(count);
        let shown = shared_types::quantity::decimal(inches, 5);
        let numbers = format!("⌈{share} × ⌈{tabulated} × {shown}⌉⌉ = ⌈{share} × {whole}⌉");
        working.line(
            "N",
            "fasteners for the width, each side",
            "⌈share × ⌈n W⌉⌉",
            numbers,
            quantity,
            ROUNDING.source(),
        );
        self.cautions(working, column, listed);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most 40 in by 13 per inch"
        )]
        let count = count as u32;
        Ok(FastenersPerInchResult {
            tabulated: per_inch_value(working, tabulated),
            entered_at: working.length(listed * INCH),
            per_inch: value,
            count,
        })
    }
}

impl FastenersPerInch {
    /// Column, sheet thickness and width in metres.
    fn check(&self) -> Result<(Column, f64, f64), Refused> {
        let mut check = Check::default();
        let sheet = check.within("thickness", &self.thickness, THICKNESS);
        let width = check.within("width", &self.width, Accepted::si(0.05 * INCH, 400.0 * INCH));
        let column = match (self.fastener, &self.diameter) {
            (Fastener::Bolt, None) => Some(Column::Bolt),
            (Fastener::Bolt, Some(diameter)) => {
                if (diameter.si() / INCH - 0.1875).abs() > 0.005 {
                    check.refuse("diameter", "is not that of an AN-3 bolt", "3/16 in, or left out");
                }
                Some(Column::Bolt)
            }
            (Fastener::Rivet, None) => {
                check.refuse("diameter", "is missing", "3/32, 1/8, 5/32, 3/16, 1/4 in");
                None
            }
            (Fastener::Rivet, Some(diameter)) => {
                let dash = Dash::of(diameter.si()).map(Dash::number);
                let listed = dash.filter(|dash| [3, 4, 5, 6, 8].contains(dash));
                if listed.is_none() {
                    check.refuse("diameter", "is not in the tables", "3/32, 1/8, 5/32, 3/16, 1/4 in");
                }
                listed.map(Column::Rivet)
            }
        };
        check.done()?;
        let column = column.ok_or_else(|| Refused::one("diameter", "is missing", "a rivet diameter"))?;
        Ok((column, sheet, width))
    }

    /// The listed thickness, in inches, and the number in the table.
    fn look_up(&self, working: &mut Working, column: Column, sheet: f64) -> Result<(f64, f64), Refused> {
        let refused = || {
            let reason = format!("is thicker than the tables go ({})", self.thickness.text());
            Refused::one("thickness", reason, WidthTable::THICKNESSES)
        };
        let listed = self.table.entry_thickness(sheet / INCH).ok_or_else(refused)?;
        let entry = self.table.entry(listed, column).ok_or_else(refused)?;
        let (tabulated, how) = match entry {
            Entry::Printed(number) => (number, "printed"),
            Entry::ByRule(number) => (number, "by the rule behind the table: this entry was not read"),
            Entry::Dash => {
                let reason = format!("has no entry for that fastener in {}", self.table.name());
                return Err(Refused::one(
                    "diameter",
                    reason,
                    "a diameter that the table gives for that sheet",
                ));
            }
        };
        let value = per_inch_value(working, tabulated);
        let meaning = format!("{}, sheet {listed:.3} in, {how}", self.table.name());
        working.line("n", meaning, "table", tabulated.to_string(), value, self.table.origin().source());
        if let Entry::ByRule(_) = entry {
            working.caution(
                "by-rule",
                "This entry could not be read in our copy. The number is the table's own engineering \
                 rule, rounded as the table is: look it up in a clean copy.",
            );
        }
        Ok((listed, tabulated))
    }

    fn cautions(&self, working: &mut Working, column: Column, listed: f64) {
        working.caution(
            "which-table",
            "Tables 4-9 and 4-10 both name some 2024-T3 clad product: take the table that the data \
             name, and say which was used.",
        );
        if (self.thickness.si() / INCH - listed).abs() > 0.0005 {
            let text = format!(
                "The table does not list {}: the next thicker sheet, {listed:.3} in, is taken, which \
                 asks for more fasteners.",
                self.thickness.text()
            );
            working.caution("next-thicker", text);
        }
        if column == Column::Bolt && self.table == WidthTable::T4_9 && (listed - 0.128).abs() < 1e-9 {
            working.caution(
                "misprint",
                "Copies of Table 4-9 print 3.2 here; 70,000 psi × 0.128 in / 2,126 lb gives 4.2, which is taken.",
            );
        }
    }
}

/// Rounds up, dust forgiven: 4.9 × 10 is 49.
fn ceil(number: f64) -> f64 {
    (number - 1e-9).ceil()
}

fn per_inch_value(working: &mut Working, per_inch: f64) -> Quantity {
    Quantity { unit: "1/in".to_owned(), ..working.ratio(per_inch) }
}
