//! Links that open the job's record to whoever holds them, without an account.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::{MakeRecordLink, RecordLinkMade, RecordLinkView};
use shared_types::ids::{JobId, ShopId};

use crate::clock;
use crate::pages::sign_in::call_failure;
use crate::pages::team::LinkToHandOn;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{
    Badge, Banner, Button, ButtonKind, Icon, Section, SelectField, Shape, Sheet, Skeleton, TextField, Tone,
};

/// For how long a link may hold: hours, in words.
const HOLDS: [(&str, &str); 5] =
    [("24", "a day"), ("168", "a week"), ("720", "30 days"), ("2160", "90 days"), ("8760", "a year")];

/// How long a link holds, unless the person says otherwise.
const USUAL: u32 = 168;

/// Where a link stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Standing {
    Open,
    RunOut,
    Revoked,
}

fn standing(link: &RecordLinkView) -> Standing {
    if link.revoked.is_some() {
        Standing::Revoked
    } else if link.expires <= clock::now() {
        Standing::RunOut
    } else {
        Standing::Open
    }
}

/// The links to the job's record, for those who may make them.
#[component]
pub fn Links(shop: ShopId, job: JobId) -> impl IntoView {
    let store = use_store();
    let list = RwSignal::new(None::<Result<Vec<RecordLinkView>, String>>);
    let load = Callback::new(move |()| {
        let device = store.device();
        spawn_local(async move {
            let links = device.record_links(shop, job).await;
            list.try_set(Some(links.map_err(|error| call_failure(&error))));
        });
    });
    load.run(());
    let (making, revoking) = (RwSignal::new(false), RwSignal::new(None::<RecordLinkView>));
    view! {
        <Section title="Links to the record">
            {move || match list.get() {
                None => view! { <Skeleton lines=2/> }.into_any(),
                Some(Err(why)) => view! {
                    <Banner tone=Tone::Close>
                        <p>{why}</p>
                        <Button label="Try again" icon=Icon::Sync on_press=load/>
                    </Banner>
                }.into_any(),
                Some(Ok(links)) if links.is_empty() => view! {
                    <p class="muted">"None yet. A link shows an owner or a buyer the record, its photos and its PDF, until it runs out or is revoked."</p>
                }.into_any(),
                Some(Ok(links)) => view! {
                    <ul class="lines">{links.into_iter().map(|link| view! { <Line shop link revoking/> }).collect_view()}</ul>
                }.into_any(),
            }}
            <div class="cluster"><Button label="Make a link" icon=Icon::Link on_press=move |()| making.set(true)/></div>
        </Section>
        <MakeSheet shop job open=making made=load/>
        <RevokeSheet shop job revoking revoked=load/>
    }
}

#[component]
fn Line(shop: ShopId, link: RecordLinkView, revoking: RwSignal<Option<RecordLinkView>>) -> impl IntoView {
    let store = use_store();
    let standing = standing(&link);
    let by = (link.by, clock::moment(link.made));
    let name = if link.note.is_empty() { "Link".to_owned() } else { link.note.clone() };
    let until = match (standing, link.revoked) {
        (Standing::Revoked, Some(at)) => format!("revoked {}", clock::moment(at)),
        (Standing::RunOut, _) => format!("ran out {}", clock::moment(link.expires)),
        _ => format!("until {}", clock::moment(link.expires)),
    };
    let label = format!("Revoke “{name}”");
    view! {
        <li class="spread">
            <span>
                <strong>{name}</strong>" "
                {match standing {
                    Standing::Open => view! { <Badge word="open" shape=Shape::Disc tone=Tone::Blue/> },
                    Standing::RunOut => view! { <Badge word="run out" shape=Shape::Ring/> },
                    Standing::Revoked => view! { <Badge word="revoked" shape=Shape::Bar/> },
                }}
                <br/>
                <span class="muted">{move || format!("{until}; made {} by {}", by.1, store.name_of_user(shop, by.0))}</span>
            </span>
            {(standing == Standing::Open).then(|| view! {
                <Button label kind=ButtonKind::Quiet on_press=move |()| revoking.set(Some(link.clone()))/>
            })}
        </li>
    }
}

#[component]
fn MakeSheet(shop: ShopId, job: JobId, open: RwSignal<bool>, made: Callback<()>) -> impl IntoView {
    let store = use_store();
    let (note, hours) = (RwSignal::new(String::new()), RwSignal::new(USUAL.to_string()));
    let (busy, problem) = (RwSignal::new(false), RwSignal::new(None::<String>));
    let link = RwSignal::new(None::<RecordLinkMade>);
    Effect::new(move |_| {
        if open.get() {
            link.set(None);
            problem.set(None);
        }
    });
    let make = move |()| {
        let asked = MakeRecordLink {
            note: note.get_untracked().trim().to_owned(),
            hours: hours.read_untracked().parse().unwrap_or(USUAL),
        };
        let device = store.device();
        problem.set(None);
        busy.set(true);
        spawn_local(async move {
            match device.make_record_link(shop, job, &asked).await {
                Ok(it) => {
                    note.set(String::new());
                    link.set(Some(it));
                    made.run(());
                }
                Err(error) => problem.set(Some(call_failure(&error))),
            }
            busy.set(false);
        });
    };
    let holds = HOLDS.map(|(value, word)| (value.to_owned(), word.to_owned())).to_vec();
    let holds = Signal::stored(holds);
    view! {
        <Sheet title="Link to the record" open>
            {move || match link.get() {
                Some(it) => view! {
                    <p>{format!("Whoever has the link can read the record until {}. It changes nothing.", clock::moment(it.link.expires))}</p>
                    <LinkToHandOn to=Route::OpenRecord secret=it.secret label="Link to the record"/>
                }.into_any(),
                None => view! {
                    <form class="stack" on:submit=move |event| { event.prevent_default(); make(()); }>
                        <TextField label="For whom" value=note hint="So that you know later whose link it is."/>
                        <SelectField label="Holds for" value=hours options=holds/>
                        <div role="alert">
                            {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
                        </div>
                        <Button label="Make the link" kind=ButtonKind::Primary submit=true disabled=busy on_press=|()| ()/>
                    </form>
                }.into_any(),
            }}
        </Sheet>
    }
}

#[component]
fn RevokeSheet(
    shop: ShopId,
    job: JobId,
    revoking: RwSignal<Option<RecordLinkView>>,
    revoked: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let (open, problem) = (RwSignal::new(false), RwSignal::new(None::<String>));
    Effect::new(move |_| {
        if revoking.read().is_some() {
            problem.set(None);
            open.set(true);
        }
    });
    Effect::new(move |_| {
        // Asked about the same link again, it is to open again.
        if !open.get() {
            revoking.set(None);
        }
    });
    let revoke = move |()| {
        let Some(link) = revoking.get_untracked() else { return };
        let device = store.device();
        spawn_local(async move {
            match device.revoke_record_link(shop, job, &link.id).await {
                Ok(()) => {
                    open.set(false);
                    revoked.run(());
                }
                Err(error) => problem.set(Some(call_failure(&error))),
            }
        });
    };
    view! {
        <Sheet title="Revoke the link" open>
            <p>{move || revoking.read().as_ref().map(|link| {
                let whose = if link.note.is_empty() { "this link".to_owned() } else { format!("“{}”", link.note) };
                format!("Whoever looks by {whose} is out at once. It can't be taken back: a new link has to be made.")
            })}</p>
            <div role="alert">
                {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
            </div>
            <div class="sheet-foot">
                <Button label="Keep it" on_press=move |()| open.set(false)/>
                <Button label="Revoke it" kind=ButtonKind::Danger on_press=revoke/>
            </div>
        </Sheet>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::ids::UserId;
    use shared_types::time::UtcMillis;

    #[test]
    fn a_link_is_open_until_it_runs_out_or_is_revoked() {
        let now = clock::now();
        let link = |minutes: i64, revoked: Option<UtcMillis>| RecordLinkView {
            id: String::new(),
            note: String::new(),
            by: UserId::default(),
            made: now,
            expires: now.plus_minutes(minutes),
            revoked,
        };
        assert_eq!(standing(&link(60, None)), Standing::Open);
        assert_eq!(standing(&link(-1, None)), Standing::RunOut);
        assert_eq!(standing(&link(60, Some(now))), Standing::Revoked);
        assert_eq!(standing(&link(-1, Some(now))), Standing::Revoked);
    }
}
