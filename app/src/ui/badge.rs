//! Badges: a verdict or a status is always a word and a shape; colour only helps.

use leptos::prelude::*;
use shared_types::job::Reading;
use shared_types::status::{JobStatus, ReadingVerdict, StepStatus, is_expired};
use shared_types::time::Day;
use shared_types::worksheet::Verdict;

/// What a colour stands for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tone {
    /// Nothing special.
    #[default]
    Plain,
    /// In hand.
    Blue,
    /// As it should be.
    Good,
    /// Look closer.
    Close,
    /// Not as it should be.
    Bad,
}

impl Tone {
    /// The value of `data-tone` in the styles.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Blue => "blue",
            Self::Good => "good",
            Self::Close => "close",
            Self::Bad => "bad",
        }
    }
}

/// The shape beside a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// An open ring: not begun.
    Ring,
    /// A ring half filled: in work.
    Half,
    /// A filled disc: finished.
    Disc,
    /// A ring with a bar: left out.
    Bar,
    /// A square with a pointer: handed over.
    Handed,
    /// A square with a pointer back: sent back.
    Back,
    /// An inspector's eight-sided stamp with a tick.
    Stamp,
    /// The stamp, broken.
    BrokenStamp,
    /// A tick in a ring.
    Tick,
    /// A cross in a diamond.
    Cross,
    /// A wave in a triangle.
    Wave,
    /// A six-sided stop with a bar: wait here.
    Hold,
    /// A ring with a wave: a fastener that moves.
    Loose,
    /// An oval: a hole out of round.
    Oval,
    /// A ring with a zigzag to its rim: a crack.
    Crack,
    /// A ring open at one side: torn out.
    Torn,
    /// A ring in a ring: a hole without a fastener.
    Hollow,
}

impl Shape {
    /// Its outline in a square of 16 by 16.
    #[must_use]
    pub const fn path(self) -> &'static str {
        match self {
            Self::Ring => "<circle cx='8' cy='8' r='6'/>",
            Self::Half => "<circle cx='8' cy='8' r='6'/><path d='M8 2a6 6 0 0 1 0 12z' fill='currentColor'/>",
            Self::Disc => "<circle cx='8' cy='8' r='6' fill='currentColor'/>",
            Self::Bar => "<circle cx='8' cy='8' r='6'/><path d='M4.5 8h7'/>",
            Self::Handed => {
                "<rect x='2' y='2' width='12' height='12'/><path d='M5 8h6M8.5 5.5 11 8l-2.5 2.5'/>"
            }
            Self::Back => "<rect x='2' y='2' width='12' height='12'/><path d='M11 8H5M7.5 5.5 5 8l2.5 2.5'/>",
            Self::Stamp => "<path d='M5.5 1.5h5l4 4v5l-4 4h-5l-4-4v-5z'/><path d='m5 8.2 2.2 2.2L11.2 6'/>",
            Self::BrokenStamp => {
                "<path d='M5.5 1.5h5l4 4v5M10.5 14.5h-5l-4-4v-5'/><path d='M8 4.5V9M8 11.2v.3'/>"
            }
            Self::Tick => "<circle cx='8' cy='8' r='6.5'/><path d='m5 8.2 2.2 2.2L11.2 6'/>",
            Self::Cross => "<path d='M8 1 15 8l-7 7-7-7z'/><path d='m5.8 5.8 4.4 4.4M10.2 5.8l-4.4 4.4'/>",
            Self::Wave => "<path d='M8 1.5 15 14H1z'/><path d='M5 10.5c1-1.2 2-1.2 3 0s2 1.2 3 0'/>",
            Self::Hold => "<path d='M4.5 2h7L15 8l-3.5 6h-7L1 8z'/><path d='M5 8h6' stroke-width='2.5'/>",
            Self::Loose => {
                "<circle cx='8' cy='8' r='6'/><path d='M4.5 8.5c1.2-1.5 2.3-1.5 3.5 0s2.3 1.5 3.5 0'/>"
            }
            Self::Oval => "<ellipse cx='8' cy='8' rx='7' ry='4'/><path d='M8 6.5v3'/>",
            Self::Crack => "<circle cx='8' cy='8' r='6'/><path d='M8 14l-1.5-3L9 9 7 6.5'/>",
            Self::Torn => "<path d='M4 12.5a6 6 0 1 1 8 0'/><path d='m4 12.5-1 3M12 12.5l1 3'/>",
            Self::Hollow => "<circle cx='8' cy='8' r='6'/><circle cx='8' cy='8' r='2.5'/>",
        }
    }
}

/// A word and a shape.
#[component]
pub fn Badge(#[prop(into)] word: String, shape: Shape, #[prop(optional)] tone: Tone) -> impl IntoView {
    view! {
        <span class="badge" data-tone=tone.name()>
            <svg viewBox="0 0 16 16" fill="none" stroke="currentColor" stroke-width="1.5" aria-hidden="true" inner_html=shape.path()></svg>
            {word}
        </span>
    }
}

/// Where a step stands.
#[component]
pub fn StepBadge(status: StepStatus) -> impl IntoView {
    let (shape, tone) = match &status {
        StepStatus::Planned => (Shape::Ring, Tone::Plain),
        StepStatus::Skipped => (Shape::Bar, Tone::Plain),
        StepStatus::InWork => (Shape::Half, Tone::Blue),
        StepStatus::Finished => (Shape::Disc, Tone::Plain),
        StepStatus::Offered { .. } => (Shape::Handed, Tone::Blue),
        StepStatus::Accepted { since, .. } if since.is_empty() => (Shape::Stamp, Tone::Good),
        StepStatus::Accepted { .. } => (Shape::BrokenStamp, Tone::Close),
        StepStatus::Returned { .. } => (Shape::Back, Tone::Bad),
    };
    view! { <Badge word=status.word() shape tone/> }
}

/// Where a job stands.
#[component]
pub fn JobBadge(status: JobStatus) -> impl IntoView {
    let (word, shape, tone) = match status {
        JobStatus::Returned => ("returned", Shape::Back, Tone::Bad),
        JobStatus::Waiting => ("waiting for inspection", Shape::Handed, Tone::Blue),
        JobStatus::Open => ("open", Shape::Half, Tone::Plain),
        JobStatus::Done => ("done", Shape::Stamp, Tone::Good),
    };
    view! { <Badge word shape tone/> }
}

/// A verdict's shape as a letter, and its word.
#[must_use]
pub const fn verdict_sign(verdict: Verdict) -> (&'static str, &'static str) {
    match verdict {
        Verdict::Within => ("✓", "within"),
        Verdict::TooClose => ("≈", "too close to call"),
        Verdict::Outside => ("✗", "outside"),
    }
}

/// What a calculation says of a value.
#[component]
pub fn VerdictBadge(
    verdict: Verdict,
    /// Instead of the plain word.
    #[prop(optional, into)]
    word: Option<String>,
) -> impl IntoView {
    let (shape, tone) = match verdict {
        Verdict::Within => (Shape::Tick, Tone::Good),
        Verdict::TooClose => (Shape::Wave, Tone::Close),
        Verdict::Outside => (Shape::Cross, Tone::Bad),
    };
    view! { <Badge word=word.unwrap_or_else(|| verdict_sign(verdict).1.to_owned()) shape tone/> }
}

/// What a reading says against its limits.
#[component]
pub fn ReadingBadge(reading: Reading) -> impl IntoView {
    match reading.verdict() {
        ReadingVerdict::Empty => view! { <Badge word="no value yet" shape=Shape::Ring/> }.into_any(),
        ReadingVerdict::NoLimits => view! { <Badge word="no limits given" shape=Shape::Ring/> }.into_any(),
        ReadingVerdict::Unreadable(words) => {
            view! { <Badge word=words shape=Shape::Wave tone=Tone::Close/> }.into_any()
        }
        ReadingVerdict::Judged { verdict, words } => view! { <VerdictBadge verdict word=words/> }.into_any(),
    }
}

/// Says loudly when something has expired, quietly when it has not.
#[component]
pub fn ExpiryBadge(expiry: Option<Day>, today: Day) -> impl IntoView {
    expiry.map(|day| {
        if is_expired(Some(day), today) {
            view! { <Badge word=format!("EXPIRED on {day}") shape=Shape::Cross tone=Tone::Bad/> }.into_any()
        } else {
            view! { <Badge word=format!("good until {day}") shape=Shape::Tick tone=Tone::Plain/> }.into_any()
        }
    })
}

/// Marks a step that must be accepted before a later one may start.
#[component]
pub fn HoldPointMark() -> impl IntoView {
    view! { <Badge word="hold point" shape=Shape::Hold tone=Tone::Close/> }
}
