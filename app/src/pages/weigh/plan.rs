//! What the batch is: the cloth, the two parts, the maker's ratio, the pot.

use leptos::prelude::*;
use shared_types::job::AnswerOutcome;
use shared_types::shop::StockKind;
use shared_types::worksheet::Quantity;

use super::desk::Desk;
use super::mixed::Part;
use super::parts::{DeskField, Expired};
use super::recipe::{Recipe, sheet_of};
use crate::engine::Preview;
use crate::page;
use crate::pages::parts::shelf::{Picked, ShelfSearch, named, standing};
use crate::shelf::{Shelf, line_of_row, line_of_stock, use_shelf};
use crate::ui::{
    Banner, Button, ButtonKind, Cautions, Icon, Section, ShowQuantity, Tone, WorkingList, quantity_text,
};

/// The plan.
#[component]
pub fn Plan(desk: Desk) -> impl IntoView {
    let shelf = use_shelf(desk.place.shop);
    view! {
        <div class="halves">
            <div class="stack">
                <Cloth desk/>
                <BothParts desk shelf/>
                <Mix desk/>
            </div>
            <div class="stack">
                <Pot desk/>
                <Comes desk/>
            </div>
        </div>
        <div class="action-bar">
            <Button label="Weigh in" kind=ButtonKind::Primary icon=Icon::Flask on_press=move |()| desk.begin()/>
        </div>
    }
}

#[component]
fn Cloth(desk: Desk) -> impl IntoView {
    view! {
        <Section title="Cloth">
            {move || {
                let all = desk.origins.get();
                (!all.is_empty()).then(|| view! {
                    <div class="cluster" role="group" aria-label="Fill in from this job">
                        <span class="small muted">"Fill in from"</span>
                        {all.into_iter().map(|origin| {
                            let fills = StoredValue::new(origin.fills);
                            view! { <Button label=origin.label icon=Icon::Layers on_press=move |()| desk.fill(fills.get_value())/> }
                        }).collect_view()}
                    </div>
                })
            }}
            <div class="fields fields--two">
                <DeskField desk name="area"/>
                <DeskField desk name="plies"/>
                <DeskField desk name="cloth"/>
                <DeskField desk name="areal_weight"/>
                <div class="span"><DeskField desk name="form"/></div>
                <div class="span"><DeskField desk name="fabric_mass"/></div>
                <DeskField desk name="fibre_weight_fraction"/>
                <DeskField desk name="waste"/>
            </div>
        </Section>
    }
}

#[component]
fn BothParts(desk: Desk, shelf: Shelf) -> impl IntoView {
    let pair = Memo::new(move |_| desk.recipe.with(Recipe::is_pair));
    view! {
        <Section title="Resin, part A"><OnePart desk shelf part=Part::A/></Section>
        <DeskField desk name="pair"/>
        {move || (!pair.get()).then(|| view! {
            <Section title="Hardener, part B"><OnePart desk shelf part=Part::B/></Section>
        })}
    }
}

/// One part: out of the shelf, or typed.
#[component]
fn OnePart(desk: Desk, shelf: Shelf, part: Part) -> impl IntoView {
    let [name, batch, document, expiry, reason, stock] = part.fields();
    let pick = move |picked: Picked| {
        let line = match &picked {
            Picked::Shelf(id, item) => line_of_stock(*id, item),
            Picked::Listed(row) => line_of_row(row),
        };
        let text = |field: &str| line.get(field).and_then(|it| it.as_str()).unwrap_or_default().to_owned();
        desk.fill([
            (name, text("name")),
            (batch, text("batch")),
            (document, text("source_document")),
            (expiry, text("expiry")),
            (reason, String::new()),
            (stock, text("stock")),
        ]);
        if let (Part::A, Picked::Shelf(_, item)) = (part, &picked) {
            desk.fill(sheet_of(item));
        }
        // The button that was pressed is gone: on to what it filled in.
        let place = part.letter();
        page::focus_first(&[
            &format!("[data-part='{place}'] [data-picked]"),
            &format!("[data-part='{place}'] .fields input"),
        ]);
    };
    let from = Memo::new(move |_| desk.text(stock).read().parse().ok());
    let expired = move || view! { <Expired desk expiry reason/> };
    view! {
        <div class="stack" data-part=part.letter()>
        <ShelfSearch shelf=Some(shelf) kind=StockKind::Material on_pick=pick/>
        {move || from.get().and_then(|id| Some((shelf.item(id)?, shelf.balance(id)))).map(|(item, balance)| {
            let (name, beside) = named(&item);
            view! { <p class="small" role="status" tabindex="-1" data-picked="">{format!("From the shelf: {name}, {beside}. {}.", standing(&balance))}</p> }
        })}
        <div class="fields fields--two">
            <div class="span"><DeskField desk name=name/></div>
            <DeskField desk name=batch/>
            <DeskField desk name=document/>
            <DeskField desk name=expiry/>
        </div>
        {expired()}
        </div>
    }
}

#[component]
fn Mix(desk: Desk) -> impl IntoView {
    let by = Memo::new(move |_| desk.text("by").get());
    view! {
        <Section title="Mix">
            <DeskField desk name="by"/>
            <div class="fields fields--two">
                <DeskField desk name="a"/>
                <DeskField desk name="b"/>
            </div>
            {move || (by.get() == "volume").then(|| view! {
                <Banner tone=Tone::Close>
                    <p>"A ratio by volume is weighed with the densities of the two, from the maker's sheet. It is not the ratio by weight."</p>
                </Banner>
                <div class="fields fields--two">
                    <DeskField desk name="density_a"/>
                    <DeskField desk name="density_b"/>
                </div>
            })}
            <div class="fields fields--two">
                <DeskField desk name="cup"/>
                <DeskField desk name="residue"/>
                <DeskField desk name="scale_step"/>
                <DeskField desk name="scale"/>
            </div>
        </Section>
    }
}

#[component]
fn Pot(desk: Desk) -> impl IntoView {
    view! {
        <Section title="Pot and temperature">
            <div class="fields fields--two">
                <DeskField desk name="pot_life"/>
                <DeskField desk name="pot_life_at" label="Pot life holds at"/>
                <DeskField desk name="temperature"/>
                <DeskField desk name="minimum_temperature"/>
            </div>
        </Section>
    }
}

/// What comes of it, marked as a preview.
#[component]
fn Comes(desk: Desk) -> impl IntoView {
    let shown = move || {
        match desk.outcome.get() {
        Preview::Answer(AnswerOutcome::Result(result)) => {
            let cold = desk.batch.with(|batch| batch.as_ref().is_some_and(|batch| batch.too_cold));
            let part = |name: &str| -> Option<Quantity> {
                serde_json::from_value(result.outputs.get("per_cup")?.get(name)?.clone()).ok()
            };
            let whole = |name: &str| -> Option<Quantity> {
                serde_json::from_value(result.outputs.get(name)?.clone()).ok()
            };
            let cups = whole("cups").map_or(1.0, |cups| cups.value);
            let each = if cups > 1.0 { format!("{cups} cups, in each:") } else { "One cup:".to_owned() };
            view! {
                <div class="result" role="status">
                    <span>{each}</span>
                    {part("part_a").map(|it| view! { <span class="big">{quantity_text(&it)}" of A"</span> })}
                    {part("part_b").map(|it| view! { <span class="big">{quantity_text(&it)}" of B"</span> })}
                    {whole("pot_life").map(|it| view! { <span>"Pot life today "<ShowQuantity quantity=it/></span> })}
                </div>
                {cold.then(|| view! {
                    <Banner tone=Tone::Bad><p role="alert"><strong>"Too cold."</strong>" Below the maker's least temperature: do not mix. Warm the part, the resin and the room first."</p></Banner>
                })}
                <p class="small muted">"Worked out on this device. The server's result, which is the one of record, comes with the first mixed cup and a connection."</p>
                <Cautions cautions=result.cautions/>
                <details class="more"><summary>"Working"</summary><WorkingList lines=result.lines/></details>
            }
            .into_any()
        }
        Preview::Answer(AnswerOutcome::Refused(why)) => {
            let missing: Vec<_> = why.iter().map(|why| format!("{} {}", desk.label(&why.field), why.reason)).collect();
            view! { <p class="muted">{format!("Not enough for a result yet. {}.", missing.join("; "))}</p> }.into_any()
        }
        Preview::Fetching => view! { <p class="muted" role="status">"Fetching the calculation engine"</p> }.into_any(),
        Preview::NoEngine | Preview::UnknownKind => view! {
            <Banner tone=Tone::Close><p>"The calculation engine is not on this device yet: open this page once with a connection."</p></Banner>
        }
        .into_any(),
    }
    };
    view! { <Section title="In the cups">{shown}</Section> }
}
