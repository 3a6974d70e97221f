//! The tables as one list of things, each with source and mark: what people search and pick from.

use std::ops::RangeInclusive;

use shared_types::catalogue::{Catalogue, Group, Mark, Row};
use shared_types::quantity::{LETTER_DRILLS, NUMBER_DRILLS, decimal};

use super::heads::Head;
use super::holes::DrillSeries;
use super::rivets::{Alloy, Dash};
use super::sheets::{Nature, SHEETS};
use super::washers::WASHERS;
use super::{KSI, Origin};
use crate::laminates::shelf::{self, Form};

/// The edition of the list; raised by hand with the tables. The laminates' table has its own.
const EDITION: &str = "fasteners 2026-1";

/// Number drills that were read in published hole tables; the others are from memory.
const DRILLS_READ: [usize; 6] = [52, 41, 37, 30, 22, 12];

/// The whole list: rivets, washers, drills, alloys, sheets, laminate materials.
#[must_use]
pub fn catalogue() -> Catalogue {
    let rows = rivets().chain(washers()).chain(drills()).chain(alloys()).chain(sheets()).chain(laminates());
    Catalogue { version: format!("{EDITION}, {}", shelf::EDITION), rows: rows.collect() }
}

impl Origin {
    fn marked(self) -> (String, Mark) {
        match self {
            Self::Read(document) => (document.to_owned(), Mark::Read),
            Self::Memory(document) => (document.to_owned(), Mark::Memory),
            Self::Typical(what) => (what.to_owned(), Mark::Typical),
            Self::Practice => ("common practice, no source".to_owned(), Mark::Practice),
        }
    }
}

fn row(group: Group, name: String, also: String, text: String, (source, mark): (String, Mark)) -> Row {
    Row { group, name, also, text, source, mark }
}

/// The lengths that are listed, in sixteenths of an inch: common practice, no source.
const fn lengths(dash: Dash) -> RangeInclusive<u8> {
    match dash.number() {
        ..=2 => 2..=8,
        3 => 2..=12,
        4 => 3..=16,
        5 | 6 => 4..=16,
        _ => 6..=24,
    }
}

fn rivets() -> impl Iterator<Item = Row> {
    let heads = [(Head::Universal, "MS20470", "AN470"), (Head::Countersunk, "MS20426", "AN426")];
    heads.into_iter().flat_map(|(head, part, older)| {
        Alloy::ALL.into_iter().flat_map(move |alloy| {
            Dash::ALL.into_iter().flat_map(move |dash| {
                lengths(dash).map(move |length| {
                    let it = alloy.row();
                    let size = format!("{}{}-{length}", it.code, dash.number());
                    let text = format!(
                        "solid rivet, {} head, {}, {} × {} in; on the head: {}",
                        head.name(),
                        it.name,
                        dash.written().trim_end_matches(" in"),
                        sixteenths(length),
                        it.marking
                    );
                    let (document, mark) = it.origin.marked();
                    let source = format!("{document}; which lengths are listed: common practice, no source");
                    row(Group::Rivet, format!("{part}{size}"), format!("{older}{size}"), text, (source, mark))
                })
            })
        })
    })
}

/// A length as people write it: `5/16`, `1/2`, `1 1/4`.
fn sixteenths(length: u8) -> String {
    let (whole, part) = (length / 16, length % 16);
    let halvings = part.trailing_zeros().min(4);
    match (whole, part) {
        (whole, 0) => whole.to_string(),
        (0, part) => format!("{}/{}", part >> halvings, 16_u8 >> halvings),
        (whole, part) => format!("{whole} {}/{}", part >> halvings, 16_u8 >> halvings),
    }
}

fn washers() -> impl Iterator<Item = Row> {
    WASHERS.iter().map(|washer| {
        let mut text = format!("flat washer, inside {} in, outside {} in", washer.inside, washer.outside);
        if let Some(thickness) = washer.thickness {
            text.push_str(&format!(", {thickness} in thick"));
        }
        if let Some(light) = washer.light {
            text.push_str(&format!("; light {}L: {light} in thick", washer.part));
        }
        row(Group::Washer, washer.part.to_owned(), washer.also.to_owned(), text, washer.origin.marked())
    })
}

fn drills() -> impl Iterator<Item = Row> {
    const TABLE: &str = "ASME B94.11M twist drill sizes";
    let numbers = (1..).zip(NUMBER_DRILLS).map(|(number, inches)| {
        let mark = if DRILLS_READ.contains(&number) { Mark::Read } else { Mark::Memory };
        drill(format!("#{number}"), inches, TABLE, mark)
    });
    let letters = ('A'..='Z')
        .zip(LETTER_DRILLS)
        .map(|(letter, inches)| drill(letter.to_string(), inches, TABLE, Mark::Memory));
    let fractions = (4_u8..=32).map(|part| {
        let halvings = part.trailing_zeros().min(6);
        let name = format!("{}/{} in", part >> halvings, 64_u8 >> halvings);
        drill(name, f64::from(part) / 64.0, "the name is the size", Mark::Practice)
    });
    numbers.chain(letters).chain(fractions)
}

/// A drill, with the rivets whose hole it makes.
fn drill(name: String, inches: f64, source: &str, mark: Mark) -> Row {
    let mut text = format!("drill {name}, {} in, {} mm", decimal(inches, 5), decimal(inches * 25.4, 4));
    let mut source = source.to_owned();
    let series = [
        (DrillSeries::Tight, "tight"),
        (DrillSeries::Strength, "strength tables'"),
        (DrillSeries::Shop, "shop"),
    ];
    for (series, word) in series {
        for dash in Dash::ALL {
            let Some(hole) = series.drill(dash).filter(|hole| hole.drill == name) else { continue };
            text.push_str(&format!("; {word} hole for a {} rivet", dash.written()));
            let (document, mark) = hole.origin.marked();
            source.push_str(&format!("; {word} hole: {document} ({})", mark.words()));
        }
    }
    row(Group::Drill, name, String::new(), text, (source, mark))
}

fn alloys() -> impl Iterator<Item = Row> {
    Alloy::ALL.into_iter().map(|alloy| {
        let it = alloy.row();
        let mut text = format!(
            "rivet alloy {}, {} once driven, {} ksi in shear; on the head: {}",
            it.name, it.driven, it.shear_ksi, it.marking
        );
        if alloy.needs_cold_storage() {
            text.push_str("; driven soon after heat treatment, or kept cold");
        }
        let ((marking, mark), (shear, shear_mark)) = (it.origin.marked(), it.shear_origin.marked());
        let mark = if mark == shear_mark { mark } else { Mark::PartlyRead };
        let source = format!("alloy and head: {marking}; shear: {shear} ({})", shear_mark.words());
        row(Group::Alloy, it.code.to_owned(), it.name.to_owned(), text, (source, mark))
    })
}

fn sheets() -> impl Iterator<Item = Row> {
    SHEETS.iter().map(|sheet| {
        let ksi = |stress: f64| decimal(stress / KSI, 3);
        let what = if sheet.nature == Nature::Metal { "metal sheet" } else { "laminate" };
        let text = format!(
            "{what}: tension {} ksi, yield {} ksi, shear {} ksi, bearing at e/D 2 {} ksi",
            ksi(sheet.tension),
            ksi(sheet.yielding),
            ksi(sheet.shear),
            ksi(sheet.bearing[1])
        );
        row(Group::Sheet, sheet.name.to_owned(), String::new(), text, sheet.origin.marked())
    })
}

fn laminates() -> impl Iterator<Item = Row> {
    shelf::rows().iter().map(|it| {
        let group = match it.form {
            Form::Cloth => Group::Cloth,
            Form::Mat => Group::Mat,
            Form::Fibre => Group::Fibre,
            Form::Resin => Group::Resin,
            Form::Adhesive => Group::Adhesive,
            Form::Core => Group::Core,
            Form::Metal => Group::Sheet,
            Form::Unidirectional | Form::Fabric | Form::MatPly => Group::Ply,
        };
        let figures = [
            (it.areal_g_m2, "g/m²"),
            (it.thickness_mm, "mm thick"),
            (it.modulus().map(|mpa| mpa / 1000.0), "GPa along the fibre"),
            (it.density_kg_m3, "kg/m³"),
        ];
        let figures =
            figures.into_iter().filter_map(|(value, unit)| Some(format!("{} {unit}", decimal(value?, 5))));
        let parts = [it.weave_or_form.clone()].into_iter().chain(figures).chain([it.note.clone()]);
        let text = parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
        let (document, how) = it.origin();
        let mark = match how {
            "read" => Mark::Read,
            "memory" => Mark::Memory,
            _ => Mark::PartlyRead,
        };
        let how = if mark == Mark::PartlyRead { format!(" ({how})") } else { String::new() };
        let source = format!("{document}{how}; typical, no allowable");
        row(group, it.name.clone(), String::new(), text, (source, mark))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(name: &str) -> Row {
        catalogue().rows.into_iter().find(|row| row.name == name).unwrap()
    }

    #[test]
    fn every_row_has_its_source_and_its_name_once_in_its_group() {
        let Catalogue { version, rows } = catalogue();
        assert_eq!(version, "fasteners 2026-1, materials 2025-1");
        assert!(rows.iter().all(|row| !row.source.is_empty() && !row.text.is_empty()));
        let mut names: Vec<_> = rows.iter().map(|row| (row.group, &row.name)).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), rows.len());
        for group in Group::ALL {
            assert!(rows.iter().any(|row| row.group == group), "{group:?}");
        }
    }

    #[test]
    fn rows_say_what_the_tables_say() {
        let rivet = find("MS20470AD4-5");
        assert_eq!(rivet.also, "AN470AD4-5");
        assert_eq!(
            rivet.text,
            "solid rivet, universal head, 2117-T4, 1/8 × 5/16 in; on the head: indented dimple"
        );
        assert_eq!(
            find("MS20426D8-20").text.split(", ").nth(3),
            Some("1/4 × 1 1/4 in; on the head: raised teat (dot)")
        );
        assert!(find("AN960-4").text.ends_with("light AN960-4L: 0.016 in thick"));
        let drill = find("#30");
        assert!(drill.text.starts_with("drill #30, 0.1285 in, 3.264 mm"), "{}", drill.text);
        assert!(drill.text.contains("shop hole for a 1/8 in rivet"), "{}", drill.text);
        assert_eq!((drill.mark, find("#31").mark), (Mark::Read, Mark::Memory));
        assert_eq!(find("7/64 in").text, "drill 7/64 in, 0.10938 in, 2.778 mm");
        assert_eq!(find("DD").mark, Mark::PartlyRead);
        assert!(find("2024-T3").text.contains("tension 63 ksi"));
        assert!(find("E-glass style 104").text.starts_with("plain, 20 g/m², 0.028 mm thick, 2560 kg/m³"));
    }

    #[test]
    fn every_listed_rivet_is_a_designation_that_can_be_read() {
        for row in rivets().filter(|row| row.name.ends_with("-6")) {
            for number in [&row.name, &row.also] {
                let input = serde_json::json!({ "part_number": number });
                assert!(crate::calculate("part-number", &input).is_ok(), "{number}");
            }
        }
    }
}
