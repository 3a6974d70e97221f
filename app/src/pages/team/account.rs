//! The own account: appearance, and signing out.

use device::{SignOutError, Unsent, UnsentWork};
use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::api::Me;

use crate::routes::Route;
use crate::store::use_store;
use crate::theme::{self, Theme};
use crate::ui::{Button, ButtonKind, Choice, Icon, LinkButton, Section, Sheet};
use crate::words;

/// The own account.
#[component]
pub fn Account(me: Me) -> impl IntoView {
    let store = use_store();
    let chosen = RwSignal::new(theme::chosen().name().to_owned());
    Effect::new(move |_| theme::choose(Theme::named(&chosen.read())));
    let (asking, unsent) = (RwSignal::new(false), RwSignal::new(None::<UnsentWork>));
    let navigate = use_navigate();
    let leave = Callback::new(move |how: Unsent| {
        let navigate = navigate.clone();
        let device = store.device();
        spawn_local(async move {
            match device.sign_out(how).await {
                Ok(()) => {
                    asking.set(false);
                    navigate(&Route::SignIn.to_string(), NavigateOptions::default());
                }
                Err(SignOutError::UnsentWork(work)) => {
                    unsent.set(Some(work));
                    asking.set(true);
                }
                Err(SignOutError::Store(error)) => store.warn(format!("Not signed out: {error}")),
            }
        });
    });
    let themes = Theme::ALL.map(|theme| (theme.name().to_owned(), theme.word().to_owned()));
    view! {
        <Section title="Your account">
            <p><strong>{me.name}</strong>" "<span class="muted">{me.login}</span></p>
            <Choice label="Appearance" value=chosen options=themes.into()/>
            <Button label="Sign out" icon=Icon::SignOut on_press=move |()| leave.run(Unsent::Warn)/>
        </Section>
        <Sheet title="Unsent work" open=asking>
            <p>{move || unsent.get().map(|work| format!(
                "{} changes and {} photos are on this device only. If you sign out now they stay here, locked, and are sent
                when you sign in on this device again. Nobody else can see or send them.",
                work.changes, work.photos,
            ))}</p>
            {move || unsent.get().filter(|work| work.strays > 0).map(|work| view! {
                <p>{format!(
                    "This device also keeps {} that the server lost. They stay here too, locked; save them as a file if you
                    will not come back to this device.",
                    words::count(work.strays, "change of others", "changes of others"),
                )}</p>
            })}
            <div class="sheet-foot">
                <LinkButton label="See what is unsent" href=Route::Sync.to_string()/>
                <Button label="Sign out and keep it" kind=ButtonKind::Danger on_press=move |()| leave.run(Unsent::KeepLocked)/>
            </div>
        </Sheet>
    }
}
