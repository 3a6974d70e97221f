//! The refused tray: what the server would not take, and why. It never holds up the rest.

use device::{TrayId, TrayItem};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::body::Body;
use shared_types::fold::subject;

use crate::clock;
use crate::page::save_as;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Section};

use super::correct::{Correct, values};

/// Refused items; nothing is shown while there are none.
#[component]
pub fn Tray() -> impl IntoView {
    let store = use_store();
    let list = RwSignal::new(Vec::<TrayItem>::new());
    let load = move || {
        let device = store.device();
        spawn_local(async move {
            match device.tray().await {
                Ok(items) => list.set(items),
                Err(error) => store.warn(error.to_string()),
            }
        });
    };
    let refused = Memo::new(move |_| store.sync().read().refused);
    Effect::new(move |_| {
        // Read and not only tracked: a memo that nobody read hears of nothing.
        refused.get();
        load();
    });
    let act = Callback::new(move |(id, deed): (TrayId, Deed)| {
        let device = store.device();
        spawn_local(async move {
            let outcome = match deed {
                Deed::Retry => device.retry_refused(id).await,
                Deed::Drop(dropped) => device.drop_refused(id, dropped).await,
                Deed::Export => match device.save_refused(id).await {
                    Ok(saved) => {
                        save_as(&saved.name, vec![saved.bytes]);
                        Ok(())
                    }
                    Err(error) => Err(error),
                },
            };
            if let Err(error) = outcome {
                store.warn(error.to_string());
            }
            load();
        });
    });
    let done = Callback::new(move |()| load());
    move || {
        // What this device can't read was never at the server.
        let here = list.read().iter().all(|item| matches!(item.id, TrayId::Row(_)));
        let title = if here { "Put aside on this device" } else { "Refused by the server" };
        (!list.read().is_empty()).then(|| view! {
            <Section title=title>
                <ul class="stack">{list.get().into_iter().map(|item| view! { <Refused item act done/> }).collect_view()}</ul>
            </Section>
        })
    }
}

/// What can be done with a refused item.
#[derive(Clone, Copy)]
enum Deed {
    Retry,
    Drop(bool),
    Export,
}

#[component]
fn Refused(item: TrayItem, act: Callback<(TrayId, Deed)>, done: Callback<()>) -> impl IntoView {
    let id = item.id;
    let unreadable = matches!(id, TrayId::Row(_));
    let kind = item.change.as_ref().map_or_else(
        || if unreadable { "an entry that can’t be read" } else { "photo" }.to_owned(),
        |change| subject(&change.body).split('/').next().unwrap_or_default().replace('-', " "),
    );
    let correction = item.change.as_ref().and_then(|change| match &change.body {
        Body::Known(body) if !values(body).is_empty() => Some((change.id, body.clone())),
        _ => None,
    });
    let correcting = RwSignal::new(false);
    let problems: Vec<_> = item.problems.iter().map(ToString::to_string).collect();
    view! {
        <li class="card" data-tone=if item.dropped { "plain" } else { "bad" }>
            <div class="spread"><h3>{kind}</h3><span class="small muted">{clock::moment(item.at)}</span></div>
            <p>{item.detail}</p>
            {(!problems.is_empty()).then(|| view! { <p class="small">{problems.join("; ")}</p> })}
            <div class="cluster">
                {if item.dropped {
                    view! {
                        <span class="muted">"Dropped."</span>
                        <Button label="Take it back" on_press=move |()| act.run((id, Deed::Drop(false)))/>
                    }.into_any()
                } else {
                    view! {
                        {(!unreadable).then(|| view! {
                            <Button label="Send again" on_press=move |()| act.run((id, Deed::Retry))/>
                        })}
                        {correction.map(|(change, body)| view! {
                            <Button label="Correct" on_press=move |()| correcting.set(true)/>
                            <Correct id=change body open=correcting done/>
                        })}
                        <Button label="Save as a file" on_press=move |()| act.run((id, Deed::Export))/>
                        <Button label="Drop" kind=ButtonKind::Danger on_press=move |()| act.run((id, Deed::Drop(true)))/>
                    }.into_any()
                }}
            </div>
        </li>
    }
}
