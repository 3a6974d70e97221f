//! The template as SVG whose size is given in millimetres.

use std::fmt::Write as _;

use super::{MARGIN, Sheet};

/// Writes the sheet. Every text is our own (ids and lengths), so nothing needs escaping.
pub(super) fn write(sheet: &Sheet) -> String {
    let (w, h) = (sheet.width, sheet.height);
    let mut svg = String::with_capacity(2048 + sheet.holes.len() * 256);
    // Writing to a String cannot fail.
    let _ = write!(
        svg,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w:.3}mm" height="{h:.3}mm" viewBox="0 0 {w:.3} {h:.3}" font-family="sans-serif" font-size="3"><title>Drill template, full size</title><g fill="none" stroke="black" stroke-width="0.15">"#
    );
    svg.push_str("<polyline points=\"");
    for point in &sheet.edge {
        let _ = write!(svg, "{:.4},{:.4} ", point.x, h - point.y);
    }
    svg.push_str("\"/>");
    for hole in &sheet.holes {
        let (x, y, r) = (hole.at.x, h - hole.at.y, hole.diameter / 2.0);
        let arm = r + 1.5;
        let _ = write!(
            svg,
            r#"<circle cx="{x:.4}" cy="{y:.4}" r="{r:.4}"/><path d="M{:.4} {y:.4}H{:.4}M{x:.4} {:.4}V{:.4}"/>"#,
            x - arm,
            x + arm,
            y - arm,
            y + arm
        );
    }
    for bar in Sheet::bars() {
        let (x, y) = (bar.from.x, h - bar.from.y);
        let _ = write!(
            svg,
            r#"<path d="M{x:.4} {:.4}V{:.4}M{x:.4} {y:.4}H{:.4}M{:.4} {:.4}V{:.4}"/>"#,
            y - 2.0,
            y + 2.0,
            x + bar.length,
            x + bar.length,
            y - 2.0,
            y + 2.0
        );
    }
    svg.push_str("</g>");
    words(&mut svg, sheet);
    svg.push_str("</svg>");
    svg
}

fn words(svg: &mut String, sheet: &Sheet) {
    let h = sheet.height;
    for hole in &sheet.holes {
        let right = if sheet.tight { 0.0 } else { hole.diameter / 2.0 + 1.0 };
        let (x, y) = (hole.at.x + 1.0 + right, h - hole.at.y - hole.diameter / 2.0 - 2.0);
        // Upright, the labels of close neighbours stand clear of each other.
        let turn =
            if sheet.tight { format!(r#" transform="rotate(-90 {x:.4} {y:.4})""#) } else { String::new() };
        let _ = write!(svg, r#"<text x="{x:.4}" y="{y:.4}" font-size="2"{turn}>{}</text>"#, hole.label);
    }
    for bar in Sheet::bars() {
        let (x, y) = (bar.from.x + bar.length / 2.0, h - bar.from.y - 2.5);
        let _ = write!(svg, r#"<text x="{x:.4}" y="{y:.4}" text-anchor="middle">{}</text>"#, bar.label);
    }
    for (line, up) in [(&sheet.title, 7.0), (&sheet.note, 3.5)] {
        let _ = write!(svg, r#"<text x="{MARGIN}" y="{:.4}" font-size="2.5">{line}</text>"#, h - up);
    }
}
