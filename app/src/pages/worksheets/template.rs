//! The drill template at full size: as a file to keep, or to print.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::Value;
use shared_types::job::AnswerOutcome;

use crate::engine::{Preview, use_engine};
use crate::page;
use crate::store::use_store;
use crate::ui::{Button, Icon, Section};

/// The kind that makes one.
const KIND: &str = "row-layout";

/// The files of a worksheet that has a template; nothing for the others.
#[component]
pub fn Templates(kind: String, input: Value) -> impl IntoView {
    (kind == KIND).then(|| view! { <Files input/> })
}

#[component]
fn Files(input: Value) -> impl IntoView {
    let store = use_store();
    let engine = use_engine();
    let asked = StoredValue::new(input);
    // SVG and DXF are drawn on this device; the recorded answer leaves the template out.
    let drawn = Memo::new(move |_| match engine.work_out(KIND, &asked.get_value()) {
        Preview::Answer(AnswerOutcome::Result(result)) => result.outputs.get("template").cloned(),
        _ => None,
    });
    let save = move |form: &'static str| {
        let file = drawn.with_untracked(|drawn| Some(drawn.as_ref()?.get(form)?.as_str()?.to_owned()));
        if let Some(file) = file {
            page::save_as(&format!("drill-template.{form}"), vec![file.into_bytes()]);
        }
    };
    let waiting = RwSignal::new(false);
    let pdf = move |()| {
        waiting.set(true);
        spawn_local(async move {
            let answer = store.device().work_out(KIND, &asked.get_value()).await;
            match answer.map(|result| pdf_of(&result.outputs)) {
                Ok(Some(pdf)) => page::save_as("drill-template.pdf", vec![pdf]),
                Ok(None) => store.warn("The server made no PDF of it. SVG and DXF have the same drawing."),
                Err(why) => store.warn(format!("No PDF: {why}. SVG and DXF are made on this device.")),
            }
            // The view may be gone by now.
            waiting.try_set(false);
        });
    };
    let none = Signal::derive(move || drawn.read().is_none());
    view! {
        <Section title="Drill template, 1:1">
            <p class="muted">"Print it at 100 %, not fitted to the page, and measure its scale bars before you drill by it."</p>
            <div class="cluster">
                <Button label="PDF to print" icon=Icon::Download disabled=waiting on_press=pdf/>
                <Button label="SVG" icon=Icon::Download disabled=none on_press=move |()| save("svg")/>
                <Button label="DXF" icon=Icon::Download disabled=none on_press=move |()| save("dxf")/>
            </div>
        </Section>
    }
}

fn pdf_of(outputs: &serde_json::Map<String, Value>) -> Option<Vec<u8>> {
    let text = outputs.get("template")?.get("pdf_base64")?.as_str()?;
    // A character of what the browser makes of it is a byte.
    let bytes = window().atob(text).ok()?;
    bytes.chars().map(|it| u8::try_from(u32::from(it)).ok()).collect()
}
