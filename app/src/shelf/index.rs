//! Search as one types: every word must occur, and what begins with it comes first. The index is
//! built once; a search walks it, which takes a fraction of a millisecond for some thousand entries.

use shared_types::ids::StockId;
use shared_types::shop::StockKind;

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// An item on the shelf.
    Shelf(StockId),
    /// A row of the catalogue, by its place.
    Listed(usize),
}

/// Something to be found.
#[derive(Clone, Debug)]
pub struct Entry {
    /// What it is.
    pub what: What,
    /// Its name or part number: counts most.
    pub name: String,
    /// What else may be searched by.
    pub beside: String,
    /// On which kind of line it goes, if on any.
    pub kind: Option<StockKind>,
    /// Is it good to use? The others come later.
    pub good: bool,
}

#[derive(Clone, Debug, PartialEq)]
struct Known {
    what: What,
    kind: Option<StockKind>,
    good: bool,
    name: String,
    // Name and everything beside it, as words with a space before each.
    all: String,
}

/// Entries ready to be searched.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Index(Vec<Known>);

/// The best of what was found, and how much there was.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Best first.
    pub best: Vec<What>,
    /// How many there were in all.
    pub count: usize,
}

/// How well an entry fits, the less the better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fit {
    NameIsIt,
    NameBeginsWithIt,
    NameHasWords,
    WordsBegin,
    Somewhere,
}

impl Index {
    /// Builds it; the entries keep their order where they fit equally well.
    #[must_use]
    pub fn new(entries: impl IntoIterator<Item = Entry>) -> Self {
        let mut known: Vec<_> = entries
            .into_iter()
            .map(|entry| {
                let name = plain(&entry.name);
                let all = format!(" {name} {}", plain(&entry.beside));
                Known { what: entry.what, kind: entry.kind, good: entry.good, name, all }
            })
            .collect();
        known.sort_by(|one, other| {
            one.name.len().cmp(&other.name.len()).then_with(|| one.name.cmp(&other.name))
        });
        Self(known)
    }

    /// How many entries there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Is there none?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The best `most` entries of a kind in which every word of the query occurs. An empty query finds all.
    #[must_use]
    pub fn search(&self, query: &str, kind: Option<StockKind>, most: usize) -> Found {
        let query = plain(query);
        let words: Vec<&str> = query.split(' ').filter(|word| !word.is_empty()).collect();
        let mut found: Vec<(bool, Fit, usize)> = Vec::new();
        for (place, entry) in self.0.iter().enumerate() {
            if kind.is_some() && entry.kind != kind {
                continue;
            }
            if let Some(fit) = entry.fit(&query, &words) {
                found.push((!entry.good, fit, place));
            }
        }
        let count = found.len();
        found.sort_unstable();
        let best = found.into_iter().take(most).filter_map(|(.., place)| Some(self.0.get(place)?.what));
        Found { best: best.collect(), count }
    }
}

impl Known {
    fn fit(&self, query: &str, words: &[&str]) -> Option<Fit> {
        if !words.iter().all(|word| self.all.contains(word)) {
            return None;
        }
        let begins = |text: &str, word: &str| {
            text.match_indices(word).any(|(at, _)| at == 0 || text.as_bytes().get(at - 1) == Some(&b' '))
        };
        Some(if self.name == query {
            Fit::NameIsIt
        } else if self.name.starts_with(query) {
            Fit::NameBeginsWithIt
        } else if words.iter().all(|word| begins(&self.name, word)) {
            Fit::NameHasWords
        } else if words.iter().all(|word| begins(&self.all, word)) {
            Fit::WordsBegin
        } else {
            Fit::Somewhere
        })
    }
}

/// Small letters, one space between words; what stands between parts of a number separates words.
/// Fractions, decimals and drill numbers stay whole: `1/8`, `0.032`, `#30`.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars().flat_map(char::to_lowercase) {
        if letter.is_alphanumeric() || matches!(letter, '/' | '.' | '#' | '°') {
            plain.push(letter);
        } else if !plain.ends_with(' ') && !plain.is_empty() {
            plain.push(' ');
        }
    }
    plain.truncate(plain.trim_end().len());
    plain
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Instant;
    use uuid::Uuid;

    fn entry(place: usize, name: &str, beside: &str) -> Entry {
        let kind = Some(StockKind::Hardware);
        Entry {
            what: What::Listed(place),
            name: name.to_owned(),
            beside: beside.to_owned(),
            kind,
            good: true,
        }
    }

    fn names(index: &Index, entries: &[Entry], query: &str) -> Vec<String> {
        let name = |what: &What| entries.iter().find(|entry| entry.what == *what).unwrap().name.clone();
        index.search(query, None, 9).best.iter().map(name).collect()
    }

    #[test]
    fn what_begins_with_the_words_comes_before_what_has_them_somewhere() {
        let entries = [
            entry(0, "washer AD4", "flat"),
            entry(1, "MS20470AD4-5", "solid rivet, universal head, 1/8 × 5/16 in"),
            entry(2, "MS20470AD4-5A", "solid rivet"),
            entry(3, "MS20426AD4-5", "solid rivet, countersunk head, 1/8 × 5/16 in"),
            entry(4, "AD4", "rivet alloy"),
        ];
        let index = Index::new(entries.clone());
        let names = |query: &str| names(&index, &entries, query);
        assert_eq!(names("ms20470ad4-5"), ["MS20470AD4-5", "MS20470AD4-5A"]);
        assert_eq!(names("AD4"), ["AD4", "washer AD4", "MS20426AD4-5", "MS20470AD4-5", "MS20470AD4-5A"]);
        assert_eq!(names("countersunk 1/8"), ["MS20426AD4-5"]);
        assert_eq!(names("rivet 5/16 universal"), ["MS20470AD4-5"]);
        assert_eq!(names("ms20470 ad4 5"), ["MS20470AD4-5", "MS20470AD4-5A"]);
        assert!(names("ms20470 nut").is_empty());
        assert_eq!(names(" ").len(), 5, "an empty query finds all");
    }

    #[test]
    fn what_is_not_good_to_use_comes_last_and_other_kinds_not_at_all() {
        let mut entries =
            [entry(0, "sealant", "old"), entry(1, "sealant two-part", ""), entry(2, "sealant", "")];
        entries[0].good = false;
        entries[2].kind = Some(StockKind::Material);
        let index = Index::new(entries);
        let found = index.search("sealant", Some(StockKind::Hardware), 9);
        assert_eq!(found.best, [What::Listed(1), What::Listed(0)]);
        let found = index.search("sealant", None, 1);
        assert_eq!((found.best.len(), found.count), (1, 3));
    }

    #[test]
    fn two_thousand_items_and_the_catalogue_are_searched_in_time() {
        let shelf = (0..2000_u128).map(|n| Entry {
            what: What::Shelf(StockId(Uuid::from_u128(n))),
            name: format!("MS20470AD{}-{}", n % 6 + 2, n % 16),
            beside: format!("solid rivet, universal head, batch R-{n} certificate {n} drawer {}", n % 40),
            kind: Some(StockKind::Hardware),
            good: n % 7 != 0,
        });
        let listed = calculations::catalogue::listing::catalogue();
        let listed = super::super::catalogue::entries(&listed.rows);
        let (shelf, listed) = (Index::new(shelf), Index::new(listed));
        assert!(shelf.len() == 2000 && listed.len() > 1000);
        let begun = Instant::now();
        let typed = "solid rivet 1/8";
        for end in 1..=typed.len() {
            assert!(
                shelf.search(&typed[..end], None, 8).count + listed.search(&typed[..end], None, 8).count > 0
            );
        }
        // The limit is 30 ms per key on a phone; a debug build here may take longer than a phone.
        let per_key = begun.elapsed() / u32::try_from(typed.len()).unwrap();
        assert!(per_key.as_millis() < 100, "{per_key:?} per key");
    }
}
