//! The screening's questions with their answers, each recorded as it is tapped.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::closing::{Screening, ScreeningPatch};
use shared_types::ids::{LogId, ScreeningId};
use shared_types::screening::{ALTERATION, Outcome, QUESTIONS, Question, outcome};

use crate::store::use_store;
use crate::ui::{Banner, Section, Tone};
use crate::words::count;

/// The questions.
#[component]
pub fn Answers(log: LogId, id: Signal<ScreeningId>, now: Memo<Screening>, may: bool) -> impl IntoView {
    view! {
        <Section title="The questions">
            <p class="small muted">"In our own words, after 14 CFR 1.1 and 14 CFR Part 43 Appendix A. What is from memory says so. Read the rule in force."</p>
            <ol class="lines">
                <Asked log id now may question=ALTERATION words=("repair", "alteration")/>
                {QUESTIONS.into_iter().map(|question| view! {
                    <Asked log id now may question words=("no", "yes, or in doubt")/>
                }).collect_view()}
            </ol>
            {move || said(outcome(&now.read()))}
        </Section>
    }
}

fn said(outcome: Outcome) -> AnyView {
    let (tone, words) = match outcome {
        Outcome::Open(left) => {
            (Tone::Plain, format!("{} not answered yet.", count(left, "question", "questions")))
        }
        Outcome::AllNo => (
            Tone::Good,
            "No question points to major work. A licensed person decides all the same.".to_owned(),
        ),
        Outcome::Yes(yes) => (
            Tone::Close,
            format!(
                "{} yes or in doubt: ask a licensed person before going on. They decide.",
                count(yes, "answer is", "answers are")
            ),
        ),
    };
    view! { <Banner tone><p role="status">{words}</p></Banner> }.into_any()
}

#[component]
fn Asked(
    log: LogId,
    id: Signal<ScreeningId>,
    now: Memo<Screening>,
    may: bool,
    question: Question,
    /// What no and yes are called.
    words: (&'static str, &'static str),
) -> impl IntoView {
    let store = use_store();
    let answer = move || question.answer(&now.read());
    let choose = move |yes: bool| {
        let answers = now.with_untracked(|now| question.answered(yes, now));
        let set = ScreeningPatch { answers: Some(answers), ..ScreeningPatch::default() };
        let done = format!("Answered: {}", if yes { words.1 } else { words.0 });
        store.dispatch(log, vec![Known::Screening(On { id: id.get_untracked(), set })], done);
    };
    let option = move |yes: bool, word: &'static str| {
        view! {
            <label>
                <input type="radio" name=question.paragraph disabled=!may
                    prop:checked=move || answer() == Some(yes) on:change=move |_| choose(yes)/>
                <span>{word}</span>
            </label>
        }
    };
    view! {
        <li>
            <fieldset class="field">
                <legend>{question.text}" "<span class="small muted nowrap">{question.paragraph}</span></legend>
                <div class="choice">{option(false, words.0)}{option(true, words.1)}</div>
            </fieldset>
        </li>
    }
}
