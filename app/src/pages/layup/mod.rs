//! One layup: its plies in section, what they come to, and the log of what went in.

mod compare;
mod cut_list;
mod deeds;
mod facts;
mod log;
mod palette;
mod patch;
mod propose;
mod proposed;
mod refused;
mod said;
mod stack;
mod worked;

use leptos::prelude::*;
use shared_types::body::Known;
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, LayupId, LogId, PlyId, ShopId};
use shared_types::job::JobState;
use shared_types::layup::{Layup, Ply, damage_id};

use crate::layups::drawing::{StackDrawing, bands};
use crate::pages::job::may_work;
use crate::pages::parts::also_entered::{AlsoEntered, SideBySide, sides_of};
use crate::pages::parts::waiting::{NotThere, WhenHere};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::{Store, use_store};
use crate::ui::{EmptyState, Icon, Section};
pub use cut_list::CutListPage;
use deeds::OnPly;

/// Where the page's parts are: which layup of which job.
#[derive(Clone, Copy)]
pub struct Place {
    /// The store.
    pub store: Store,
    /// The job's log.
    pub log: LogId,
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// The layup.
    pub layup: LayupId,
    /// The job's state.
    pub state: JobSignal,
    /// The layup's own values.
    pub it: Memo<Layup>,
    /// Its plies, the lowest first, with what is being saved.
    pub plies: Memo<Vec<(PlyId, Ply)>>,
    /// May the person signed in write here?
    pub may: bool,
    ahead: Ahead,
}

/// Changes that are shown ahead of their saving: a tap is seen in the next frame, and signing
/// and storing it takes longer.
#[derive(Clone, Copy)]
struct Ahead {
    changes: RwSignal<Vec<Pending>>,
    saved: Memo<Vec<(PlyId, Ply)>>,
    last: StoredValue<u64>,
}

/// A change on its way into the device's store.
#[derive(Clone, Debug, PartialEq)]
struct Pending {
    number: u64,
    change: OnPly,
    is_saved: bool,
}

impl Ahead {
    fn new(state: JobSignal, layup: LayupId) -> Self {
        let saved = of_job(state, move |state| {
            state.plies_of(layup).into_iter().map(|(id, ply)| (id, ply.clone())).collect::<Vec<_>>()
        });
        let ahead = Self { changes: RwSignal::default(), saved, last: StoredValue::new(0) };
        // What is saved shows in the state that is read after it.
        Effect::new(move |_| {
            state.track();
            if ahead.changes.with_untracked(|changes| changes.iter().any(|it| it.is_saved)) {
                ahead.changes.update(|changes| changes.retain(|it| !it.is_saved));
            }
        });
        ahead
    }

    fn plies(self, layup: LayupId) -> Memo<Vec<(PlyId, Ply)>> {
        Memo::new(move |_| {
            self.saved.with(|saved| {
                self.changes
                    .with(|changes| deeds::ahead(saved, layup, changes.iter().map(|pending| &pending.change)))
            })
        })
    }

    /// Shows changes; gives their number.
    fn show(self, changes: &[OnPly]) -> u64 {
        self.last.update_value(|last| *last += 1);
        let number = self.last.get_value();
        let pending = |change: &OnPly| Pending { number, change: change.clone(), is_saved: false };
        self.changes.update(|all| all.extend(changes.iter().map(pending)));
        number
    }

    /// They were saved, or could not be.
    fn told(self, number: u64, is_saved: bool) {
        let shown = |change: &OnPly| self.saved.with_untracked(|saved| deeds::shows(saved, change));
        // The page may be gone by now.
        self.changes.try_update(|all| {
            all.retain(|it| it.number != number || (is_saved && !shown(&it.change)));
            all.iter_mut().filter(|it| it.number == number).for_each(|it| it.is_saved = true);
        });
    }
}

impl Place {
    /// To be made once the job is here: who may write is asked once.
    fn new(log: LogId, state: JobSignal, layup: LayupId) -> Self {
        let store = use_store();
        let it = of_job(state, move |state| state.layups.get(&layup).cloned().unwrap_or_default());
        let ahead = Ahead::new(state, layup);
        let plies = ahead.plies(layup);
        let (shop, job) = (log.shop(), log.job().unwrap_or_default());
        let may = may_work(store, log);
        Self { store, log, shop, job, layup, state, it, plies, may, ahead }
    }

    /// Alters plies: seen at once, saved behind.
    pub fn alter(self, changes: &[OnPly], done: impl Into<String>) {
        self.alter_with(changes, Vec::new(), done);
    }

    /// As [`Place::alter`], with something else in the same command.
    pub fn alter_with(self, changes: &[OnPly], also: Vec<Known>, done: impl Into<String>) {
        if changes.is_empty() {
            return;
        }
        let number = self.ahead.show(changes);
        let bodies = deeds::bodies(changes).into_iter().chain(also).collect();
        self.store.dispatch_told(self.log, bodies, done, move |is_saved| {
            self.ahead.told(number, is_saved);
        });
    }
}

/// One layup.
#[component]
pub fn LayupPage(shop: ShopId, job: JobId, layup: LayupId) -> impl IntoView {
    let state = use_store().job(shop, job);
    let there = of_job(state, move |state| state.layups.get(&layup).is_some_and(|it| !it.is_retired()));
    view! {
        <WhenHere state children=move || {
            let place = Place::new(LogId::Job(shop, job), state, layup);
            view! {
                {move || if there.get() {
                    view! { <Shown place/> }.into_any()
                } else {
                    view! { <NotThere title="This job has no such layup"/> }.into_any()
                }}
            }.into_any()
        }/>
    }
}

#[component]
fn Shown(place: Place) -> impl IntoView {
    let sides = of_job(place.state, move |state| own_sides(state, place.layup));
    let drawn = Memo::new(move |_| place.plies.with(|plies| bands(plies)));
    let heading = Signal::derive(move || format!("Plies, {}", drawn.read().len()));
    // A memo, so that one more ply doesn't make the whole drawing anew.
    let is_empty = Memo::new(move |_| drawn.read().is_empty());
    let label = Signal::derive(move || place.it.read().title());
    let patch = patch::use_patch(place);
    view! {
        <div class="stack">
            <facts::Facts place patch/>
            <AlsoEntered log=place.log all=sides/>
            <div class="halves">
                <div class="stack">
                    <Section title="Stack in section">
                        {move || if is_empty.get() {
                            view! {
                                <EmptyState icon=Icon::Layers title="No plies yet">
                                    <p>"Choose a material and tap an angle: each tap lays one ply on top."</p>
                                </EmptyState>
                            }.into_any()
                        } else {
                            view! { <StackDrawing bands=drawn label/> }.into_any()
                        }}
                        <p class="small muted">"The lowest ply at the bottom. Bands are of one height: thickness is below, in figures."</p>
                        {place.may.then(|| view! { <palette::Palette place/> })}
                        <said::Said place/>
                    </Section>
                    <compare::AgainstParent place/>
                </div>
                <div class="stack">
                    <Section title=heading><stack::Stack place/></Section>
                    <patch::DamageAndPatch place patch/>
                    <log::PlyLog place patch/>
                </div>
            </div>
        </div>
    }
}

/// What was entered side by side on this layup and its plies.
fn own_sides(state: &JobState, layup: LayupId) -> Vec<SideBySide> {
    let plies = state.plies_of(layup).into_iter().map(|(id, _)| ("ply.v1", id.to_string()));
    let own = [("layup.v1", layup.to_string()), ("damage.v1", damage_id(layup).to_string())];
    sides_of(state, own.into_iter().chain(plies))
}
