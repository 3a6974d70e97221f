//! The outbox: what waits to be sent, item by item, and why it waits.

use device::{SyncLine, Waiting, WaitingId};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::body::Body;
use shared_types::fold::subject;
use shared_types::ids::StepId;
use shared_types::job::JobState;

use super::correct::values;
use crate::clock;
use crate::page::save_as;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, Section, Tone};
use crate::words;

/// How many changes, and how many photos, are listed one by one.
const LISTED: usize = 100;
/// No value is shown longer than so many characters.
const LONGEST: usize = 120;

/// What is shown of an item.
#[derive(Clone, Debug, PartialEq)]
struct Item {
    waiting: Waiting,
    kind: String,
    place: String,
    value: String,
}

/// Changes and photos that wait.
#[component]
pub fn Outbox() -> impl IntoView {
    let store = use_store();
    let sync = store.sync();
    let counts = Memo::new(move |_| {
        let sync = sync.read();
        (sync.changes_to_send, sync.photos_to_send, sync.bytes_to_send.saturating_sub(sync.bytes_sent))
    });
    let line = Memo::new(move |_| sync.read().line.clone());
    let list = RwSignal::new(Ok::<_, String>(Vec::<Item>::new()));
    Effect::new(move |_| {
        // Read and not only tracked: a memo that nobody read hears of nothing.
        counts.get();
        line.get();
        spawn_local(async move { list.set(items(store).await.map_err(|error| error.to_string())) });
    });
    view! {
        <Section title="Not sent yet">
            {move || match (counts.get(), list.get()) {
                (_, Err(why)) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
                ((0, 0, _), _) => view! {
                    <p class="muted">"Everything on this device is on the server."</p>
                }.into_any(),
                ((changes, photos, bytes), Ok(list)) => {
                    let more = (changes + photos).saturating_sub(list.len());
                    let why = why_all_wait(&line.get());
                    view! {
                        <p>{words::unsent(changes, photos, bytes)}</p>
                        <ul class="lines">{list.into_iter().map(|item| shown(item, &why)).collect_view()}</ul>
                        {(more > 0).then(|| view! { <p class="muted">{format!("and {more} more")}</p> })}
                    }.into_any()
                }
            }}
        </Section>
    }
}

async fn items(store: Store) -> Result<Vec<Item>, device::StoreError> {
    let device = store.device();
    let mut waiting = device.waiting(LISTED).await?;
    waiting.extend(device.waiting_photos(LISTED).await?);
    let mut items = Vec::new();
    for waiting in waiting {
        let job = match waiting.log.job() {
            Some(job) => Some(device.job(waiting.log.shop(), job).await?),
            None => None,
        };
        let body = waiting.change.as_ref().map(|change| &change.body);
        let kind = body.map_or_else(
            || if waiting.bytes.is_some() { "photo".to_owned() } else { "change".to_owned() },
            |body| subject(body).split('/').next().unwrap_or_default().replace('-', " "),
        );
        let place = place(job.as_deref(), body);
        let value = value(&waiting, body);
        items.push(Item { waiting, kind, place, value });
    }
    Ok(items)
}

/// The job, and the step if there is one.
fn place(job: Option<&JobState>, body: Option<&Body>) -> String {
    let Some(job) = job else {
        return "the shop".to_owned();
    };
    let body = body.and_then(|body| serde_json::to_value(body).ok());
    let step = body.as_ref().and_then(|body| body.get("step")?.as_str()?.parse().ok()).map(StepId);
    let step = step.and_then(|step| job.steps.get(&step)).map(|step| step.title.or_empty().0);
    let names = [Some(job.job.title.or_empty().0), step];
    names.into_iter().flatten().filter(|name| !name.is_empty()).collect::<Vec<_>>().join(" — ")
}

/// What was entered, or how far a photo has come.
fn value(waiting: &Waiting, body: Option<&Body>) -> String {
    if let Some((bytes, sent)) = waiting.bytes {
        let all = words::bytes(bytes);
        return if sent > 0 { format!("{} of {all} sent", words::bytes(sent)) } else { all };
    }
    let Some(Body::Known(known)) = body else {
        return String::new();
    };
    let named = |(name, text): (String, String)| format!("{}: {text}", name.replace('_', " "));
    let text = values(known).into_iter().map(named).collect::<Vec<_>>().join("; ");
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}

/// Why nothing is sent just now.
fn why_all_wait(line: &SyncLine) -> String {
    match line {
        SyncLine::Starting | SyncLine::Offline => "waits for a connection".to_owned(),
        SyncLine::SignInNeeded => "waits until you sign in".to_owned(),
        SyncLine::Sending | SyncLine::AllSent => "is about to be sent".to_owned(),
        SyncLine::Problem(why) => format!("waits: {why}"),
    }
}

fn shown(item: Item, why_all: &str) -> impl IntoView + use<> {
    let store = use_store();
    let Item { waiting: Waiting { id, at, why, .. }, kind, place, value } = item;
    // Others may go on while this one is held.
    let why = why.map_or_else(|| why_all.to_owned(), |why| format!("held: {why}"));
    let save = move |()| {
        let id: WaitingId = id.clone();
        spawn_local(async move {
            match store.device().save_waiting(&id).await {
                Ok(saved) => save_as(&saved.name, vec![saved.bytes]),
                Err(error) => store.warn(format!("Not saved: {error}")),
            }
        });
    };
    view! {
        <li class="spread">
            <span>
                <strong>{kind}</strong>" "<span class="muted">{at.map(clock::moment)}</span>
                {(!place.is_empty()).then(|| view! { <br/><span class="small">{place}</span> })}
                {(!value.is_empty()).then(|| view! { <br/><span class="small muted">{value}</span> })}
            </span>
            <span class="small muted">{why}</span>
            <Button label="Save it" kind=ButtonKind::Quiet icon=Icon::Download on_press=save/>
        </li>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::{Known, OnStep, The};
    use shared_types::ids::NoteId;
    use shared_types::job::{JobPatch, NotePatch};
    use uuid::Uuid;

    #[test]
    fn an_item_says_where_it_belongs_and_what_was_entered() {
        let title = JobPatch { title: Some("Tip fairing".into()), ..JobPatch::default() };
        let body = Body::Known(Known::Job(The { set: title }));
        let state = JobState::default();
        assert_eq!(place(Some(&state), Some(&body)), "");
        assert_eq!(place(None, Some(&body)), "the shop");
        let text = NotePatch { text: Some("x".repeat(500).into()), ..NotePatch::default() };
        let note = Body::Known(Known::Note(OnStep { id: NoteId(Uuid::from_u128(1)), step: None, set: text }));
        let id = WaitingId::Change(String::new());
        let log = shared_types::ids::LogId::Shop(shared_types::ids::ShopId::default());
        let waiting = Waiting { id, log, change: None, bytes: None, at: None, why: None };
        assert_eq!(value(&waiting, Some(&body)), "title: Tip fairing");
        assert_eq!(value(&waiting, Some(&note)).chars().count(), LONGEST + 1);
        let photo = Waiting { bytes: Some((2_000_000, 0)), ..waiting };
        assert_eq!(value(&photo, None), "2.0 MB");
    }

    #[test]
    fn it_is_said_why_nothing_is_sent() {
        assert_eq!(why_all_wait(&SyncLine::Offline), "waits for a connection");
        assert_eq!(why_all_wait(&SyncLine::SignInNeeded), "waits until you sign in");
        let full = SyncLine::Problem("the disk is full".to_owned());
        assert_eq!(why_all_wait(&full), "waits: the disk is full");
    }
}
