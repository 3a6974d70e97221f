//! The catalogue to look things up in: every row with its source.

use leptos::prelude::*;
use shared_types::catalogue::Group;

use crate::pages::parts::shelf::RowShown;
use crate::shelf::catalogue::{Arrival, Listing, use_catalogue};
use crate::shelf::index::What;
use crate::ui::{Banner, EmptyState, Icon, Plate, SelectField, Skeleton, TextField};
use crate::words;

/// How many rows are shown; more words narrow it down.
const SHOWN: usize = 60;

/// The catalogue.
#[component]
pub fn CataloguePage() -> impl IntoView {
    let catalogue = use_catalogue(Signal::stored(true));
    let (query, group) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let groups = [(String::new(), "everything".to_owned())]
        .into_iter()
        .chain(Group::ALL.map(|group| (group.word().to_owned(), words::capital(group.word()))));
    let groups = Signal::stored(groups.collect::<Vec<_>>());
    let edition = Signal::derive(move || match &*catalogue.read() {
        Arrival::Here(listing) => format!("edition {}", listing.catalogue.version),
        _ => String::new(),
    });
    view! {
        <div class="stack">
            <Plate over=edition title="Catalogue"/>
            <Banner>
                <p>"Reference data of open standards, no approved data: the type's own data and a licensed person decide. Beside
                each row stands where it comes from; what is from memory must be confirmed before anybody relies on it."</p>
            </Banner>
            <search class="stack">
                <TextField label="Search the catalogue" value=query kind="search" placeholder="Part number, size, words"/>
                <SelectField label="Show" value=group options=groups/>
            </search>
            {move || match catalogue.get() {
                Arrival::Fetching => view! { <Skeleton lines=5/> }.into_any(),
                Arrival::Missing => view! {
                    <EmptyState icon=Icon::Offline title="The catalogue isn't on this device yet">
                        <p>"It comes with the app, once there is contact with the server, and then works without a network."</p>
                    </EmptyState>
                }.into_any(),
                Arrival::Here(listing) => {
                    let found = found(&listing, &query.read(), &group.read());
                    view! {
                        <p class="small muted" role="status">{counted(found.len())}</p>
                        <ul class="lines">
                            {found.iter().take(SHOWN).filter_map(|place| listing.row(*place)).map(|row| {
                                view! { <li><RowShown row=row.clone()/></li> }
                            }).collect_view()}
                        </ul>
                    }.into_any()
                }
            }}
        </div>
    }
}

fn counted(found: usize) -> String {
    let rows = words::count(found, "row", "rows");
    if found > SHOWN {
        format!("{rows}; the first {SHOWN} are shown, another word narrows it down")
    } else {
        rows
    }
}

/// The places of the rows that fit: as the tables list them, or the best first when something is searched.
fn found(listing: &Listing, query: &str, group: &str) -> Vec<usize> {
    let mut found: Vec<_> = if query.trim().is_empty() {
        (0..listing.catalogue.rows.len()).collect()
    } else {
        let best = listing.index.search(query, None, usize::MAX).best;
        best.into_iter()
            .filter_map(|what| if let What::Listed(place) = what { Some(place) } else { None })
            .collect()
    };
    found
        .retain(|place| group.is_empty() || listing.row(*place).is_some_and(|row| row.group.word() == group));
    found
}
