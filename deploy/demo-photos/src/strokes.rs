//! A small single-stroke alphabet of our own, drawn on a 4 × 6 grid.

use glam::Vec2;

/// One straight pen stroke, in letter heights, and the letter it belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Start.
    pub from: Vec2,
    /// End.
    pub to: Vec2,
    /// Position of its letter in the text.
    pub glyph: usize,
}

/// The strokes of `text` on one line; letters without a shape leave a gap.
pub fn of(text: &str) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    let mut x = 0.0;
    for (glyph, symbol) in text.chars().enumerate() {
        for run in runs(symbol.to_ascii_uppercase()).split(' ') {
            let points: Vec<Vec2> = run.as_bytes().chunks_exact(2).map(|xy| grid(xy[0], xy[1])).collect();
            for pair in points.windows(2) {
                let shift = Vec2::new(x, 0.0);
                strokes.push(Stroke { from: pair[0] + shift, to: pair[1] + shift, glyph });
            }
        }
        x += if symbol == '1' || symbol == '.' || symbol == ':' { 0.55 } else { 0.86 };
    }
    strokes
}

/// How wide `text` comes out, in letter heights.
pub fn width(text: &str) -> f32 {
    of(text).iter().map(|s| s.from.x.max(s.to.x)).fold(0.0, f32::max)
}

fn grid(x: u8, y: u8) -> Vec2 {
    Vec2::new(f32::from(x - b'0') / 6.0, f32::from(y - b'0') / 6.0)
}

/// Each letter as runs of grid points, `xy` by `xy`, runs parted by blanks.
fn runs(symbol: char) -> &'static str {
    match symbol {
        '0' => "103041453616050110",
        '1' => "042620",
        '2' => "05163645440040",
        '3' => "0516364544332343323141301001",
        '4' => "30360242",
        '5' => "4606033342413010",
        '6' => "4536160501103041423303",
        '7' => "064610",
        '8' => "13334445361605041302011030414233",
        '9' => "443313040516364541301001",
        'A' => "002640 0232",
        'B' => "0006364544330333424130 0030",
        'C' => "4536160501103041",
        'D' => "000626444226 0020 2042 2644",
        'E' => "46060040 0333",
        'F' => "460600 0333",
        'G' => "45361605011030414323",
        'H' => "0006 4046 0343",
        'I' => "2026",
        'J' => "4641301001",
        'K' => "0006 460340",
        'L' => "060040",
        'M' => "0006234640",
        'N' => "00064046",
        'O' => "103041453616050110",
        'P' => "000636454433 3303",
        'Q' => "103041453616050110 2240",
        'R' => "00063645443303 2340",
        'S' => "453616050413334241301001",
        'T' => "0646 2620",
        'U' => "060110304146",
        'V' => "062046",
        'W' => "0610233046",
        'X' => "0046 0640",
        'Y' => "062346 2320",
        'Z' => "06460040",
        '-' => "0333",
        '/' => "0046",
        '+' => "0343 2125",
        '?' => "051636454433232221 2010",
        '.' => "1010 1011",
        ':' => "1112 1415",
        _ => "",
    }
}

/// The lit bars of a seven-segment digit, in digit heights from its foot.
pub fn segments(symbol: char) -> Vec<(Vec2, Vec2)> {
    let lit = match symbol {
        '0' => "abcdef",
        '1' => "bc",
        '2' => "abged",
        '3' => "abgcd",
        '4' => "fgbc",
        '5' => "afgcd",
        '6' => "afgedc",
        '7' => "abc",
        '8' => "abcdefg",
        '9' => "abcdfg",
        '-' => "g",
        _ => "",
    };
    lit.chars().filter_map(bar).collect()
}

fn bar(name: char) -> Option<(Vec2, Vec2)> {
    let (l, r, inset) = (0.06, 0.46, 0.07);
    let flat = |y: f32| (Vec2::new(l + inset, y), Vec2::new(r - inset, y));
    let tall = |x: f32, y: f32| (Vec2::new(x, y + inset), Vec2::new(x, y + 0.44 - inset));
    match name {
        'a' => Some(flat(0.94)),
        'b' => Some(tall(r, 0.5)),
        'c' => Some(tall(r, 0.06)),
        'd' => Some(flat(0.06)),
        'e' => Some(tall(l, 0.06)),
        'f' => Some(tall(l, 0.5)),
        'g' => Some(flat(0.5)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_and_digit_has_strokes_inside_its_box() {
        for symbol in ('A'..='Z').chain('0'..='9') {
            let strokes = of(&symbol.to_string());
            assert!(!strokes.is_empty(), "{symbol} is blank");
            for s in strokes {
                for p in [s.from, s.to] {
                    assert!(
                        (0.0..=1.0).contains(&p.x) && (0.0..=1.0).contains(&p.y),
                        "{symbol} leaves its box at {p}"
                    );
                }
            }
        }
    }

    #[test]
    fn eight_lights_every_bar_and_a_blank_none() {
        assert_eq!(segments('8').len(), 7);
        assert!(segments(' ').is_empty());
    }
}
