//! The template as SVG whose size is given in millimetres.

use std::fmt::Write as _;

use super::{At, MARGIN, Mark, Sheet, WORDS};

/// Writes the sheet. Every text is our own (ids, angles and lengths), so nothing needs escaping.
pub(super) fn write(sheet: &Sheet) -> String {
    let (w, h) = (sheet.width, sheet.height);
    let mut svg = String::with_capacity(2048 + sheet.marks.len() * 256);
    // Writing to a String cannot fail.
    let _ = write!(
        svg,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w:.3}mm" height="{h:.3}mm" viewBox="0 0 {w:.3} {h:.3}" font-family="sans-serif" font-size="3"><title>Template, full size</title><g fill="none" stroke="black" stroke-width="0.15">"#
    );
    for mark in &sheet.marks {
        match mark {
            Mark::Run { points, closed, .. } => run(&mut svg, h, points, *closed),
            Mark::Hole { at, diameter } => hole(&mut svg, (at.0, h - at.1), diameter / 2.0),
            Mark::Words { .. } => {}
        }
    }
    for bar in Sheet::bars() {
        let (x, y) = (bar.from.0, h - bar.from.1);
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

fn run(svg: &mut String, h: f64, points: &[At], closed: bool) {
    let element = if closed { "polygon" } else { "polyline" };
    let _ = write!(svg, "<{element} points=\"");
    for (x, y) in points {
        let _ = write!(svg, "{x:.4},{:.4} ", h - y);
    }
    svg.push_str("\"/>");
}

fn hole(svg: &mut String, (x, y): At, r: f64) {
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

fn words(svg: &mut String, sheet: &Sheet) {
    let h = sheet.height;
    for mark in &sheet.marks {
        let Mark::Words { at, upright, text, .. } = mark else { continue };
        let (x, y) = (at.0, h - at.1);
        let turn =
            if *upright { format!(r#" transform="rotate(-90 {x:.4} {y:.4})""#) } else { String::new() };
        let _ = write!(svg, r#"<text x="{x:.4}" y="{y:.4}" font-size="{WORDS}"{turn}>{text}</text>"#);
    }
    for bar in Sheet::bars() {
        let (x, y) = (bar.from.0 + bar.length / 2.0, h - bar.from.1 - 2.5);
        let _ = write!(svg, r#"<text x="{x:.4}" y="{y:.4}" text-anchor="middle">{}</text>"#, bar.label);
    }
    for (line, up) in [(&sheet.title, 7.0), (&sheet.note, 3.5)] {
        let _ = write!(svg, r#"<text x="{MARGIN}" y="{:.4}" font-size="2.5">{line}</text>"#, h - up);
    }
}
