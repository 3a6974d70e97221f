//! A section of lines on a step: what is recorded, a way to add one, a sheet to enter or alter it.

use leptos::prelude::*;
use serde_json::{Map, Value};

use super::Place;
use super::picks::Pick;
use crate::entry::form::{EntrySheet, Form, Suggestions};
use crate::entry::{Spec, Subject};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section};
use crate::words::capital;

/// One recorded line.
#[derive(Clone)]
pub struct Line {
    /// Its id.
    pub id: String,
    /// Its values.
    pub content: Map<String, Value>,
    /// How it is shown.
    pub view: ViewFn,
}

/// What a section of lines is of.
#[derive(Clone, Copy)]
pub struct Kind {
    /// The kind of its changes.
    pub kind: &'static str,
    /// The section's heading.
    pub title: &'static str,
    /// One of them, for the sheet's heading and the remarks: "hardware line".
    pub one: &'static str,
    /// What is said while there is none.
    pub none: &'static str,
    /// The fields.
    pub specs: &'static [Spec],
}

/// A section of lines.
#[component]
pub fn Lines(
    place: Place,
    kind: Kind,
    #[prop(into)] lines: Signal<Vec<Line>>,
    /// What was used before: one tap fills the fields.
    #[prop(into)]
    picks: Signal<Vec<Pick>>,
    /// Set along with what is typed into a new one.
    #[prop(optional, into)]
    fixed: Option<Callback<(), Vec<(&'static str, Value)>>>,
    /// Shown above the fields, before what was used before.
    #[prop(optional, into)]
    above: Option<Callback<Form, AnyView>>,
    /// Shown below the fields.
    #[prop(optional, into)]
    below: Option<Callback<Form, AnyView>>,
    /// Shown beside the button that saves.
    #[prop(optional, into)]
    verdict: Option<Callback<Form, AnyView>>,
    /// Says whether it may be saved.
    #[prop(optional, into)]
    check: Option<Callback<Form, bool>>,
    /// Shown at the end of the section.
    #[prop(optional, into)]
    foot: ViewFn,
) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let altered = RwSignal::new(None::<String>);
    let step = Some(place.step);
    let found = move |id: &str| {
        lines.with_untracked(|lines| lines.iter().find(|line| line.id == id).map(|line| line.content.clone()))
    };
    let subject = move |()| match altered.get_untracked() {
        Some(id) => Subject::altered(kind.kind, &id, found(&id).unwrap_or_default()).on(step),
        None => {
            let new = Subject::new(kind.kind, store.uuid()).on(step);
            let fixed = fixed.map(|fixed| fixed.run(())).unwrap_or_default();
            fixed.into_iter().fold(new, |new, (field, value)| new.with(field, value))
        }
    };
    let draft = Signal::derive(move || {
        altered
            .get()
            .map_or_else(|| format!("{}/{}/new", place.step, kind.kind), |id| format!("{}/{id}", kind.kind))
    });
    let edit = move |id: Option<String>| {
        altered.set(id);
        open.set(true);
    };
    let add = move || {
        place.may_work.then(|| {
            view! {
                <Button label="Add" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| edit(None)/>
            }
        })
    };
    let title = Signal::derive(move || {
        if altered.read().is_some() {
            format!("Alter the {}", kind.one)
        } else {
            format!("Add a {}", kind.one)
        }
    });
    view! {
        <Section title=kind.title end=add>
            {move || {
                let lines = lines.get();
                if lines.is_empty() {
                    return view! { <p class="muted">{kind.none}</p> }.into_any();
                }
                view! { <ul class="lines">{lines.into_iter().map(|line| view! { <Shown place kind line on_edit=edit/> }).collect_view()}</ul> }.into_any()
            }}
            {foot.run()}
            <EntrySheet
                title open log=place.log specs=kind.specs subject draft
                done=format!("{} saved", capital(kind.one))
                above=move |form| view! {
                    {above.map(|above| above.run(form))}
                    {picked(form, altered.read_untracked().is_none(), picks)}
                }.into_any()
                below=move |form| below.map(|below| below.run(form)).into_any()
                verdict=move |form| verdict.map(|verdict| verdict.run(form)).into_any()
                check=move |form| check.is_none_or(|check| check.run(form))
                suggestions=Signal::derive(move || offered(&picks.read()))
            />
        </Section>
    }
}

#[component]
fn Shown(
    place: Place,
    kind: Kind,
    line: Line,
    #[prop(into)] on_edit: Callback<Option<String>>,
) -> impl IntoView {
    let store = use_store();
    let id = StoredValue::new(line.id);
    let take_out = move |()| {
        let body = id.with_value(|id| Subject::new(kind.kind, id).on(Some(place.step)).retirement());
        store.dispatch(place.log, body.into_iter().collect(), format!("{} taken out", capital(kind.one)));
    };
    view! {
        <li class="line">
            <div class="grow">{line.view.run()}</div>
            {place.may_work.then(|| view! {
                <span class="line-ends">
                    <Button label=format!("Alter the {}", kind.one) icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| on_edit.run(Some(id.get_value()))/>
                    <Button label=format!("Take the {} out", kind.one) icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                </span>
            })}
        </li>
    }
}

/// The picks as buttons, while nothing is altered that was recorded before.
fn picked(form: Form, is_new: bool, picks: Signal<Vec<Pick>>) -> AnyView {
    let picks = picks.get_untracked();
    (is_new && !picks.is_empty())
        .then(|| {
            view! {
                <div class="picks" role="group" aria-label="The same again">
                    <span class="small muted">"The same again"</span>
                    {picks.into_iter().map(|pick| {
                        let label = pick.label.clone();
                        view! { <Button label on_press=move |()| form.fill(&pick.values)/> }
                    }).collect_view()}
                </div>
            }
        })
        .into_any()
}

/// What was entered before, field by field.
fn offered(picks: &[Pick]) -> Suggestions {
    let mut offered = Suggestions::new();
    for pick in picks {
        for (field, value) in &pick.values {
            let Some(text) = value.as_str().filter(|text| !text.is_empty()) else { continue };
            let values = offered.entry(field.clone()).or_default();
            if !values.iter().any(|it| it == text) {
                values.push(text.to_owned());
            }
        }
    }
    offered
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_was_entered_before_is_offered_once() {
        let pick = |tool: &str| Pick {
            label: tool.to_owned(),
            values: json!({ "tool": tool, "unit": "in", "stock": null }).as_object().unwrap().clone(),
        };
        let offered = offered(&[pick("calliper 3"), pick("pin gauge")]);
        assert_eq!(offered["tool"], ["calliper 3", "pin gauge"]);
        assert_eq!(offered["unit"], ["in"]);
        assert!(!offered.contains_key("stock"));
    }
}
