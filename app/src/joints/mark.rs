//! A hole as one mark: a shape and a word, helped by a colour.

use leptos::prelude::*;
use shared_types::joint::{Found, Hole, HoleResult};
use shared_types::worksheet::Verdict;

use crate::ui::{Badge, Shape, Tone};

/// How a hole is marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The shape on the drawing and beside the word.
    pub shape: Shape,
    /// The colour that helps.
    pub tone: Tone,
    /// The word.
    pub word: &'static str,
}

/// What was found, as a mark.
#[must_use]
pub const fn of_found(found: Found) -> Mark {
    let (shape, tone) = match found {
        Found::NotLookedAt => (Shape::Ring, Tone::Plain),
        Found::Tight => (Shape::Disc, Tone::Good),
        Found::Working => (Shape::Loose, Tone::Close),
        Found::Elongated => (Shape::Oval, Tone::Close),
        Found::CrackedEdge => (Shape::Crack, Tone::Bad),
        Found::TornOut => (Shape::Torn, Tone::Bad),
        Found::NoFastener => (Shape::Hollow, Tone::Close),
    };
    Mark { shape, tone, word: found.word() }
}

/// How the work came out, as a mark; nothing while it is open.
#[must_use]
pub const fn of_result(result: HoleResult) -> Option<Mark> {
    match result {
        HoleResult::Open => None,
        HoleResult::Pass => Some(Mark { shape: Shape::Tick, tone: Tone::Good, word: result.word() }),
        HoleResult::Fail => Some(Mark { shape: Shape::Cross, tone: Tone::Bad, word: result.word() }),
    }
}

/// What counts last: the result if there is one, else what was found.
#[must_use]
pub fn of_hole(hole: &Hole) -> Mark {
    of_result(hole.result.or_empty()).unwrap_or_else(|| of_found(hole.found.or_empty()))
}

/// What the pattern says of a hole, as a mark.
#[must_use]
pub const fn of_spacing(verdict: Verdict) -> Mark {
    match verdict {
        Verdict::Within => Mark { shape: Shape::Tick, tone: Tone::Good, word: "spacing within" },
        Verdict::TooClose => {
            Mark { shape: Shape::Wave, tone: Tone::Close, word: "spacing too close to call" }
        }
        Verdict::Outside => Mark { shape: Shape::Cross, tone: Tone::Bad, word: "spacing outside" },
    }
}

/// What the engine says of a driven head, as a mark.
#[must_use]
pub const fn of_head(verdict: Verdict) -> Mark {
    let word = match verdict {
        Verdict::Within => "driven head within",
        Verdict::TooClose => "driven head too close to call",
        Verdict::Outside => "driven head outside",
    };
    Mark { word, ..of_spacing(verdict) }
}

/// A mark as a badge.
#[component]
pub fn MarkBadge(
    mark: Mark,
    /// Instead of the mark's own word.
    #[prop(optional, into)]
    word: Option<String>,
) -> impl IntoView {
    view! { <Badge word=word.unwrap_or_else(|| mark.word.to_owned()) shape=mark.shape tone=mark.tone/> }
}
