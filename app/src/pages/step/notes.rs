//! Notes of one moment.

use leptos::prelude::*;
use serde_json::json;
use shared_types::entity::Entity as _;
use shared_types::ids::NoteId;
use shared_types::job::{JobState, Moment, Note};

use super::Place;
use crate::clock;
use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::pages::parts::items;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section};

/// The notes of one moment, and a place to write one without opening anything.
#[component]
pub fn Notes(place: Place, moment: Moment) -> impl IntoView {
    let store = use_store();
    let all = items(place.state, Some(place.step), |state: &JobState| &state.notes);
    let open = RwSignal::new(false);
    let altered = RwSignal::new(None::<NoteId>);
    let subject = move |()| {
        let id = altered.get_untracked().unwrap_or_default();
        let content =
            all.with_untracked(|all| all.iter().find(|(it, _)| *it == id).map(|(_, it)| it.content()));
        Subject::altered("note.v1", id, content.unwrap_or_default()).on(Some(place.step))
    };
    let draft = Signal::derive(move || altered.get().map_or_else(String::new, |id| format!("note/{id}")));
    let take_out = move |id: NoteId| {
        let body = Subject::new("note.v1", id).on(Some(place.step)).retirement();
        store.dispatch(place.log, body.into_iter().collect(), "Note taken out");
    };
    let written = RwSignal::new(0_u32);
    view! {
        <Section title="Notes">
            <ul class="notes">
                {move || all.get().into_iter().filter(|(_, it)| it.moment.or_empty() == moment).map(|(id, it)| view! {
                    <li class="line">
                        <div class="grow">
                            <p class="prewrap">{it.text.or_empty().0.clone()}</p>
                            <p class="small muted">{by(place, &it)}</p>
                        </div>
                        {place.may_note.then(|| view! {
                            <span class="line-ends">
                                <Button label="Alter the note" icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| {
                                    altered.set(Some(id));
                                    open.set(true);
                                }/>
                                <Button label="Take the note out" icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=move |()| take_out(id)/>
                            </span>
                        })}
                    </li>
                }).collect_view()}
            </ul>
            {move || {
                // A fresh field once a note is saved.
                written.track();
                place.may_note.then(|| view! { <NewNote place moment on_saved=move |()| written.update(|it| *it += 1)/> })
            }}
            <EntrySheet title="Alter the note" open log=place.log specs=specs::NOTE subject draft done="Note saved"/>
        </Section>
    }
}

fn by(place: Place, note: &Note) -> String {
    let store = use_store();
    let mark = note.created();
    mark.map(|mark| format!("{}, {}", store.name_of(place.shop, mark.author), clock::moment(mark.stamp.0)))
        .unwrap_or_default()
}

#[component]
fn NewNote(place: Place, moment: Moment, #[prop(into)] on_saved: Callback<()>) -> impl IntoView {
    let store = use_store();
    let subject = Subject::new("note.v1", store.uuid()).on(Some(place.step)).with("moment", json!(moment));
    let form =
        Form::new(place.log, &specs::NOTE[..1], subject, &format!("{}/note/{}", place.step, moment.word()));
    let dirty = form.is_dirty();
    view! {
        <form class="stack stack--tight" novalidate on:submit=move |event| {
            event.prevent_default();
            form.save(place.log, "Note added".to_owned(), move || on_saved.run(()));
        }>
            {form.fields(Signal::default())}
            {move || dirty.get().then(|| view! {
                <div class="cluster"><Button label="Save the note" icon=Icon::Check submit=true on_press=|()| ()/></div>
            })}
        </form>
    }
}
