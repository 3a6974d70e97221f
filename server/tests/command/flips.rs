//! One bit of a bundle is turned at a time, anywhere: each turn is found, and named by where it is.

use std::ops::Range;

use faying::bundle::frame::{FILE, HEADER};
use faying::bundle::verify::verify;

use crate::bundles::job_in;
use crate::program::{Place, text};

/// How many bits are turned.
const FLIPS: usize = 1_000;

/// A part of a bundle's file: its name as a report gives it, and its bytes.
struct Region {
    name: String,
    bytes: Range<usize>,
}

#[test]
fn any_bit_that_is_turned_is_found_and_named() {
    let bundle = bundle();
    assert!(verify(&bundle[..]).unwrap().holds());
    let regions = regions(&bundle);
    assert!(regions.len() > 20, "each file has a header and a content");
    let seed = std::env::var("FLIP_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or_else(|| {
        let now = std::time::UNIX_EPOCH.elapsed().unwrap();
        now.as_nanos() as u64
    });
    println!("FLIP_SEED={seed}");
    let mut numbers = Numbers(seed);
    let mut altered = bundle;
    // By its first four bytes, the directory is told from a file.
    let directory = regions.last().unwrap().bytes.start;
    let mut turns: Vec<(usize, u8)> =
        (directory..directory + 4).flat_map(|byte| (0..8).map(move |bit| (byte, 1_u8 << bit))).collect();
    for flip in 0..FLIPS {
        // Every second one anywhere, the others in each part of the file alike, so that headers get their share.
        let region = &regions[numbers.below(regions.len())];
        let byte = if flip % 2 == 0 {
            numbers.below(altered.len())
        } else {
            region.bytes.start + numbers.below(region.bytes.len())
        };
        turns.push((byte, 1_u8 << numbers.below(8)));
    }
    for (byte, bit) in turns {
        altered[byte] ^= bit;
        let region = regions.iter().find(|region| region.bytes.contains(&byte)).unwrap();
        let report = verify(&altered[..]).unwrap();
        let said: Vec<&str> =
            report.0.iter().filter(|checked| !checked.holds).map(|checked| checked.what.as_str()).collect();
        assert!(
            said.iter().any(|line| names(line, region)),
            "FLIP_SEED={seed}: byte {byte}, bit {bit:#x}, in {}: {said:#?}",
            region.name
        );
        altered[byte] ^= bit;
    }
    assert!(verify(&altered[..]).unwrap().holds());
}

#[test]
fn bytes_that_belong_to_nothing_are_found_before_between_and_after() {
    let bundle = bundle();
    let second = regions(&bundle)[2].bytes.start;
    for place in [0, second, bundle.len() - 22, bundle.len()] {
        let mut altered = bundle.clone();
        altered.splice(place..place, *b"slipped in");
        assert!(!verify(&altered[..]).unwrap().holds(), "{place}");
    }
    for length in [0, 1, second, bundle.len() - 1] {
        assert!(!verify(&bundle[..length]).unwrap().holds(), "{length} bytes are not all");
    }
    let mut header = bundle.clone();
    header[10] ^= 1;
    let report = verify(&header[..]).unwrap();
    assert!(report.0.iter().any(|it| !it.holds && it.what.contains("header of")), "{report:?}");
}

/// A line names a part by its name, or by a byte of it.
fn names(line: &str, region: &Region) -> bool {
    let numbers = line.split("byte ").skip(1).filter_map(|rest| {
        rest.split(|letter: char| !letter.is_ascii_digit()).next().and_then(|number| number.parse().ok())
    });
    line.contains(&region.name) || numbers.into_iter().any(|byte: usize| region.bytes.contains(&byte))
}

fn bundle() -> Vec<u8> {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let path = place.path("job.zip");
    place.run(&["export", &job, "--out", text(&path)]).expect(0);
    std::fs::read(path).unwrap()
}

/// The headers and contents of a sound bundle, and its directory.
fn regions(bundle: &[u8]) -> Vec<Region> {
    let mut regions = Vec::new();
    let mut at = 0;
    while bundle[at..].starts_with(&FILE) {
        let number = |place: usize, bytes: usize| {
            let bytes = &bundle[at + place..at + place + bytes];
            bytes.iter().rev().fold(0, |number, byte| number << 8 | usize::from(*byte))
        };
        let content = at + HEADER + number(26, 2);
        let path = std::str::from_utf8(&bundle[at + HEADER..content]).unwrap();
        let name = path.split_once('/').unwrap().1.to_owned();
        let end = content + number(18, 4);
        regions.push(Region { name: name.clone(), bytes: at..content });
        regions.push(Region { name, bytes: content..end });
        at = end;
    }
    regions.push(Region { name: "directory".into(), bytes: at..bundle.len() });
    // A file without content has no byte to turn.
    regions.retain(|region| !region.bytes.is_empty());
    regions
}

/// Numbers out of one seed (`SplitMix64`).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) % end as u64) as usize
    }
}
