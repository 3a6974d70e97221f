//! The stack in section, the lowest ply at the bottom: a band for each ply, with number, angle and
//! material. Bands are of one height: it shows order and angles, not thickness.

use leptos::prelude::*;
use shared_types::ids::PlyId;

use super::asked::Plies;

/// Width of the paper.
const WIDTH: u16 = 360;
/// Height of a band.
const BAND: usize = 24;
/// Characters of a name that fit into a band.
const FITS: usize = 32;
/// Materials are told apart by so many fills, and by their names.
const FILLS: usize = 4;

/// One ply as it is drawn.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Band {
    /// Which ply.
    pub id: PlyId,
    /// Its number, 1 for the lowest.
    pub number: usize,
    /// Its angle: `45°`.
    pub angle: String,
    /// Degrees to draw it with, where the angle is a number.
    degrees: Option<i32>,
    /// Its material, shortened.
    material: String,
    fill: usize,
    /// Has it gone in?
    laid: bool,
}

/// The bands of a layup, the lowest first.
#[must_use]
pub fn bands(plies: &Plies) -> Vec<Band> {
    let mut materials: Vec<String> = Vec::new();
    let band = |(at, (id, ply)): (usize, &(PlyId, _))| {
        let ply: &shared_types::layup::Ply = ply;
        let name = ply.material.or_empty().0;
        let fill = materials.iter().position(|it| *it == name).unwrap_or_else(|| {
            materials.push(name.clone());
            materials.len() - 1
        });
        let angle = ply.angle.or_empty().0;
        let degrees = angle.trim().trim_end_matches('°').trim_end().parse::<f64>().ok();
        #[expect(clippy::cast_possible_truncation, reason = "an angle on a drawing")]
        let degrees = degrees.filter(|it| it.abs() <= 360.0).map(|it| it.round() as i32);
        Band {
            id: *id,
            number: at + 1,
            angle: angle_words(&angle),
            degrees,
            material: shortened(&name),
            fill: fill % FILLS,
            laid: ply.laid().is_some(),
        }
    };
    plies.iter().enumerate().map(band).collect()
}

/// `45°`; as typed where it isn't a number alone.
#[must_use]
pub fn angle_words(angle: &str) -> String {
    let angle = angle.trim();
    match angle.parse::<f64>() {
        _ if angle.is_empty() => "0°".to_owned(),
        Ok(_) => format!("{angle}°"),
        Err(_) => angle.to_owned(),
    }
}

fn shortened(name: &str) -> String {
    if name.trim().is_empty() {
        return "material not said".to_owned();
    }
    if name.chars().count() <= FITS {
        return name.to_owned();
    }
    name.chars().take(FITS - 1).chain(['…']).collect()
}

/// The drawing.
#[component]
pub fn StackDrawing(
    #[prop(into)] bands: Signal<Vec<Band>>,
    /// What it is of.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let tall = move || bands.with(Vec::len).max(1) * BAND + 4;
    let told = move || {
        let angles = bands.with(|bands| bands.iter().map(|band| band.angle.clone()).collect::<Vec<_>>());
        format!("{}, from the lowest ply up: {}", label.read(), angles.join(", "))
    };
    view! {
        // Counted upwards from the bottom edge, so that one more ply moves no other.
        <svg class="stack-drawing" viewBox=move || format!("0 -{} {WIDTH} {}", tall() - 2, tall()) role="img" aria-label=told>
            <For each=move || bands.get() key=Band::clone let:band>{drawn(band)}</For>
        </svg>
    }
}

fn drawn(band: Band) -> impl IntoView {
    let transform = format!("translate(0 -{})", band.number * BAND);
    let warp = band.degrees.map(|degrees| {
        // Screens count downwards, angles anticlockwise.
        view! { <line class="stack-warp" x1="-9" x2="9" y1="0" y2="0" transform=format!("translate(46 12) rotate({})", -degrees)></line> }
    });
    let tick = band.laid.then(|| view! { <path class="stack-laid" d="M338 12l5 5 9-10"></path> });
    view! {
        <g transform=transform>
            <rect class="stack-band" data-fill=band.fill x="1" y="1" width=WIDTH - 2 height=BAND - 2></rect>
            <text class="stack-figures" x="8" y="17">{band.number}</text>
            {warp}
            <text class="stack-figures" x="64" y="17">{band.angle}</text>
            <text class="stack-word" x="112" y="17">{band.material}</text>
            {tick}
        </g>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::layup::{Ply, PlyPatch};

    #[test]
    fn bands_say_what_the_plies_are() {
        let ply = |material: &str, angle: &str| {
            let patch = PlyPatch {
                material: Some(material.into()),
                angle: Some(angle.into()),
                ..PlyPatch::default()
            };
            (PlyId::default(), entity::<Ply>(&patch))
        };
        let all =
            bands(&[ply("7781", "45"), ply("120", ""), ply("7781", "north"), ply(&"x".repeat(50), "1e9")]);
        let fills: Vec<_> = all.iter().map(|band| band.fill).collect();
        assert_eq!(fills, [0, 1, 0, 2]);
        let angles: Vec<_> = all.iter().map(|band| band.angle.as_str()).collect();
        assert_eq!(angles, ["45°", "0°", "north", "1e9°"]);
        assert_eq!(all[3].degrees, None, "no angle to draw");
        assert_eq!(all[3].material.chars().count(), FITS);
    }
}
