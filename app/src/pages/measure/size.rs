//! The known size: a rectangle on the part, or one length on a photo taken square-on.

use leptos::prelude::*;
use photo_measure::{MARK_UNCERTAINTY, Outcome, Quality, Refusal, STRETCH_MOST, Sides};

use super::desk::Desk;
use super::marks::Group;
use super::points::List;
use super::question::Asked;
use crate::ui::{Banner, Button, ButtonKind, Choice, Icon, NumberField, SelectField, TickField, Tone};

/// A sheet of a known size: its name, its sides, and how far either may be off. Sizes: ISO/IEC 7810
/// and ISO 216 as published; what they may be off, from memory of the same standards.
struct Known {
    name: &'static str,
    sides: [&'static str; 2],
    doubt: &'static str,
}

const KNOWN: [Known; 2] = [
    Known { name: "Card (ISO/IEC 7810 ID-1)", sides: ["85.60 mm", "53.98 mm"], doubt: "0.13 mm" },
    Known { name: "Sheet A6 (ISO 216)", sides: ["148 mm", "105 mm"], doubt: "1.5 mm" },
];

/// What has a known size, and how well its marks hold.
#[component]
pub fn KnownSize(desk: Desk) -> impl IntoView {
    let kinds = [("rectangle", "A rectangle"), ("length", "One length")];
    let kinds = kinds.map(|(value, word)| (value.to_owned(), word.to_owned())).to_vec();
    let lens = [
        ("phone", "A phone's, straightened by the phone: 0.5 %"),
        ("wide", "Wide-angle, not straightened: 2 %"),
        ("straight", "Known to be straight"),
    ];
    let lens = lens.map(|(value, word)| (value.to_owned(), word.to_owned())).to_vec();
    view! {
        <Choice label="What has a known size" value=desk.text("reference") options=kinds/>
        {move || if *desk.text("reference").read() == "length" {
            view! { <Length desk/> }.into_any()
        } else {
            view! { <Rectangle desk/> }.into_any()
        }}
        <div class="fields">
            <SelectField label="Lens" value=desk.text("lens") options=Signal::stored(lens) hint="How much the picture may be bent at its corners: it goes into the uncertainty"/>
        </div>
        <div role="status">{move || held(desk)}</div>
        {move || desk.group().map(|group| view! { <List desk group/> })}
        <div class="cluster">
            <Button label="Start anew" kind=ButtonKind::Quiet icon=Icon::Archive disabled=Signal::derive(move || desk.marks.read().is_empty()) on_press=move |()| desk.clear()/>
        </div>
    }
}

fn fault(desk: Desk, field: &'static str) -> Signal<Option<String>> {
    Signal::derive(move || {
        let typed = desk.asked.with(|asked| match asked {
            Some(Asked::Wrong(fault)) if fault.field == field => Some(fault.words.clone()),
            _ => None,
        });
        typed.or_else(|| match desk.outcome.get()? {
            Outcome::Refused(why) if why.field.split('.').next() == Some(field) => Some(sentence(&why)),
            _ => None,
        })
    })
}

#[component]
fn Rectangle(desk: Desk) -> impl IntoView {
    let pick = move |known: &'static Known| {
        let set = move |()| {
            for (name, text) in ["width", "height"].into_iter().zip(known.sides) {
                desk.text(name).set(text.to_owned());
            }
            desk.text("doubt").set(known.doubt.to_owned());
        };
        view! { <Button label=known.name on_press=set/> }
    };
    let four = Signal::derive(move || desk.marks.read().corners.len() >= 4);
    view! {
        <p>"Tap its four corners, one after the other around it. Where corners are round, as a card's are, mark where the sides would meet. It must lie flat on the part."</p>
        <div class="cluster">{KNOWN.iter().map(pick).collect_view()}</div>
        <div class="fields fields--entry">
            <NumberField label="Corner 1 to corner 2" value=desk.text("width") error=fault(desk, "width")/>
            <NumberField label="Corner 2 to corner 3" value=desk.text("height") error=fault(desk, "height")/>
            <NumberField label="Plus or minus" value=desk.text("doubt") error=fault(desk, "doubt") hint="How far either side may be off"/>
        </div>
        {move || four.get().then(|| view! {
            <TickField label="Mark the corners once more: the app then knows how well you mark" value=desk.tick("again")/>
        })}
    }
}

#[component]
fn Length(desk: Desk) -> impl IntoView {
    view! {
        <Banner tone=Tone::Close><p>"One length holds only on a photo taken square-on: nothing shows how far it is slanted."</p></Banner>
        <p>"Tap both ends of something whose length you know."</p>
        <div class="fields fields--entry">
            <NumberField label="Its length" value=desk.text("length") error=fault(desk, "length") hint="2 in, 50 mm"/>
            <NumberField label="Plus or minus" value=desk.text("doubt") error=fault(desk, "doubt") hint="How far it may be off"/>
        </div>
    }
}

/// What is missing, or how well the marks hold.
fn held(desk: Desk) -> AnyView {
    if let Some(Asked::Missing(left)) = desk.asked.get() {
        let what = if desk.group() == Some(Group::Ends) { ("end", "ends") } else { ("corner", "corners") };
        let words = crate::words::count(left, what.0, what.1);
        return view! { <p class="muted">{format!("{words} to mark.")}</p> }.into_any();
    }
    let Some(Outcome::Said(answer)) = desk.outcome.get() else { return ().into_any() };
    let exchange = move |()| {
        let (width, height) = (desk.text("width"), desk.text("height"));
        let was = width.get_untracked();
        width.set(height.get_untracked());
        height.set(was);
    };
    let way_round = match answer.sides {
        Sides::Fit => None,
        Sides::Exchanged => {
            Some("The two sides look exchanged: corner 1 to corner 2 seems to be the other one.")
        }
        Sides::Either => Some(
            "From here the rectangle looks the same either way round: look at the part whether corner 1 to corner 2 is the side that stands first.",
        ),
    };
    let way_round = way_round.map(|words| {
        let kind = if answer.sides == Sides::Exchanged { ButtonKind::Primary } else { ButtonKind::Plain };
        view! {
            <Banner tone=Tone::Close>
                <p>{words}</p>
                <Button label="Exchange the sides" kind on_press=exchange/>
            </Banner>
        }
    });
    if answer.sides == Sides::Exchanged {
        return way_round.into_any();
    }
    let stretched = answer.quality.stretch > STRETCH_MOST;
    view! {
        <p class="small muted">{quality(&answer.quality)}</p>
        {way_round}
        {stretched.then(|| view! {
            <Banner tone=Tone::Close>
                <p>{format!("No camera sees a rectangle of this size like that: one way it would be {:.0} % longer. Check its sides, its corners, and whether the photo was cropped.", answer.quality.stretch * 100.0)}</p>
            </Banner>
        })}
    }
    .into_any()
}

/// How well the marks hold, in words.
fn quality(quality: &Quality) -> String {
    let deviation = quality.mark_uncertainty.0;
    match quality.degrees_of_freedom {
        Some(_) => {
            let worst = quality.residuals.iter().map(|it| it.0).fold(0.0, f64::max);
            format!(
                "The two markings say that a mark is off by {deviation:.1} px; the worst one by {worst:.1} px."
            )
        }
        None => format!(
            "A mark is taken to be off by {:.1} px: no second marking says better.",
            MARK_UNCERTAINTY.0
        ),
    }
}

/// A refusal as a sentence, with people's names for the marks.
#[must_use]
pub fn sentence(why: &Refusal) -> String {
    let field = why.field.split('.').next().unwrap_or_default();
    let (name, rest) = field.split_once('[').unwrap_or((field, ""));
    let index = rest.split(']').next().and_then(|it| it.parse::<usize>().ok());
    let name = match (name, index) {
        ("marks", Some(at)) => Group::Corners.name(at),
        ("holes", Some(at)) => Group::Holes.name(at),
        ("edge", Some(at)) => Group::Edge.name(at),
        ("marks", None) => "The marks".to_owned(),
        ("edge", None) => "The edge".to_owned(),
        ("width", _) => "Corner 1 to corner 2".to_owned(),
        ("height", _) => "Corner 2 to corner 3".to_owned(),
        ("length", _) => "The length".to_owned(),
        ("axes", _) => "The direction of x".to_owned(),
        (other, _) => other.to_owned(),
    };
    format!("{name} {}. Accepted: {}.", why.reason, why.accepted)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(field: &str) -> Refusal {
        let (reason, accepted) = ("lies too close to another one".to_owned(), "20 px or more".to_owned());
        Refusal { field: field.to_owned(), reason, accepted }
    }

    #[test]
    fn a_refusal_names_the_mark_as_the_screen_does() {
        let said = sentence(&refusal("marks[2]"));
        assert_eq!(said, "Corner 3 lies too close to another one. Accepted: 20 px or more.");
        assert!(sentence(&refusal("holes[0]")).starts_with("Hole 1 "));
        assert!(sentence(&refusal("width.uncertainty")).starts_with("Corner 1 to corner 2 "));
        assert!(sentence(&refusal("marks")).starts_with("The marks "));
    }
}
