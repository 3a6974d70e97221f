//! Searching a shop: which jobs were on that fairing, where did that batch go.

mod hits;
mod kept;

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::NavigateOptions;
use leptos_router::hooks::{use_navigate, use_query_map};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use shared_types::api::{Hit, MOST_SEARCHED};
use shared_types::ids::ShopId;

use crate::page;
use crate::pages::sign_in::call_failure;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Icon, Plate, Skeleton, TextField, Tone};

use hits::Hits;
use kept::KeptHere;

/// Somebody who types on is not asked for at every letter.
const PAUSE: Duration = Duration::from_millis(250);

/// What is known of what was searched for.
#[derive(Clone, Debug, PartialEq)]
enum Outcome {
    /// Nothing was typed that could be searched for.
    Nothing,
    /// The server is being asked for the first time.
    Asking,
    /// What it found, shop by shop; `more` says that there is more than is told.
    Found { hits: Vec<(ShopId, Hit)>, more: bool },
    /// It could not be asked, or refused.
    Failed(String),
}

/// Searching. What is searched for stands in the address.
#[component]
pub fn SearchPage() -> impl IntoView {
    let store = use_store();
    let typed = RwSignal::new(String::new());
    let (outcome, asking) = (RwSignal::new(Outcome::Nothing), RwSignal::new(false));
    follow_address(typed);
    let asked = StoredValue::new(0_u32);
    let ask = Callback::new(move |()| {
        let words = typed.get_untracked().trim().to_owned();
        asked.update_value(|number| *number += 1);
        let number = asked.get_value();
        if let Err(nothing) = searchable(&words) {
            asking.set(false);
            outcome.set(nothing);
            return;
        }
        asking.set(true);
        if !matches!(*outcome.read_untracked(), Outcome::Found { .. }) {
            outcome.set(Outcome::Asking);
        }
        spawn_local(async move {
            let answer = search(store, &words).await;
            // A later question has been asked, or the page is left.
            if asked.try_get_value() == Some(number) {
                asking.set(false);
                outcome.set(answer);
            }
        });
    });
    ask_after_a_pause(typed, ask);
    let submit = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        ask.run(());
    };
    let to_hits = move |event: leptos::ev::KeyboardEvent| {
        if event.key() == "ArrowDown" {
            event.prevent_default();
            page::focus_first(&["main .hits a"]);
        }
    };
    view! {
        <div class="stack">
            <Plate title="Search"/>
            <search>
                <form on:submit=submit on:keydown=to_hits>
                    <TextField label="Words to search for" value=typed kind="search" placeholder="Part number, batch, aircraft, part"
                        hint="Jobs, steps, hardware and material lines, and the shelf. Beginnings are enough; case, accents and dashes make no difference."/>
                </form>
            </search>
            <div aria-busy=move || asking.get().then_some("true")>
                {move || match outcome.get() {
                    Outcome::Nothing => view! {
                        <p class="muted">"Where did a batch go, which rivet went into that joint, what was done to this aircraft: type a word of it."</p>
                    }.into_any(),
                    Outcome::Asking => view! { <Skeleton lines=4/> }.into_any(),
                    Outcome::Found { hits, more } => view! { <Hits hits more/> }.into_any(),
                    Outcome::Failed(why) => view! {
                        <div class="stack">
                            <Banner tone=Tone::Close icon=Icon::Offline><p>{why}</p></Banner>
                            <KeptHere typed/>
                        </div>
                    }.into_any(),
                }}
            </div>
        </div>
    }
}

/// Takes what the address says, when it says something else than was typed here.
fn follow_address(typed: RwSignal<String>) {
    let (query, navigate) = (use_query_map(), use_navigate());
    let written = StoredValue::new(None::<String>);
    Effect::new(move |_| {
        let said = query.read().get("q").unwrap_or_default();
        if written.get_value().as_ref() != Some(&said) {
            written.set_value(Some(said.clone()));
            typed.set(said);
        }
    });
    Effect::new(move |before: Option<String>| {
        let words = typed.get();
        if before.is_some_and(|before| before != words) && written.get_value().as_ref() != Some(&words) {
            written.set_value(Some(words.clone()));
            let place = format!("{}?q={}", Route::Search, utf8_percent_encode(&words, NON_ALPHANUMERIC));
            let options = NavigateOptions { replace: true, scroll: false, ..NavigateOptions::default() };
            navigate(&place, options);
        }
        words
    });
}

/// Asks once nothing more was typed for a moment.
fn ask_after_a_pause(typed: RwSignal<String>, ask: Callback<()>) {
    let waiting = StoredValue::new(None::<TimeoutHandle>);
    let stop = move || {
        if let Some(Some(handle)) = waiting.try_update_value(Option::take) {
            handle.clear();
        }
    };
    Effect::new(move |_| {
        typed.track();
        stop();
        match set_timeout_with_handle(move || ask.run(()), PAUSE) {
            Ok(handle) => waiting.set_value(Some(handle)),
            Err(problem) => leptos::logging::error!("the search could not wait: {problem:?}"),
        }
    });
    on_cleanup(stop);
}

/// Can the server be asked for these words?
fn searchable(words: &str) -> Result<(), Outcome> {
    let length = words.chars().count();
    if !words.chars().any(char::is_alphanumeric) {
        Err(Outcome::Nothing)
    } else if length > MOST_SEARCHED {
        Err(Outcome::Failed(format!(
            "{length} characters are too many to search for; at most {MOST_SEARCHED} are taken."
        )))
    } else {
        Ok(())
    }
}

/// Asks shop by shop; most people have one.
async fn search(store: Store, words: &str) -> Outcome {
    let shops = store.me().with_untracked(|me| me.as_ref().map(|me| me.shops.clone()).unwrap_or_default());
    let (mut all, mut more) = (Vec::new(), false);
    for shop in shops {
        match store.device().search(shop.shop, words).await {
            Ok(found) => {
                more |= found.more;
                all.extend(found.hits.into_iter().map(|hit| (shop.shop, hit)));
            }
            Err(error) => return Outcome::Failed(call_failure(&error)),
        }
    }
    Outcome::Found { hits: all, more }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_searched_for_and_signs_are_not() {
        assert_eq!(searchable("MS20470AD4-5"), Ok(()));
        assert_eq!(searchable("ü"), Ok(()));
        for nothing in ["", " ", "--", "'\""] {
            assert_eq!(searchable(nothing), Err(Outcome::Nothing), "{nothing}");
        }
        let Err(Outcome::Failed(why)) = searchable(&"x".repeat(201)) else { panic!("it is too long") };
        assert!(why.contains("201") && why.contains("200"), "{why}");
    }
}
