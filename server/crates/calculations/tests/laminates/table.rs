//! `tests/reference/laminates.md`: kind by kind, what was checked, against which sources, and how far off.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use serde_json::{Value, json};

use super::reference::{Checked, WRITE, functions, hold, laminates, percent, published};
use super::sheets::{at, example, with, work};

/// Figures worked by hand for the kinds that the reference has no case of: place in the result, value.
fn by_hand() -> Vec<Checked> {
    let plies = |count: u32| json!([{ "material": "w7781_vac", "count": count }]);
    let thicker = with("layup-compare", &json!({ "parent": plies(4), "repair": plies(6) }));
    let compared = work("layup-compare", &thicker);
    // Half as thick again of the same cloth: 1.5 in stretching, 1.5 cubed in bending.
    let compared = [("/ratios/EA_x", 1.5), ("/ratios/GA", 1.5), ("/ratios/EI_x", 3.375)]
        .map(|(place, expected)| (at(&compared, place), expected));
    let paint = example("finish");
    let film = [
        ("/wet_film", 25.0 / 0.45 * 1.1),
        ("/volume", 0.8 * 2.0 * 25.0 / 0.45 / 0.6 * 1.1),
        ("/film_mass", 0.8 * 2.0 * 25.0 * 1.4),
    ]
    .map(|(place, expected)| (at(&paint, place), expected));
    // Any psychrometric chart: air of 20 degC at 60 % has its dew point at 12.0 degC.
    let dew = [(at(&paint, "/air/dew_point"), 12.0)];
    vec![
        hand("layup-compare", "six plies for four", "worked by hand", &compared),
        hand("finish", "film, volume and mass", "worked by hand", &film),
        hand("finish", "dew point", "psychrometric chart, read to 0.1 degC", &dew),
    ]
}

fn hand(kind: &'static str, id: &str, source: &str, pairs: &[(f64, f64)]) -> Checked {
    let deviation = pairs.iter().map(|(got, expected)| (got / expected - 1.0).abs()).fold(0.0, f64::max);
    assert!(deviation < 2e-3, "{kind}, {id}: {pairs:?}");
    Checked {
        kind,
        id: id.to_owned(),
        values: pairs.len(),
        deviation,
        source: source.to_owned(),
        from_memory: false,
    }
}

fn row(kind: &str, all: &[Checked]) -> String {
    let own: Vec<_> = all.iter().filter(|it| it.kind == kind).collect();
    assert!(!own.is_empty(), "nothing of {kind} is checked");
    let cases: BTreeSet<&str> = own.iter().map(|it| it.id.as_str()).collect();
    let memory: BTreeSet<&str> = own.iter().filter(|it| it.from_memory).map(|it| it.id.as_str()).collect();
    let values: usize = own.iter().map(|it| it.values).sum();
    let sources: BTreeSet<&str> = own.iter().map(|it| it.source.as_str()).collect();
    let worst = own.iter().max_by(|one, two| one.deviation.total_cmp(&two.deviation));
    let worst = worst.map_or_else(String::new, |it| {
        let off = percent(it.deviation);
        // Which of many is the worst in the last bits is another on every machine.
        if off.starts_with('<') { off } else { format!("{off} ({})", it.id) }
    });
    let sources = sources.into_iter().collect::<Vec<_>>().join("; ");
    format!("| {kind} | {} | {values} | {} | {worst} | {sources} |", cases.len(), memory.len())
}

#[test]
fn every_kind_is_checked_and_the_table_says_how_far_off() {
    let mut all: Vec<Checked> = laminates();
    all.extend(functions());
    all.extend(published().into_iter().map(|(run, _): (Checked, Value)| run));
    all.extend(by_hand());
    let mut text = format!(
        "# Laminate worksheets against reference values\n\n\
         Written by a test, and compared by it: `{WRITE}=1 cargo nextest run -p calculations every_kind_is_checked`. \
         Cases of `laminates.json` count once however often they are run; the published examples stand one by one \
         in `laminates-published.md`. Deviation: of the found value, in percent of the case's, whose own rounding \
         is in it.\n\n\
         | kind | cases | values | of them from memory | largest deviation | sources |\n|---|---|---|---|---|---|\n"
    );
    for kind in calculations::laminates::KINDS {
        writeln!(text, "{}", row(kind.name, &all)).unwrap();
    }
    hold("laminates.md", &text);
}
