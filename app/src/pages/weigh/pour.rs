//! Cup by cup: the target very large, what the scale shows, and whether it will do.

use leptos::prelude::*;
use shared_types::job::ReadingPatch;
use shared_types::status::ReadingVerdict;
use shared_types::worksheet::Verdict;

use super::cup::{Batch, is_poured, judged};
use super::desk::Desk;
use super::mixed::{Part, Poured, mixed};
use super::recipe::Recipe;
use super::{alarm, awake};
use crate::clock;
use crate::engine::Preview;
use crate::routes::Route;
use crate::ui::{Banner, Button, ButtonKind, Icon, LinkButton, NumberField, ReadingBadge, Section, Tone};

/// The cups.
#[component]
pub fn Pour(desk: Desk) -> impl IntoView {
    let batch = desk.batch;
    // Drawn anew with another cup, not with every figure that is typed.
    let standing = Memo::new(move |_| {
        let cups = batch.with(|batch| batch.as_ref().map(|batch| batch.cups))?;
        let of = desk.of()?;
        desk.place.state.with(|state| Some((cups, of.next(state.here()?, cups))))
    });
    view! {
        <Awake/>
        {move || match standing.get() {
            None => view! { <NoBatch desk/> }.into_any(),
            Some((cups, None)) => view! { <AllMixed desk cups/> }.into_any(),
            Some((_, Some(cup))) => view! { <Cup desk cup/> }.into_any(),
        }}
    }
}

/// Says whether the screen stays on.
#[component]
fn Awake() -> impl IntoView {
    let on = awake::use_screen_on();
    view! {
        <p class="small muted" role="status">
            {move || if on.get() {
                "The screen stays on while you weigh in."
            } else {
                "This device doesn't let the app keep the screen on: it may go dark while you weigh in."
            }}
        </p>
    }
}

#[component]
fn NoBatch(desk: Desk) -> impl IntoView {
    let fetching = Memo::new(move |_| matches!(*desk.outcome.read(), Preview::Fetching));
    view! {
        {move || if fetching.get() {
            view! { <p class="muted" role="status">"Fetching the calculation engine"</p> }.into_any()
        } else {
            view! {
                <Banner tone=Tone::Close>
                    <p>"The cups can't be worked out: something of the batch is missing, or the calculation engine is not on this device yet."</p>
                </Banner>
            }
            .into_any()
        }}
        <div class="cluster"><Button label="Back to the batch" icon=Icon::Back on_press=move |()| desk.back()/></div>
    }
}

#[component]
fn AllMixed(desk: Desk, cups: u32) -> impl IntoView {
    let place = desk.place;
    let step = Route::Step(place.shop, place.job, place.step).to_string();
    let all = if cups == 1 { "The cup is mixed.".to_owned() } else { format!("All {cups} cups are mixed.") };
    view! {
        <Banner tone=Tone::Good><p role="status">{all}" Its parts, readings and worksheet are on the step."</p></Banner>
        <div class="action-bar">
            <Button label="Another batch" icon=Icon::Flask on_press=move |()| desk.anew()/>
            <LinkButton label="Back to the step" kind=ButtonKind::Primary href=step/>
        </div>
    }
}

#[component]
fn Cup(desk: Desk, cup: u32) -> impl IntoView {
    let (a, b) = (desk.text("poured_a"), desk.text("poured_b"));
    let of_batch = move |of: &dyn Fn(&Batch) -> String| {
        desk.batch.with(|batch| batch.as_ref().map(of).unwrap_or_default())
    };
    let heading = Signal::derive(move || of_batch(&|batch| format!("Cup {cup} of {}", batch.cups.max(cup))));
    let target_a = Signal::derive(move || of_batch(&|batch| batch.shown(batch.a)));
    let target_b = Signal::derive(move || of_batch(&|batch| batch.shown(batch.target_b(&a.read()))));
    let patch_a = Memo::new(move |_| {
        desk.batch
            .with(|batch| batch.as_ref().map(|batch| batch.reading_a(cup, &a.read())))
            .unwrap_or_default()
    });
    let patch_b = Memo::new(move |_| {
        let judge = |batch: &Batch| batch.reading_b(cup, &a.read(), &b.read());
        desk.batch.with(|batch| batch.as_ref().map(judge)).unwrap_or_default()
    });
    let advice = Memo::new(move |_| {
        desk.batch.with(|batch| batch.as_ref().and_then(|batch| batch.advice(&a.read(), &b.read())))
    });
    let name = move |part: Part| Signal::derive(move || desk.recipe.with(|recipe| recipe.name_of(part)));
    view! {
        <Section title=heading end=move || view! {
            <Button label="Back to the batch" kind=ButtonKind::Quiet icon=Icon::Back on_press=move |()| desk.back()/>
        }>
            <TooCold desk/>
            <div class="pours">
                <OnePour letter="A" name=name(Part::A) target=target_a value=a patch=patch_a/>
                <OnePour letter="B" name=name(Part::B) target=target_b value=b patch=patch_b/>
            </div>
            <div role="alert">
                {move || advice.get().map(|advice| view! { <Banner tone=Tone::Bad><p>{advice}</p></Banner> })}
            </div>
        </Section>
        <MixedNow desk cup patch_b/>
    }
}

#[component]
fn TooCold(desk: Desk) -> impl IntoView {
    let cold =
        Memo::new(move |_| desk.batch.with(|batch| batch.as_ref().is_some_and(|batch| batch.too_cold)));
    move || {
        cold.get().then(|| {
            view! {
                <Banner tone=Tone::Bad>
                    <p role="alert"><strong>"Too cold."</strong>" Below the maker's least temperature: do not mix. Warm the part, the resin and the room first."</p>
                </Banner>
            }
        })
    }
}

/// One part: how much, readable from as far as an arm reaches.
#[component]
fn OnePour(
    letter: &'static str,
    #[prop(into)] name: Signal<String>,
    #[prop(into)] target: Signal<String>,
    value: RwSignal<String>,
    #[prop(into)] patch: Signal<ReadingPatch>,
) -> impl IntoView {
    view! {
        <div class="pour" role="group" aria-label=format!("Part {letter}")>
            <p class="pour-part"><strong>{format!("Part {letter}")}</strong>" "{name}</p>
            <p class="pour-target"><span class="visually-hidden">"Pour "</span>{target}<span class="pour-unit">" g"</span></p>
            <NumberField label=format!("Poured, part {letter}") value unit="g".to_owned() hint="What the scale shows of this part alone"/>
            <div class="cluster">
                <Button label=format!("Part {letter} poured as asked") icon=Icon::Check on_press=move |()| value.set(target.get_untracked())/>
                <span role="status">{move || view! { <ReadingBadge reading=judged(&patch.read())/> }}</span>
            </div>
        </div>
    }
}

/// From this tap on the pot's clock runs.
#[component]
fn MixedNow(desk: Desk, cup: u32, patch_b: Memo<ReadingPatch>) -> impl IntoView {
    let (a, b) = (desk.text("poured_a"), desk.text("poured_b"));
    let poured = Memo::new(move |_| is_poured(&a.read(), &b.read()));
    let off = Memo::new(move |_| {
        let verdict = judged(&patch_b.read()).verdict();
        matches!(verdict, ReadingVerdict::Judged { verdict: Verdict::Outside, .. })
    });
    let mix = move |()| {
        // The moment first: what follows takes its time.
        let mixed_at = clock::now();
        alarm::unlock();
        let bodies = untrack(|| {
            let (of, batch, recipe) = (desk.of()?, desk.batch.get()?, desk.recipe.get());
            let poured = Poured { cup, a: &a.get(), b: &b.get(), mixed_at };
            desk.place.state.with(|state| Some(mixed(state.here()?, of, &recipe, &batch, poured)))
        });
        let done = format!("Cup {cup} mixed");
        desk.store.dispatch_then(desk.place.log, bodies.unwrap_or_default(), done, move || {
            // The page may be gone by now.
            for poured in [a, b] {
                poured.try_set(String::new());
            }
        });
    };
    let disabled = Signal::derive(move || !poured.get());
    view! {
        {move || (poured.get() && off.get()).then(|| view! {
            <p class="small muted">"Off the ratio it may stay soft for ever. If it was mixed all the same, the record will show it as outside its limits."</p>
        })}
        <div class="action-bar">
            {move || if poured.get() && off.get() {
                view! { <Button label="Mixed all the same" kind=ButtonKind::Danger icon=Icon::Timer on_press=mix/> }.into_any()
            } else {
                view! { <Button label="Mixed now: the clock starts" kind=ButtonKind::Primary icon=Icon::Timer disabled on_press=mix/> }.into_any()
            }}
        </div>
    }
}

impl Recipe {
    /// What a part is called; of a pair both are the one item.
    fn name_of(&self, part: Part) -> String {
        let [name, batch, ..] = if self.is_pair() { Part::A.fields() } else { part.fields() };
        let batch = self.text(batch);
        let batch = if batch.is_empty() { "no batch".to_owned() } else { format!("batch {batch}") };
        format!("{}, {batch}", self.text(name))
    }
}
