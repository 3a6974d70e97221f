//! Words as they are searched for: without case and accents, and in the pieces that people remember of a
//! part number. Cut here and not by the database, so that both find the same.

use std::collections::BTreeSet;

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// Longer words are cut: nobody types more, and PostgreSQL takes no word without end.
const LONGEST: usize = 60;
/// A part number has a few parts; so many ends of one can be searched for.
const ENDS: usize = 6;
/// More wanted words than this are let go.
const MOST_WANTED: usize = 8;

/// The words that somebody wants: at least one, of letters and digits alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted(Vec<String>);

impl Wanted {
    /// Reads what was typed; nothing when no letter and no digit is in it.
    #[must_use]
    pub fn read(typed: &str) -> Option<Self> {
        let words: Vec<String> = chunks(typed)
            .map(|chunk| whole(&chunk))
            .filter(|word| !word.is_empty())
            .take(MOST_WANTED)
            .collect();
        (!words.is_empty()).then_some(Self(words))
    }

    /// The words.
    pub(crate) fn words(&self) -> &[String] {
        &self.0
    }
}

/// The words that a text can be found by, each once, parted by spaces.
///
/// `MS20470AD4-5` is found by its beginning, with and without the dash, and by what follows where letters
/// and digits meet: `20470AD4-5`, `AD4-5`, `AD4`.
pub(crate) fn index_words<'a>(texts: impl IntoIterator<Item = &'a str>) -> String {
    let mut words = BTreeSet::new();
    for chunk in texts.into_iter().flat_map(chunks) {
        for word in chunk.iter().map(String::as_str).chain([whole(&chunk).as_str()]) {
            words.extend(ends(word).filter(|end| !end.is_empty()).map(str::to_owned));
        }
    }
    words.into_iter().collect::<Vec<_>>().join(" ")
}

/// What stands between spaces, in pieces of letters and digits.
fn chunks(text: &str) -> impl Iterator<Item = Vec<String>> {
    text.split_whitespace().map(|chunk| {
        let folded: String = chunk.nfkd().filter(|it| !is_combining_mark(*it)).collect();
        let folded = folded.to_lowercase().replace('ß', "ss");
        folded.split(|it: char| !it.is_alphanumeric()).filter(|it| !it.is_empty()).map(cut).collect()
    })
}

/// The pieces of a chunk as one word: dashes and dots are typed or left out as it comes.
fn whole(chunk: &[String]) -> String {
    cut(&chunk.concat())
}

fn cut(word: &str) -> String {
    word.chars().take(LONGEST).collect()
}

/// A word, and its ends from each place where a letter meets a digit.
fn ends(word: &str) -> impl Iterator<Item = &str> {
    let meets = word.char_indices().zip(word.char_indices().skip(1));
    let places = meets.filter(|((_, before), (_, after))| before.is_numeric() != after.is_numeric());
    let places = places.map(|(_, (at, _))| at).take(ENDS);
    std::iter::once(0).chain(places).filter_map(|at| word.get(at..))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wanted(typed: &str) -> Vec<String> {
        Wanted::read(typed).map(|it| it.0).unwrap_or_default()
    }

    /// Would a text be found?
    fn finds(text: &str, typed: &str) -> bool {
        let words = index_words([text]);
        wanted(typed).iter().all(|want| words.split(' ').any(|word| word.starts_with(want)))
    }

    #[test]
    fn a_part_number_is_found_by_its_parts() {
        for typed in [
            "MS20470AD4-5",
            "ms20470ad4-5",
            "MS20470AD4",
            "MS20470",
            "20470AD4-5",
            "AD4-5",
            "ad45",
            "AD4",
            "MS20470AD45",
        ] {
            assert!(finds("Rivet MS20470AD4-5, universal head", typed), "{typed}");
        }
        for typed in ["MS20426", "AD5", "0470AD4-5", "AD4-6"] {
            assert!(!finds("Rivet MS20470AD4-5, universal head", typed), "{typed}");
        }
    }

    #[test]
    fn case_and_accents_make_no_difference() {
        assert!(finds("Flügelspitze, weiß", "flugelspitze WEISS"));
        assert!(finds("Flugelspitze", "FLÜGEL"));
        assert!(finds("Ａ２３", "a23"), "wide letters");
    }

    #[test]
    fn nothing_but_letters_and_digits_is_left() {
        assert_eq!(wanted("'; DROP TABLE found; --\" OR *"), ["drop", "table", "found", "or"]);
        assert_eq!(wanted("a:* & !b | (c)"), ["a", "b", "c"]);
        assert_eq!(wanted(" -- \" ' * "), Vec::<String>::new());
        assert_eq!(wanted(&"x".repeat(1000)), ["x".repeat(60)]);
        assert_eq!(wanted(&"a b ".repeat(20)).len(), MOST_WANTED);
        let words = index_words(["a1".repeat(5000).as_str(), "b", " ", "…"]);
        assert!(words.len() < 1000, "{words}");
        assert!(
            words.split(' ').all(|word| !word.is_empty() && word.chars().all(char::is_alphanumeric)),
            "{words}"
        );
        assert_eq!(index_words([" "]), "");
    }
}
