//! The working of a patch.

use shared_types::quantity::{Area, Length, Mass, Ratio};
use shared_types::worksheet::Verdict;

use super::Solved;
use super::laid::Cloth;
use super::plan::Geometry;
use crate::laminates::mechanics::outline::Outline;
use crate::laminates::sheet::{plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// Writes all lines.
pub fn write(working: &mut Working, solved: &Solved) {
    taper(working, solved);
    sizes(working, solved);
    areas(working, solved);
    masses(working, solved);
}

fn taper(working: &mut Working, solved: &Solved) {
    let (step, ply) = (solved.geometry.step, solved.ply);
    let least = solved.rule.step(ply);
    let value = working.ratio(step / ply);
    let numbers = format!("{} mm / {} mm", plain(step), plain(ply));
    let limit = format!("at least {} to 1: {}", plain(least / ply), solved.rule.words());
    working
        .line("R", "taper ratio", "step / ply thickness", numbers, value, solved.rule.source())
        .against(limit, Verdict::Within);
    let plies = solved.pieces.len();
    let geometry = &solved.geometry;
    let numbers = format!("{} + {} × {}", geometry.plies.len(), geometry.extra(), geometry.faces.len());
    let source = sources::published("AC 43.13-1B fig 3-6: original number of plies plus one");
    let meaning = "plies of the patch: the parent's and the extra ones on each side";
    put::<Ratio>(working, "n", meaning, "n0 + extra × sides", numbers, plies as f64, source);
}

fn sizes(working: &mut Working, solved: &Solved) {
    let source = || sources::published("each ply reaches one step beyond the one below; AC 43.13-1B fig 3-6");
    let (hole, width) = solved.geometry.hole.size();
    for piece in &solved.pieces {
        let (length, across) = piece.outline.size();
        let numbers = |size: f64| {
            format!("{} mm + 2 × {} × {} mm", plain(size), piece.order, plain(solved.geometry.step))
        };
        let what = format!("{} side, at {}°", piece.face.name(), plain(piece.cut.angle));
        let symbol = format!("d{}", piece.number);
        if let Outline::Round { .. } = piece.outline {
            let meaning = format!("diameter of ply {}, {what}", piece.number);
            put::<Length>(
                working,
                &symbol,
                &meaning,
                "d0 + 2 k step",
                numbers(hole),
                length * 1e-3,
                source(),
            );
        } else {
            let meaning = format!("length of ply {}, {what}", piece.number);
            put::<Length>(
                working,
                &symbol,
                &meaning,
                "l0 + 2 k step",
                numbers(hole),
                length * 1e-3,
                source(),
            );
            let symbol = format!("w{}", piece.number);
            let meaning = format!("width of ply {}, {what}", piece.number);
            put::<Length>(
                working,
                &symbol,
                &meaning,
                "w0 + 2 k step",
                numbers(width),
                across * 1e-3,
                source(),
            );
        }
    }
}

fn areas(working: &mut Working, solved: &Solved) {
    let terms: Vec<_> =
        solved.pieces.iter().map(|piece| format!("{} mm2", plain(piece.outline.area()))).collect();
    let area = solved.cloth_area();
    let source = sources::arithmetic;
    let meaning = "cloth in the patch";
    put::<Area>(working, "S", meaning, "Σ ply areas", terms.join(" + "), area * 1e-6, source());
    let blanks = solved.square_blanks();
    let numbers = format!("blanks × (1 + {})", plain(solved.waste_cloth));
    let meaning = "cloth for blanks cut one by one";
    let formula = "Σ length × width of blanks × (1 + waste)";
    put::<Area>(working, "Sb", meaning, formula, numbers, blanks * 1e-6, source());
    let bond = solved.geometry.bond_area(&solved.pieces);
    let outer = Geometry::scarf(&solved.pieces).map_or((0.0, 0.0), |scarf| scarf.size());
    let numbers = format!(
        "outermost plies less the hole, {} mm2; scarf out to {} mm by {} mm",
        plain(solved.geometry.hole.area()),
        plain(outer.0),
        plain(outer.1)
    );
    let meaning = "bond area";
    let formula = "area of the outermost ply − area of the hole, each side";
    put::<Area>(working, "Ab", meaning, formula, numbers, bond * 1e-6, source());
}

fn masses(working: &mut Working, solved: &Solved) {
    let cloth = solved.cloth_mass() * 1e-3;
    let by_cloth = solved.cloths.iter().enumerate().map(|(at, cloth)| {
        let area: f64 = solved.pieces_of(at).map(|piece| piece.outline.area()).sum();
        (area, cloth, area * 1e-6 * cloth.weight * 1000.0)
    });
    let by_cloth: Vec<_> = by_cloth.collect();
    let sum = |term: &dyn Fn(&(f64, &Cloth, f64)) -> String| {
        by_cloth.iter().map(term).collect::<Vec<_>>().join(" + ")
    };
    let numbers =
        sum(&|(area, cloth, _)| format!("{} mm2 × {} g/m2", plain(*area), plain(cloth.weight * 1000.0)));
    let source = sources::arithmetic;
    put::<Mass>(working, "mf", "dry cloth", "S w", numbers, cloth, source());
    let resin = solved.resin_mass() * 1e-3;
    let waste = plain(solved.waste_resin);
    let numbers = sum(&|(_, cloth, grams)| {
        format!("{} g × (1 − {wf}) / {wf} × (1 + {waste})", plain(*grams), wf = plain(cloth.wf))
    });
    let meaning = "resin to mix; cups and parts: worksheet `resin-batch`";
    let published =
        sources::published("AC 43.13-1B par 3-3: resin equal to the weight of the cloth, a 50 % ratio");
    let formula = "mf (1 − Wf) / Wf (1 + waste)";
    put::<Mass>(working, "mm", meaning, formula, numbers, resin, published);
    let numbers = sum(&|(_, cloth, grams)| format!("{} g / {}", plain(*grams), plain(cloth.wf)));
    let meaning = "weight of the cured patch, for weight and balance";
    put::<Mass>(working, "mp", meaning, "mf / Wf", numbers, solved.patch_mass() * 1e-3, source());
}
