//! Real round things: 24 worn coins, light on dark, unevenly lit.
//!
//! Picture and outlines: `tests/photo/data/README.md`. The outlines were made by
//! another method and another library: watershed and moments of the areas.

use photo_measure::{Grey, Hole, Looking, PixelPoint, Pixels, Shade, find_holes, snap};

struct Coin {
    x: f64,
    y: f64,
    radius: f64,
}

fn coins() -> Vec<Coin> {
    let number = |text: &str| text.trim().parse::<f64>().unwrap();
    let coin = |line: &str| {
        let mut numbers = line.split(',').map(number);
        let mut next = || numbers.next().unwrap();
        Coin { x: next(), y: next(), radius: next() }
    };
    include_str!("data/coins.csv").lines().skip(1).map(coin).collect()
}

fn picture() -> (Vec<u8>, u32, u32) {
    let bytes: &[u8] = include_bytes!("data/coins.png");
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((info.color_type, info.bit_depth), (png::ColorType::Grayscale, png::BitDepth::Eight));
    pixels.truncate(info.buffer_size());
    (pixels, info.width, info.height)
}

const LOOKING: Looking = Looking { least: Pixels(12.0), most: Pixels(40.0), reach: Pixels(20.0) };

fn off(hole: &Hole, coin: &Coin) -> f64 {
    (hole.centre.x - coin.x).hypot(hole.centre.y - coin.y)
}

#[test]
fn taps_on_coins_snap_to_them() {
    let (pixels, width, height) = picture();
    let grey = Grey::new(&pixels, width, height).unwrap();
    let (mut centres, mut radii, mut missed) = (Vec::new(), Vec::new(), 0);
    for coin in coins() {
        for (right, down) in [(0.0, 0.0), (6.0, -4.0), (-5.0, 7.0)] {
            let tap = PixelPoint { x: coin.x + right, y: coin.y + down };
            let Some(hole) = snap(&grey, tap, &LOOKING).unwrap() else {
                println!("none found at {}, {}", coin.x, coin.y);
                missed += 1;
                continue;
            };
            println!("{:.0},{:.0}: off {:.2}, {hole:?}", coin.x, coin.y, off(&hole, &coin));
            assert_eq!(hole.shade, Shade::Light);
            centres.push(off(&hole, &coin));
            radii.push(((hole.major.0 * hole.minor.0).sqrt() - coin.radius).abs());
        }
    }
    centres.sort_by(f64::total_cmp);
    radii.sort_by(f64::total_cmp);
    let (median, largest) = (centres[centres.len() / 2], centres[centres.len() - 1]);
    println!(
        "coins: {} snapped, {missed} missed, centres off by {median:.2} px (median) to {largest:.2} px, radii by {:.2} to {:.2} px",
        centres.len(),
        radii[radii.len() / 2],
        radii[radii.len() - 1]
    );
    assert!(missed <= 6, "{missed}");
    assert!(median < 1.0 && largest < 3.0, "{centres:?}");
}

#[test]
fn the_search_finds_the_coins_and_nothing_else() {
    let (pixels, width, height) = picture();
    let grey = Grey::new(&pixels, width, height).unwrap();
    let found = find_holes(&grey, &LOOKING, 60).unwrap();
    let coins = coins();
    let hit = coins.iter().filter(|coin| found.iter().any(|hole| off(hole, coin) < 3.0)).count();
    let wrong = found.iter().filter(|hole| coins.iter().all(|coin| off(hole, coin) >= 3.0)).count();
    println!(
        "coins found: {hit} of {}, and {wrong} that are none, least confidence {:.2}",
        coins.len(),
        found.iter().map(|it| it.confidence).fold(1.0, f64::min)
    );
    assert!(hit >= coins.len() - 3, "{hit}");
    assert!(wrong <= 1, "{wrong}: {found:?}");
}
