//! The fields of a kind, whatever it asks: groups, lists, and the refusals beside what they are about.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::worksheet::BadInput;

use super::asked::{Field, Node, label};
use super::filled::{Entry, Filled};
use crate::ui::{Button, ButtonKind, Choice, Icon, NumberField, SelectField, TextField, TickField};

/// What the engine refuses.
pub type Refusals = Memo<Vec<BadInput>>;

/// Where a field stands in the engine's input: `stack[0].thickness`.
type Path = Signal<String>;

/// All fields of a kind; what may be left out is folded away.
#[component]
pub fn GroupFields(
    fields: Arc<[Field]>,
    filled: Vec<Filled>,
    path: Path,
    refusals: Refusals,
) -> impl IntoView {
    let one = |(field, filled): (&Field, &Filled)| {
        let name = field.name.clone();
        let path = Signal::derive(move || {
            let path = path.read();
            if path.is_empty() { name.clone() } else { format!("{path}.{name}") }
        });
        view! { <OneField field=field.clone() filled=filled.clone() path refusals/> }.into_any()
    };
    let pairs: Vec<_> = fields.iter().zip(&filled).collect();
    let (must, may): (Vec<_>, Vec<_>) = pairs.into_iter().partition(|(field, _)| field.required);
    // Nothing is asked outright: all of it is shown.
    let (must, may) = if must.is_empty() { (may, must) } else { (must, may) };
    let further = (!may.is_empty()).then(|| {
        let is_filled = may.iter().any(|(field, filled)| untrack(|| filled.input(&field.node)).is_some());
        view! {
            <details class="more" open=is_filled>
                <summary>"Further, where it is known"</summary>
                <div class="fields fields--two">{may.iter().copied().map(one).collect_view()}</div>
            </details>
        }
    });
    view! {
        <div class="fields fields--two">{must.into_iter().map(one).collect_view()}</div>
        {further}
    }
}

#[component]
fn OneField(field: Field, filled: Filled, path: Path, refusals: Refusals) -> impl IntoView {
    let (label, hint, required) = (field.label(), field.hint, field.required);
    match (filled, field.node) {
        (Filled::Text(value), node) => one_text(node, value, label, hint, required, path, refusals),
        (Filled::Flag(value), _) => {
            view! { <TickField label=if hint.is_empty() { label } else { hint } value/> }.into_any()
        }
        (Filled::Group(filled), Node::Group(fields)) => view! {
            <fieldset class="field span asked-group">
                <legend>{label}</legend>
                {(!hint.is_empty()).then(|| view! { <p class="hint">{hint}</p> })}
                <GroupFields fields=fields.into() filled path refusals/>
            </fieldset>
        }
        .into_any(),
        (Filled::Entries(entries), node) => {
            view! { <Entries label hint node entries path refusals/> }.into_any()
        }
        (Filled::Either(chosen, filled), Node::Either(ways)) => {
            view! { <Ways label hint required chosen filled ways path refusals/> }.into_any()
        }
        // The two are made together.
        _ => ().into_any(),
    }
}

/// Several ways to say the same thing, one of them shown.
#[component]
fn Ways(
    label: String,
    hint: String,
    required: bool,
    chosen: RwSignal<String>,
    filled: Vec<Filled>,
    ways: Vec<Node>,
    path: Path,
    refusals: Refusals,
) -> impl IntoView {
    let words = ways.iter().enumerate().map(|(at, way)| (at.to_string(), way_in_words(way).to_owned()));
    let options: Vec<_> = words.collect();
    let pairs = StoredValue::new(ways.into_iter().zip(filled).collect::<Vec<_>>());
    let (asked, name) = (format!("{label}, entered"), label.clone());
    let shown = move || {
        let pair = pairs.with_value(|pairs| pairs.get(chosen.read().parse::<usize>().ok()?).cloned());
        pair.map(|(node, filled)| {
            if let (Node::Group(fields), Filled::Group(filled)) = (&node, &filled) {
                let (fields, filled) = (fields.as_slice().into(), filled.clone());
                return view! { <GroupFields fields filled path refusals/> }.into_any();
            }
            let field = Field { name: name.clone(), hint: String::new(), required, node };
            view! { <OneField field filled path refusals/> }.into_any()
        })
    };
    view! {
        <fieldset class="field span asked-group">
            <legend>{label}</legend>
            {(!hint.is_empty()).then(|| view! { <p class="hint">{hint}</p> })}
            <Choice label=asked value=chosen options/>
            {shown}
        </fieldset>
    }
}

const fn way_in_words(way: &Node) -> &'static str {
    match way {
        Node::Group(_) | Node::Named(_) => "by its own constants",
        Node::Text | Node::OneOf(_) => "by its name",
        Node::List { .. } => "as a list",
        _ => "as a figure",
    }
}

/// The refusal of exactly this place.
fn refusal(refusals: Refusals, path: Path) -> Signal<Option<String>> {
    Signal::derive(move || {
        let (refusals, path) = (refusals.read(), path.read());
        let own = refusals.iter().find(|it| it.field == *path)?;
        Some(format!("{}; accepted: {}", own.reason, own.accepted))
    })
}

fn one_text(
    node: Node,
    value: RwSignal<String>,
    label: String,
    hint: String,
    required: bool,
    path: Path,
    refusals: Refusals,
) -> AnyView {
    let refused = refusal(refusals, path);
    // What nobody has filled in yet is not wrong: the preview says what is missing.
    let error = Signal::derive(move || if value.read().trim().is_empty() { None } else { refused.get() });
    match node {
        Node::OneOf(options) => {
            let none = if required { "choose" } else { "as usual" };
            let none = std::iter::once((String::new(), none.to_owned()));
            let options: Vec<_> = none.chain(options).collect();
            view! { <SelectField label value options hint error/> }.into_any()
        }
        Node::Number => view! { <NumberField label value hint error/> }.into_any(),
        Node::Quantity { bare, such_as } => {
            // A ratio has no unit to speak of.
            let bare = bare.filter(|unit| unit != "1").map(|unit| format!("Without a unit: {unit}."));
            let hint = [Some(hint), bare].into_iter().flatten().filter(|text| !text.is_empty());
            let hint = hint.collect::<Vec<_>>().join(" ");
            view! { <TextField label value hint placeholder=such_as error/> }.into_any()
        }
        _ => view! { <TextField label value hint error/> }.into_any(),
    }
}

/// A list: its entries one below the other, each can be taken out, and another added.
#[component]
fn Entries(
    label: String,
    hint: String,
    node: Node,
    entries: RwSignal<Vec<Entry>>,
    path: Path,
    refusals: Refusals,
) -> impl IntoView {
    let is_place = node.is_place();
    let (entry, least, most, named) = match node {
        Node::List { entry, least, most } => (*entry, least, most, false),
        Node::Named(entry) => (*entry, 0, usize::MAX, true),
        // Only lists have entries.
        _ => return ().into_any(),
    };
    if is_place {
        return view! { <Coordinates entry entries path refusals/> }.into_any();
    }
    let made = entry.clone();
    let add = move |()| {
        let it = Filled::new(&made, None, true);
        entries.update(|all| {
            let number = all.iter().map(|(number, ..)| number + 1).max().unwrap_or_default();
            all.push((number, RwSignal::new(String::new()), it));
        });
    };
    let full = Signal::derive(move || entries.read().len() >= most);
    let fixed = least == most;
    let whole = refusal(refusals, path);
    let one = if entry.is_place() { "Point".to_owned() } else { label_of_one(&label) };
    let another = format!("Add: {}", one.to_lowercase());
    view! {
        <fieldset class="field span asked-group">
            <legend>{label}</legend>
            {(!hint.is_empty()).then(|| view! { <p class="hint">{hint}</p> })}
            {move || whole.get().filter(|_| !entries.read().is_empty()).map(|why| view! { <p class="error"><span>{why}</span></p> })}
            <For each=move || entries.get() key=|(number, ..)| *number let:it>
                <OneEntry it node=entry.clone() one=one.clone() named fixed entries path refusals/>
            </For>
            {(!fixed).then(|| view! {
                <Button label=another kind=ButtonKind::Quiet icon=Icon::Add disabled=full on_press=add/>
            })}
        </fieldset>
    }
    .into_any()
}

/// "Layers" has entries "layer", "plies" has "ply".
fn label_of_one(label: &str) -> String {
    if let Some(stem) = label.strip_suffix("ies") {
        return format!("{stem}y");
    }
    label.strip_suffix('s').filter(|one| !one.ends_with('s')).unwrap_or(label).to_owned()
}

/// A place: its two coordinates side by side.
#[component]
fn Coordinates(entry: Node, entries: RwSignal<Vec<Entry>>, path: Path, refusals: Refusals) -> impl IntoView {
    let one = |(place, (_, _, filled)): (usize, Entry)| {
        let name = ["x", "y"][place.min(1)].to_owned();
        let field = Field { name, hint: String::new(), required: true, node: entry.clone() };
        let own = Signal::derive(move || format!("{}[{place}]", path.read()));
        view! { <OneField field filled path=own refusals/> }
    };
    let both = entries.get_untracked().into_iter().enumerate().map(one).collect_view();
    view! { <div class="fields fields--entry">{both}</div> }
}

#[component]
fn OneEntry(
    it: Entry,
    node: Node,
    one: String,
    named: bool,
    fixed: bool,
    entries: RwSignal<Vec<Entry>>,
    path: Path,
    refusals: Refusals,
) -> impl IntoView {
    let (number, name, filled) = it;
    let at = Memo::new(move |_| entries.read().iter().position(|it| it.0 == number).unwrap_or_default());
    let own = Signal::derive(move || {
        let path = path.read();
        if named { format!("{path}.{}", name.read().trim()) } else { format!("{path}[{}]", at.get()) }
    });
    let title = {
        let one = one.clone();
        Signal::derive(move || format!("{one} {}", at.get() + 1))
    };
    let fields = match (filled, node) {
        (Filled::Group(filled), Node::Group(fields)) => {
            view! { <GroupFields fields=fields.into() filled path=own refusals/> }.into_any()
        }
        (filled, node) => {
            let field = Field { name: label(&one), hint: String::new(), required: true, node };
            view! { <OneField field filled path=own refusals/> }.into_any()
        }
    };
    view! {
        <div class="asked-entry stack stack--tight" role="group" aria-label=title>
            <div class="spread">
                <strong class="grow">{title}</strong>
                {(!fixed).then(|| view! {
                    <Button label=Signal::derive(move || format!("Take out: {}", title.get())) icon_only=true kind=ButtonKind::Quiet icon=Icon::Close
                        on_press=move |()| entries.update(|all| all.retain(|it| it.0 != number))/>
                })}
            </div>
            {named.then(|| view! { <TextField label="Name" value=name/> })}
            {fields}
        </div>
    }
}
