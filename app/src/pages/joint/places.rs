//! Places as people type them: numbers that count on, rows of equal pitch, layers and edges line by line.

use shared_types::ids::HoleId;
use shared_types::joint::{Edges, Hole, Layer, Layers, Place};
use shared_types::quantity::{Length, Measure as _, System};
use shared_types::text::ShortText;

use crate::joints::asked::metres;

/// The most holes that are added in one go.
pub const MOST: usize = 200;

/// Where a hole is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Its number.
    pub number: String,
    /// Along the row.
    pub x: String,
    /// Across it.
    pub y: String,
}

/// A number `by` further on: `7` to `8`, `A09` to `A10`; one without digits gets some.
#[must_use]
pub fn counted_on(number: &str, by: usize) -> String {
    let number = number.trim();
    let digits = number.len() - number.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let (word, count) = number.split_at(number.len() - digits);
    match count.parse::<u64>() {
        Ok(count) => {
            let next = count.saturating_add(u64::try_from(by).unwrap_or(u64::MAX));
            // No format is wider than 65,535, and no number is taken that is longer than a line.
            let digits = digits.min(ShortText::MAX);
            format!("{word}{next:0digits$}")
        }
        Err(_) if by == 0 => number.to_owned(),
        Err(_) => format!("{number}{}", by + 1),
    }
}

/// The number after the last one.
#[must_use]
pub fn next_number(holes: &[(HoleId, Hole)]) -> String {
    holes.last().map_or_else(|| "1".to_owned(), |(_, hole)| counted_on(&hole.number.or_empty().0, 1))
}

/// A row as it is typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// How many holes.
    pub count: String,
    /// The first one's number.
    pub number: String,
    /// The first one's place.
    pub x: String,
    /// The first one's place.
    pub y: String,
    /// Hole to hole.
    pub pitch: String,
    /// Which way, in degrees from x towards y.
    pub direction: String,
}

/// The holes of a row. Each place is counted from the first one, so errors don't add up.
///
/// # Errors
/// The field's name and what is wrong with it.
pub fn row(typed: &Row) -> Result<Vec<Placed>, (&'static str, String)> {
    let count = typed.count.trim().parse::<usize>().ok().filter(|count| (1..=MOST).contains(count));
    let count = count.ok_or_else(|| ("count", format!("Accepted: a whole number from 1 to {MOST}")))?;
    let number = typed.number.trim();
    if number.is_empty() {
        return Err(("number", "The first hole needs a number".to_owned()));
    }
    let (x, y) = (length("x", &typed.x)?, length("y", &typed.y)?);
    let pitch = length("pitch", &typed.pitch)?;
    if pitch <= 0.0 {
        return Err(("pitch", "Accepted: more than nothing".to_owned()));
    }
    let degrees = typed.direction.trim();
    let degrees = if degrees.is_empty() { Some(0.0) } else { shared_types::status::read_number(degrees) };
    let degrees = degrees.filter(|degrees| degrees.abs() <= 360.0);
    let degrees = degrees.ok_or_else(|| ("direction", "Accepted: degrees from −360 to 360".to_owned()))?;
    let (sin, cos) = degrees.to_radians().sin_cos();
    let metric =
        [&typed.x, &typed.y, &typed.pitch].iter().any(|text| text.contains("mm") || text.contains("cm"));
    let system = if metric { System::Metric } else { System::Inch };
    let place = |n: usize| {
        #[expect(clippy::cast_precision_loss, reason = "at most 200")]
        let along = pitch * n as f64;
        Placed {
            number: counted_on(number, n),
            x: shown(x + along * cos, system),
            y: shown(y + along * sin, system),
        }
    };
    Ok((0..count).map(place).collect())
}

/// A length of a field, in metres.
///
/// # Errors
/// The field's name and what is wrong with it.
pub fn length(field: &'static str, text: &str) -> Result<f64, (&'static str, String)> {
    Length::parse(text).map(Length::si).map_err(|why| (field, format!("This {why}")))
}

/// A length for people; dust of the arithmetic is dropped.
fn shown(metres: f64, system: System) -> String {
    let clean = if metres.abs() < 1e-9 { 0.0 } else { metres };
    Length::from_si(clean).map(|length| length.show(system)).unwrap_or_default()
}

/// A straight edge at y = 0, from an inch before the first hole to an inch after the last one, as text.
#[must_use]
pub fn edge_along(holes: &[(HoleId, Hole)]) -> Option<String> {
    const BEYOND: f64 = 0.0254;
    let along: Vec<f64> = holes.iter().filter_map(|(_, hole)| metres(&hole.x.or_empty())).collect();
    let metric = holes.iter().any(|(_, hole)| hole.x.or_empty().0.contains("mm"));
    let system = if metric { System::Metric } else { System::Inch };
    let (low, high) = (along.iter().copied().reduce(f64::min)?, along.iter().copied().reduce(f64::max)?);
    let zero = shown(0.0, system);
    Some(format!("{}, {zero}\n{}, {zero}", shown(low - BEYOND, system), shown(high + BEYOND, system)))
}

/// Layers as text, one a line.
#[must_use]
pub fn layers_text(layers: &Layers) -> String {
    let line = |layer: &Layer| match (layer.material.is_empty(), layer.thickness.is_empty()) {
        (true, _) => layer.thickness.0.clone(),
        (false, true) => layer.material.0.clone(),
        (false, false) => format!("{}, {}", layer.material, layer.thickness),
    };
    layers.0.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// Layers from text: what stands after the last comma is the thickness.
///
/// # Errors
/// Names the line and what is wrong with it.
pub fn read_layers(text: &str) -> Result<Layers, String> {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty()).enumerate();
    let layer = |(at, line): (usize, &str)| {
        let (material, thickness) = line.rsplit_once(',').unwrap_or(("", line));
        readable(at, thickness)?;
        Ok(Layer { material: material.trim().into(), thickness: thickness.trim().into() })
    };
    lines.map(layer).collect::<Result<_, String>>().map(Layers)
}

/// Edges as text: one corner a line, an empty line between edges.
#[must_use]
pub fn edges_text(edges: &Edges) -> String {
    let edge = |edge: &Vec<Place>| {
        edge.iter().map(|corner| format!("{}, {}", corner.x, corner.y)).collect::<Vec<_>>().join("\n")
    };
    edges.0.iter().map(edge).collect::<Vec<_>>().join("\n\n")
}

/// Edges from text.
///
/// # Errors
/// Names the line and what is wrong with it.
pub fn read_edges(text: &str) -> Result<Edges, String> {
    let mut edges: Vec<Vec<Place>> = vec![Vec::new()];
    for (at, line) in text.lines().map(str::trim).enumerate() {
        if line.is_empty() {
            edges.push(Vec::new());
            continue;
        }
        let parts = line.split_once(';').or_else(|| line.split_once(','));
        let (x, y) = parts.ok_or_else(|| format!("Line {}: write it as x, y", at + 1))?;
        readable(at, x)?;
        readable(at, y)?;
        if let Some(edge) = edges.last_mut() {
            edge.push(Place { x: x.trim().into(), y: y.trim().into() });
        }
    }
    edges.retain(|edge| !edge.is_empty());
    match edges.iter().position(|edge| edge.len() < 2) {
        Some(at) => Err(format!("Edge {} has one corner; it needs two or more", at + 1)),
        None => Ok(Edges(edges)),
    }
}

fn readable(line: usize, text: &str) -> Result<(), String> {
    Length::parse(text).map(|_| ()).map_err(|why| format!("Line {}: “{}” {why}", line + 1, text.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_any_length_is_counted_on() {
        assert_eq!(counted_on(&"0".repeat(100_000), 1).trim_start_matches('0'), "1");
        assert_eq!(counted_on(&"9".repeat(100), 1), format!("{}2", "9".repeat(100)));
    }

    #[test]
    fn numbers_count_on() {
        let cases = [
            ("7", 1, "8"),
            ("A09", 1, "A10"),
            ("9", 3, "12"),
            ("99", 1, "100"),
            ("L", 1, "L2"),
            ("L", 0, "L"),
        ];
        for (number, by, next) in cases {
            assert_eq!(counted_on(number, by), next);
        }
        assert_eq!(next_number(&[]), "1");
    }

    fn typed(count: &str, pitch: &str, direction: &str) -> Row {
        Row {
            count: count.to_owned(),
            number: "4".to_owned(),
            x: "0.5 in".to_owned(),
            y: "0.3".to_owned(),
            pitch: pitch.to_owned(),
            direction: direction.to_owned(),
        }
    }

    #[test]
    fn a_row_has_equal_pitch_from_the_first_hole_on() {
        let holes = row(&typed("3", "0.75", "")).unwrap();
        let places: Vec<_> = holes.iter().map(|it| (&*it.number, &*it.x, &*it.y)).collect();
        assert_eq!(places, [("4", "0.5 in", "0.3 in"), ("5", "1.25 in", "0.3 in"), ("6", "2 in", "0.3 in")]);
        let across = row(&typed("2", "20 mm", "90")).unwrap();
        assert_eq!((&*across[1].x, &*across[1].y), ("12.7 mm", "27.62 mm"));
        let back = row(&typed("2", "0.5 in", "180")).unwrap();
        assert_eq!(back[1].x, "0 in");
    }

    #[test]
    fn what_is_wrong_with_a_row_names_its_field() {
        let field = |row: &Row| super::row(row).unwrap_err().0;
        assert_eq!(field(&typed("0", "0.75", "")), "count");
        assert_eq!(field(&typed("201", "0.75", "")), "count");
        assert_eq!(field(&typed("1e9", "0.75", "")), "count");
        assert_eq!(field(&typed("3", "0", "")), "pitch");
        assert_eq!(field(&typed("3", "NaN", "")), "pitch");
        assert_eq!(field(&typed("3", "0.75", "up")), "direction");
    }

    #[test]
    fn layers_and_edges_read_back_from_their_texts() {
        let text = "2024-T3, 0.032 in\nglass cloth laminate, 1.6 mm\n#30";
        let layers = read_layers(text).unwrap();
        assert_eq!(layers.0[1].material.0, "glass cloth laminate");
        assert_eq!(layers_text(&layers), text);
        assert!(read_layers("2024-T3, thick").unwrap_err().starts_with("Line 1: “thick” "));

        let text = "0 in, 0 in\n10 in, 0 in\n\n0 in, 2 in\n10 in, 2 in";
        let edges = read_edges(text).unwrap();
        assert_eq!(edges.0.len(), 2);
        assert_eq!(edges_text(&edges), text);
        assert_eq!(read_edges("\n\n").unwrap(), Edges::default());
        assert_eq!(read_edges("0, 0").unwrap_err(), "Edge 1 has one corner; it needs two or more");
        assert!(read_edges("0 0").unwrap_err().starts_with("Line 1: write it"));
    }
}
