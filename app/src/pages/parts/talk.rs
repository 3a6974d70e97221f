//! What people say to each other about a step. Nothing rests on it: what must be put right is a finding.

use leptos::prelude::*;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{CommentId, LogId, StepId};
use shared_types::review::{Comment, CommentPatch};

use super::{JobSignal, of_job};
use crate::clock;
use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::store::{Store, use_store};
use crate::ui::{Button, ButtonKind, Icon, Section};

/// A comment as it is shown.
#[derive(Clone, Debug, PartialEq)]
struct Said {
    id: CommentId,
    comment: Comment,
    by: Option<Mark>,
}

/// May the person signed in comment on this log's steps?
fn may_say(store: Store, log: LogId) -> bool {
    let set = CommentPatch::default();
    store.may(log, Known::Comment(OnStep { id: CommentId::default(), step: None, set }))
}

/// The comments on a step, oldest first, and a place to write one.
#[component]
pub fn Talk(log: LogId, step: StepId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let said = of_job(state, move |state| {
        let all = state.comments_on(step).into_iter();
        all.map(|(id, it)| Said { id, comment: it.clone(), by: it.created().copied() }).collect::<Vec<_>>()
    });
    let may = may_say(store, log);
    let (open, altered) = (RwSignal::new(false), RwSignal::new(CommentId::default()));
    let subject = move |()| {
        let id = altered.get_untracked();
        let content = said.with_untracked(|all| {
            all.iter().find(|it| it.id == id).map(|it| it.comment.content()).unwrap_or_default()
        });
        Subject::altered("comment.v1", id, content).on(Some(step))
    };
    let draft = Signal::derive(move || format!("comment/{}", altered.get()));
    let written = RwSignal::new(0_u32);
    view! {
        <Section title="Comments">
            {move || (said.read().is_empty()).then(|| view! { <p class="muted">"Nobody has said anything about this step."</p> })}
            <ol class="notes">
                <For each=move || said.get() key=|it| (it.id, it.comment.text.or_empty()) let:it>
                    <Shown log step it on_alter=move |id| {
                        altered.set(id);
                        open.set(true);
                    }/>
                </For>
            </ol>
            {move || {
                // A fresh field once a comment is saved.
                written.track();
                may.then(|| view! { <Say log step on_said=move |()| written.update(|it| *it += 1)/> })
            }}
            <EntrySheet title="Alter the comment" open log specs=specs::COMMENT subject draft done="Comment saved"/>
        </Section>
    }
}

#[component]
fn Shown(log: LogId, step: StepId, it: Said, #[prop(into)] on_alter: Callback<CommentId>) -> impl IntoView {
    let store = use_store();
    let id = it.id;
    let by = it
        .by
        .map(|mark| format!("{}, {}", store.name_of(log.shop(), mark.author), clock::moment(mark.stamp.0)));
    let me = store.me().get_untracked().map(|me| me.user);
    // A comment is its author's alone; the server refuses others' alterations.
    let own = me.is_some() && it.by.and_then(|mark| mark.author.person()) == me;
    let take_out = move |()| {
        let body = Subject::new("comment.v1", id).on(Some(step)).retirement();
        store.dispatch(log, body.into_iter().collect(), "Comment taken out");
    };
    view! {
        <li class="line">
            <div class="grow">
                <p class="prewrap">{it.comment.text.or_empty().0}</p>
                <p class="small muted">{by}</p>
            </div>
            {own.then(|| view! {
                <span class="line-ends">
                    <Button label="Alter the comment" icon_only=true kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| on_alter.run(id)/>
                    <Button label="Take the comment out" icon_only=true kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
                </span>
            })}
        </li>
    }
}

#[component]
fn Say(log: LogId, step: StepId, #[prop(into)] on_said: Callback<()>) -> impl IntoView {
    let store = use_store();
    let subject = Subject::new("comment.v1", store.uuid()).on(Some(step));
    let form = Form::new(log, specs::COMMENT, subject, &format!("{step}/comment"));
    let dirty = form.is_dirty();
    view! {
        <form class="stack stack--tight" novalidate on:submit=move |event| {
            event.prevent_default();
            form.save(log, "Comment added".to_owned(), move || on_said.run(()));
        }>
            {form.fields(Signal::default())}
            {move || dirty.get().then(|| view! {
                <div class="cluster"><Button label="Add the comment" icon=Icon::Check submit=true on_press=|()| ()/></div>
            })}
        </form>
    }
}
