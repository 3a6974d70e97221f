//! The palette: a material and an angle make a ply, one tap each.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::catalogue::{Catalogue, Group};
use shared_types::entity::Entity as _;
use shared_types::ids::PlyId;
use shared_types::job::MaterialKind;
use shared_types::layup::MAX_PLIES;
use shared_types::shop::{ShopState, StockKind};

use super::Place;
use super::deeds::{Cloth, added};
use crate::engine;
use crate::layups::asked::Plies;
use crate::layups::drawing::angle_words;
use crate::ui::{Button, ButtonKind, Icon, SelectField, TextField};

/// The angles that nearly every layup is made of.
const ANGLES: [&str; 4] = ["0", "45", "90", "-45"];

/// What a layup's plies are cut from, each once, the uppermost first.
fn in_layup(plies: &Plies) -> Vec<Cloth> {
    let mut all: Vec<Cloth> = Vec::new();
    for (_, ply) in plies.iter().rev() {
        let cloth = Cloth {
            material: ply.material.or_empty(),
            dry: ply.dry.or_empty(),
            stock: ply.stock.or_empty(),
            batch: ply.batch.or_empty(),
        };
        if !all.contains(&cloth) {
            all.push(cloth);
        }
    }
    all
}

/// What plies can be cut from, each with its words: what the layup has already, the shop's
/// cloth by batch, then the catalogue.
fn choices(used: &[Cloth], shop: &ShopState, catalogue: &Catalogue) -> Vec<(Cloth, String)> {
    let mut all: Vec<(Cloth, String)> = Vec::new();
    let mut add = |cloth: Cloth, words: String| {
        if !cloth.material.is_empty() && all.iter().all(|(it, _)| *it != cloth) {
            all.push((cloth, words));
        }
    };
    for cloth in used {
        add(cloth.clone(), format!("{} (in this layup)", with_batch(cloth)));
    }
    let cloths = shop.stock.iter().filter(|(_, it)| {
        !it.is_retired()
            && it.kind.or_empty() == StockKind::Material
            && it.material.or_empty() == MaterialKind::Cloth
    });
    for (id, it) in cloths {
        let cloth = Cloth::of_stock(*id, it, catalogue);
        let words = with_batch(&cloth);
        add(cloth, format!("{words} (on the shelf)"));
    }
    for row in &catalogue.rows {
        let (dry, words) = match row.group {
            Group::Cloth | Group::Mat => (true, "dry"),
            Group::Ply => (false, "with its resin"),
            Group::Core => (false, "core"),
            _ => continue,
        };
        let cloth = Cloth { material: row.name.as_str().into(), dry, ..Cloth::default() };
        add(cloth, format!("{}, {words} (typical values)", row.name));
    }
    all
}

fn with_batch(cloth: &Cloth) -> String {
    if cloth.batch.is_empty() {
        cloth.material.0.clone()
    } else {
        format!("{}, batch {}", cloth.material, cloth.batch)
    }
}

/// Material and angles.
#[component]
pub fn Palette(place: Place) -> impl IntoView {
    let catalogue = RwSignal::new(Catalogue::default());
    spawn_local(async move {
        let read = engine::catalogue().await.and_then(|text| serde_json::from_str(&text).ok());
        if let Some(read) = read {
            // The page may be gone by now.
            catalogue.try_set(read);
        }
    });
    let shop = place.store.shop(place.shop);
    // Its own memo: one more ply of the same cloth leaves the list as it is.
    let used = Memo::new(move |_| place.plies.with(|plies| in_layup(plies)));
    let choices = Memo::new(move |_| {
        used.with(|used| catalogue.with(|catalogue| choices(used, &shop.read(), catalogue)))
    });
    let chosen = RwSignal::new(None::<Cloth>);
    let cloth = Memo::new(move |_| {
        chosen.get().or_else(|| choices.with(|all| all.first().map(|(cloth, _)| cloth.clone())))
    });
    let own = RwSignal::new(String::new());
    let full = Signal::derive(move || place.plies.with(Vec::len) >= MAX_PLIES || cloth.read().is_none());
    let add = move |angle: &str| {
        let Some(cloth) = cloth.get_untracked() else { return };
        let change = place
            .plies
            .with_untracked(|plies| added(place.layup, plies, &cloth, angle, PlyId(place.store.uuid())));
        place.alter(change.as_slice(), format!("Ply at {} added", angle_words(angle)));
    };
    let add_own = move || {
        let angle = own.get_untracked();
        if !angle.trim().is_empty() {
            add(&angle);
        }
    };
    view! {
        <div class="palette stack stack--tight" role="group" aria-label="Tap a ply">
            <Materials choices cloth chosen/>
            <div class="palette-angles" role="group" aria-label="Add a ply at this angle">
                {ANGLES.map(|angle| view! {
                    <Button label=angle_words(angle) disabled=full on_press=move |()| add(angle)/>
                }).collect_view()}
            </div>
            <details class="more">
                <summary>"Another angle"</summary>
                <form class="stack stack--tight" novalidate on:submit=move |event| {
                    event.prevent_default();
                    add_own();
                }>
                    <TextField label="Angle in degrees" value=own hint="From x to the warp, anticlockwise"/>
                    <Button label="Add at this angle" submit=true icon=Icon::Add kind=ButtonKind::Quiet disabled=full on_press=|()| ()/>
                </form>
            </details>
        </div>
    }
}

/// The list of materials. Its values are their places in it: two batches may share every word.
#[component]
fn Materials(
    choices: Memo<Vec<(Cloth, String)>>,
    cloth: Memo<Option<Cloth>>,
    chosen: RwSignal<Option<Cloth>>,
) -> impl IntoView {
    let value = RwSignal::new(String::new());
    Effect::new(move |_| {
        let at = choices.with(|all| all.iter().position(|(it, _)| Some(it) == cloth.read().as_ref()));
        value.set(at.map(|at| at.to_string()).unwrap_or_default());
    });
    Effect::new(move |_| {
        let at = value.get().parse::<usize>().ok();
        let picked = choices.with_untracked(|all| at.and_then(|at| all.get(at)).map(|(it, _)| it.clone()));
        if picked.is_some() && picked != cloth.get_untracked() {
            chosen.set(picked);
        }
    });
    let options = Signal::derive(move || {
        choices.with(|all| {
            all.iter().enumerate().map(|(at, (_, words))| (at.to_string(), words.clone())).collect()
        })
    });
    view! { <SelectField label="Material" value options hint="What stands in the catalogue are typical values; the maker's data sheet comes first."/> }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::layup::{Ply, PlyPatch};

    #[test]
    fn what_the_layup_has_comes_first_and_each_once() {
        let patch =
            PlyPatch { material: Some("E-glass style 7781".into()), dry: Some(true), ..PlyPatch::default() };
        let plies = vec![(PlyId::default(), entity::<Ply>(&patch)); 3];
        let catalogue = calculations::catalogue::listing::catalogue();
        let all = choices(&in_layup(&plies), &ShopState::default(), &catalogue);
        assert_eq!(all[0].1, "E-glass style 7781 (in this layup)");
        assert_eq!(all.iter().filter(|(it, _)| it.material.0 == "E-glass style 7781").count(), 1);
        assert!(all.iter().any(|(it, _)| !it.dry), "plies with their resin");
    }
}
