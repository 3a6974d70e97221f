//! The ratios as bars against the band of what counts as like.

use shared_types::quantity::decimal;

use super::measure::STIFFNESSES;
use crate::drawing::{Anchor, Class, Drawing};

/// Draws the five stiffness ratios.
pub fn ratios(ratios: &[f64; 5], soft: f64, hard: f64) -> Drawing {
    let (left, width, row) = (60.0, 190.0, 24.0);
    let most = ratios.iter().copied().fold(1.5 * hard, f64::max).min(4.0);
    let x = |ratio: f64| left + (ratio / most).min(1.0) * width;
    let mut drawing = Drawing::new(340.0, 5.0 * row + 44.0, "Stiffness of the repair over the parent");
    for (limit, word) in [(soft, "soft below"), (1.0, "like"), (hard, "hard above")] {
        let (bottom, top) = (5.0 * row + 22.0, 18.0);
        drawing.line(Class::Dimension, (x(limit), top), (x(limit), bottom));
        let drop = if limit == 1.0 { -6.0 + top } else { bottom + 12.0 };
        let anchor = if limit < 1.0 {
            Anchor::End
        } else if limit > 1.0 {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        let label = format!("{word} {}", decimal(limit, 3));
        drawing.text(Class::Dimension, (x(limit), drop), 9.0, anchor, &label);
    }
    for (place, ((name, _), ratio)) in STIFFNESSES.into_iter().zip(ratios).enumerate() {
        let y = 24.0 + row * place as f64;
        let (class, word) = if *ratio < soft {
            (Class::Bad, "softer")
        } else if *ratio > hard {
            (Class::Close, "hard spot")
        } else {
            (Class::Good, "like")
        };
        drawing.text(Class::Ink, (left - 6.0, y + 11.0), 10.0, Anchor::End, name);
        drawing.rect(class, left, y, x(*ratio) - left, 14.0);
        let label = format!("{} {word}", decimal(*ratio, 3));
        // Beside all bars: no line crosses it there.
        drawing.text(Class::Ink, (left + width + 8.0, y + 11.0), 10.0, Anchor::Start, &label);
    }
    drawing
}
