//! A template at full size, of drill holes or of plies: as a file to keep, or to print.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use shared_types::job::AnswerOutcome;

use crate::engine::{Preview, use_engine};
use crate::page;
use crate::store::use_store;
use crate::ui::{Button, Icon, Section};

/// A kind of worksheet that makes one.
struct Made {
    kind: &'static str,
    title: &'static str,
    /// What the files are called.
    file: &'static str,
    /// What to do before relying on the paper.
    before: &'static str,
    /// Must it be asked for?
    on_request: bool,
}

const MADE: [Made; 2] = [
    Made {
        kind: "row-layout",
        title: "Drill template, 1:1",
        file: "drill-template",
        before: "Print it at 100 %, not fitted to the page, and measure its scale bars before you drill by it.",
        on_request: false,
    },
    Made {
        kind: "patch",
        title: "Ply templates, 1:1",
        file: "ply-templates",
        before: "Print them at 100 %, not fitted to the page, and measure their scale bars before you cut by them.",
        on_request: true,
    },
];

/// The files of a worksheet that has a template; nothing for the others.
#[component]
pub fn Templates(kind: String, input: Value) -> impl IntoView {
    let made = MADE.iter().find(|made| made.kind == kind);
    made.map(|made| view! { <Files made input/> })
}

#[component]
fn Files(made: &'static Made, input: Value) -> impl IntoView {
    let store = use_store();
    let engine = use_engine();
    let mut input = input;
    if let (true, Value::Object(fields)) = (made.on_request, &mut input) {
        fields.insert("template".to_owned(), json!(true));
    }
    let asked = StoredValue::new(input);
    // SVG and DXF are drawn on this device; the recorded answer leaves the template out.
    let drawn = move || match untrack(|| engine.work_out(made.kind, &asked.get_value())) {
        Preview::Answer(AnswerOutcome::Result(result)) => result.outputs.get("template").cloned(),
        _ => None,
    };
    let save = move |form: &'static str| {
        let file = drawn().and_then(|drawn| Some(drawn.get(form)?.as_str()?.to_owned()));
        match file {
            Some(file) => page::save_as(&format!("{}.{form}", made.file), vec![file.into_bytes()]),
            None => store.warn("This device could not draw the template."),
        }
    };
    let waiting = RwSignal::new(false);
    let pdf = move |()| {
        waiting.set(true);
        spawn_local(async move {
            let answer = store.device().work_out(made.kind, &asked.get_value()).await;
            match answer.map(|result| pdf_of(&result.outputs)) {
                Ok(Some(pdf)) => page::save_as(&format!("{}.pdf", made.file), vec![pdf]),
                Ok(None) => store.warn("The server made no PDF of it. SVG and DXF have the same drawing."),
                Err(why) => store.warn(format!("No PDF: {why}. SVG and DXF are made on this device.")),
            }
            // The view may be gone by now.
            waiting.try_set(false);
        });
    };
    let none = Signal::derive(move || !engine.is_here());
    view! {
        <Section title=made.title>
            <p class="muted">{made.before}</p>
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
