//! One step in the record.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{StepId, WorksheetId};
use shared_types::job::{
    AnswerOutcome, Decision, HardwareLine, JobState, MaterialLine, Moment, Note, Outcome, Photo, Reading,
    ToolUse,
};
use shared_types::sorted;
use shared_types::status::{StepStatus, is_expired};
use shared_types::time::{Day, UtcMillis};

use super::facts::{STRETCHES, begun_and_finished, stretches};
use super::view::RecordSources;
use super::{lists, sheets};
use crate::clock::day_of;
use crate::differences;
use crate::findings;
use crate::ui::{Cautions, Drawing, HoldPointMark, ReadingBadge, StepBadge, WorkingList};
use crate::words::count;

/// A step with everything that was recorded on it.
#[component]
pub fn StepRecord(
    state: Arc<JobState>,
    step: StepId,
    number: usize,
    sources: RecordSources,
) -> impl IntoView {
    let id = Some(step);
    let Some(it) = state.steps.get(&step).cloned() else { return ().into_any() };
    let status = state.step_status(step);
    let skipped = it.skipped.or_empty();
    let times = begun_and_finished(sources.tell(&state), step);
    let worked = stretches(sources.tell(&state), id);
    let notes: Vec<Note> = on(&state.notes, id).map(|(_, it)| it.clone()).collect();
    let readings: Vec<Reading> = on(&state.readings, id).map(|(_, it)| it.clone()).collect();
    let hardware: Vec<HardwareLine> = on(&state.hardware, id).map(|(_, it)| it.clone()).collect();
    let materials: Vec<MaterialLine> = on(&state.materials, id).map(|(_, it)| it.clone()).collect();
    let tools: Vec<ToolUse> = on(&state.tools, id).map(|(_, it)| it.clone()).collect();
    let photos = state.shown_photos(id);
    let sheets: Vec<_> = on(&state.worksheets, id).map(|(id, _)| *id).collect();
    view! {
        <section class="card step-record">
            <div class="spread">
                <h3>{format!("{number}. {}", it.title.or_empty())}</h3>
                <div class="cluster">
                    {it.hold_point.or_empty().then(|| view! { <HoldPointMark/> })}
                    <StepBadge status=status.clone()/>
                </div>
            </div>
            {(!times.is_empty()).then(|| view! { <p class="small muted">{times.join(", ")}</p> })}
            {(!skipped.is_empty()).then(|| view! { <p><strong>"Skipped: "</strong>{skipped.0}</p> })}
            <p class="prewrap small">{it.instruction.or_empty().0}</p>
            <Overrides state=state.clone() step sources=sources.clone()/>
            <NoteList notes sources=sources.clone()/>
            <ReadingTable readings moment=sources.moment/>
            <HardwareTable hardware sources=sources.clone()/>
            <MaterialTable materials sources=sources.clone()/>
            <ToolList tools today=sources.today/>
            <Stretches rows=worked/>
            <PhotoList photos sources=sources.clone()/>
            {sheets.into_iter().map(|sheet| view! { <SheetRecord state=state.clone() sheet/> }).collect_view()}
            <Decisions state=state.clone() step status sources/>
        </section>
    }
    .into_any()
}

/// Notes with author and time.
#[component]
pub fn NoteList(notes: Vec<Note>, sources: RecordSources) -> impl IntoView {
    notes
        .into_iter()
        .map(|note| {
            let by = note.created().map(|mark| {
                format!("{}, {}, {}", note.moment.or_empty().word(), (sources.name)(mark.author), (sources.moment)(mark.stamp.0))
            });
            view! { <div class="note"><p class="prewrap">{note.text.or_empty().0}</p><p class="small muted">{by}</p></div> }
        })
        .collect_view()
}

/// A reading's limits: `0.128 to 0.132 in`.
#[must_use]
pub fn limits_words(reading: &Reading) -> String {
    let unit = reading.unit.or_empty();
    match (reading.minimum.or_empty(), reading.maximum.or_empty()) {
        (low, high) if low.is_empty() && high.is_empty() => "none".to_owned(),
        (low, high) if high.is_empty() => format!("at least {low} {unit}"),
        (low, high) if low.is_empty() => format!("at most {high} {unit}"),
        (low, high) => format!("{low} to {high} {unit}"),
    }
}

/// Readings against their limits.
#[component]
pub fn ReadingTable(readings: Vec<Reading>, moment: fn(UtcMillis) -> String) -> impl IntoView {
    (!readings.is_empty()).then(|| {
        let row = |it: Reading| {
            let measured = it.measured_at.or_empty().map(moment);
            let unit = it.unit.or_empty();
            let limits = limits_words(&it);
            view! {
                <tr>
                    <th scope="row">{it.label.or_empty().0}</th>
                    <td class="figures">{format!("{} {unit}", it.value.or_empty())}</td>
                    <td class="figures">{limits}" "<span class="small muted">{it.limit_source.or_empty().0}</span></td>
                    <td>{it.tool.or_empty().0}" "<span class="small muted">{measured}</span></td>
                    <td><ReadingBadge reading=it/></td>
                </tr>
            }
        };
        view! {
            <div class="table" role="group" tabindex="0" aria-label="Readings"><table>
                <thead><tr><th>"Reading"</th><th>"Value"</th><th>"Limits"</th><th>"Tool, time"</th><th>"Verdict"</th></tr></thead>
                <tbody>{readings.into_iter().map(row).collect_view()}</tbody>
            </table></div>
        }
    })
}

/// Hardware lines with batches and source documents.
#[component]
pub fn HardwareTable(hardware: Vec<HardwareLine>, sources: RecordSources) -> impl IntoView {
    (!hardware.is_empty()).then(|| {
        let row = |it: HardwareLine| {
            let used = it.created().map_or(sources.today, |mark| day_of(mark.stamp.0));
            view! {
                <tr>
                    <th scope="row">{it.part_number.or_empty().0}" "<span class="small muted">{it.description.or_empty().0}</span></th>
                    <td class="figures">{it.quantity.or_empty().map(|n| n.to_string())}</td>
                    <td class="figures">{it.batch.or_empty().0}</td>
                    <td>{it.source_document.or_empty().0}</td>
                    <td>{expiry_words(it.expiry.or_empty(), used, &it.expired_reason.or_empty().0)}</td>
                </tr>
            }
        };
        view! {
            <div class="table table--wide" role="group" tabindex="0" aria-label="Hardware"><table>
                <thead><tr><th>"Hardware"</th><th>"Number"</th><th>"Batch"</th><th>"Source document"</th><th>"Expiry"</th></tr></thead>
                <tbody>{hardware.into_iter().map(row).collect_view()}</tbody>
            </table></div>
        }
    })
}

/// How a material was mixed and cured.
#[must_use]
pub fn mix_and_cure(line: &MaterialLine, moment: fn(UtcMillis) -> String) -> String {
    let mixed = line.mixed_at.or_empty().map(|at| format!("mixed {}", moment(at)));
    let cure = line.cure_hours.or_empty();
    let cure = cure.map(|hours| format!("cure {hours} h at {}", line.cure_temperature.or_empty()));
    let parts = [Some(line.mix.or_empty().0), mixed, cure];
    parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

/// Material lines with batches, mixing and cure.
#[component]
pub fn MaterialTable(materials: Vec<MaterialLine>, sources: RecordSources) -> impl IntoView {
    (!materials.is_empty()).then(|| {
        let row = |it: MaterialLine| {
            let used = it.created().map_or(sources.today, |mark| day_of(mark.stamp.0));
            let treated = mix_and_cure(&it, sources.moment);
            view! {
                <tr>
                    <th scope="row">{it.name.or_empty().0}" "<span class="small muted">{it.kind.or_empty().word()}</span></th>
                    <td class="figures">{it.quantity.or_empty().0}</td>
                    <td><span class="figures">{it.batch.or_empty().0}</span>" "<span class="small">{it.source_document.or_empty().0}</span></td>
                    <td>{treated}</td>
                    <td>{expiry_words(it.expiry.or_empty(), used, &it.expired_reason.or_empty().0)}</td>
                </tr>
            }
        };
        view! {
            <div class="table table--wide" role="group" tabindex="0" aria-label="Materials"><table>
                <thead><tr><th>"Material"</th><th>"Quantity"</th><th>"Batch, source document"</th><th>"Mix and cure"</th><th>"Expiry"</th></tr></thead>
                <tbody>{materials.into_iter().map(row).collect_view()}</tbody>
            </table></div>
        }
    })
}

/// A last day of use, and what is said of it where it was over.
#[must_use]
pub fn expiry_words(expiry: Option<Day>, used: Day, reason: &str) -> String {
    match expiry {
        None => String::new(),
        Some(day) if !is_expired(Some(day), used) => format!("{day}"),
        Some(day) if reason.is_empty() => format!("EXPIRED on {day} when used; no reason was given"),
        Some(day) => format!("EXPIRED on {day} when used: {reason}"),
    }
}

/// Tools with their calibration, as it stood when they were used.
#[component]
pub fn ToolList(tools: Vec<ToolUse>, today: Day) -> impl IntoView {
    (!tools.is_empty()).then(|| {
        let words = tools.iter().map(|it| {
            let due = it.calibration_due.or_empty();
            let used = it.created().map_or(today, |mark| day_of(mark.stamp.0));
            let overdue = if is_expired(due, used) { " (overdue when used)" } else { "" };
            let due = due.map(|day| format!(", calibration due {day}{overdue}")).unwrap_or_default();
            format!("{} {}{due}", it.name.or_empty(), it.identifier.or_empty())
        });
        view! { <p class="small"><strong>"Tools: "</strong>{words.collect::<Vec<_>>().join("; ")}</p> }
    })
}

/// Stretches of working time, as [`stretches`] tells them.
#[component]
pub fn Stretches(rows: Vec<[String; 4]>) -> impl IntoView {
    (!rows.is_empty()).then(|| {
        let row = |[who, from, to, on]: [String; 4]| {
            view! { <tr><th scope="row">{who}</th><td class="figures">{from}</td><td class="figures">{to}</td><td>{on}</td></tr> }
        };
        view! {
            <div class="table" role="group" tabindex="0" aria-label="Time worked"><table>
                <thead><tr>{STRETCHES.map(|name| view! { <th scope="col">{name}</th> }).collect_view()}</tr></thead>
                <tbody>{rows.into_iter().map(row).collect_view()}</tbody>
            </table></div>
        }
    })
}

/// Says that the record does without some photos; nothing when it shows all.
#[must_use]
pub fn left_out_words(left_out: usize) -> Option<String> {
    (left_out > 0).then(|| {
        format!(
            "{} not shown here: in the job and in its bundle.",
            count(left_out, "more photo", "more photos")
        )
    })
}

/// Photos that the record shows, before to after, and how many it leaves out.
#[component]
pub fn PhotoList(
    /// As [`JobState::shown_photos`] tells them.
    photos: (Vec<Photo>, usize),
    sources: RecordSources,
) -> impl IntoView {
    let (photos, left_out) = photos;
    let left_out = left_out_words(left_out).map(|words| view! { <p class="small muted">{words}</p> });
    let list = (!photos.is_empty()).then(|| {
        let of = |moment: Moment| {
            let photos: Vec<_> = photos.iter().filter(|it| it.moment.or_empty() == moment).collect();
            let figures = photos.into_iter().map(|photo| {
                view! {
                    <figure>
                        {(sources.photo)(photo)}
                        <figcaption class="small">
                            <strong>{moment.word()}</strong>" "{photo.caption.or_empty().0}" "
                            <span class="muted">
                                {photo.taken_at.or_empty().map(|at| (sources.moment)(at))}" "
                                <span class="figures">{photo.digest.or_empty().short()}</span>
                            </span>
                        </figcaption>
                    </figure>
                }
            });
            figures.collect_view()
        };
        view! { <div class="record-photos">{Moment::ALL.map(of).collect_view()}</div> }
    });
    view! { {list}{left_out} }
}

/// A worksheet with its working.
#[component]
pub fn SheetRecord(state: Arc<JobState>, sheet: WorksheetId) -> impl IntoView {
    let title = sheets::title(&state, sheet);
    let body = match state.answer_to(sheet) {
        None => view! { <p class="muted">"The server has not worked this out yet."</p> }.into_any(),
        Some(AnswerOutcome::Refused(why)) => {
            let why: Vec<_> = why.iter().map(ToString::to_string).collect();
            view! { <p>"Refused: "{why.join("; ")}</p> }.into_any()
        }
        Some(AnswerOutcome::Result(result)) => {
            let result = (**result).clone();
            view! {
                {result.drawing.map(|svg| view! { <Drawing svg label="Drawing of the worksheet"/> })}
                <WorkingList lines=result.lines/>
                <Cautions cautions=result.cautions/>
                <p class="small muted">{format!("{}, input digest {}", result.engine, result.digest.short())}</p>
            }
            .into_any()
        }
    };
    view! { <div class="stack stack--tight"><h4>"Worksheet: "{title}</h4>{body}</div> }
}

/// Hold points that were passed over.
#[component]
fn Overrides(state: Arc<JobState>, step: StepId, sources: RecordSources) -> impl IntoView {
    let shown = lists::overrides(sources.tell(&state), step).into_iter().map(|(hold_point, said)| {
        view! { <p class="error-text"><strong>"Hold point overridden: "</strong>{hold_point}", "{said}</p> }
    });
    shown.collect_view()
}

#[component]
fn Decisions(
    state: Arc<JobState>,
    step: StepId,
    status: StepStatus,
    sources: RecordSources,
) -> impl IntoView {
    let mut decisions: Vec<_> = on(&state.decisions, Some(step)).map(|(id, it)| (*id, it.clone())).collect();
    sorted::by_key(&mut decisions, |(_, it)| it.created().copied());
    let overtaken = match &status {
        StepStatus::Accepted { since, .. } if !since.is_empty() => {
            Some(since.iter().map(|it| differences::difference(&state, it)).collect::<Vec<_>>().join("; "))
        }
        _ => None,
    };
    let line = |it: &Decision| {
        let word = if it.outcome.or_empty() == Outcome::Accept { "Accepted" } else { "Returned" };
        let by = it.created().map(|mark| {
            format!("{word} by {}, {}", (sources.name)(mark.author), (sources.moment)(mark.stamp.0))
        });
        (by, it.remark.or_empty().0, it.coverage.or_empty().digest)
    };
    let shown = decisions.into_iter().map(|(id, it)| {
        let (by, remark, digest) = line(&it);
        let listed = state.findings_of(id);
        let listed: Vec<_> = listed
            .map(|(id, it)| format!("{} — {}", findings::finding(&state, id, it), findings::answer(&state, id, it)))
            .collect();
        view! {
            <li>
                <p><strong>{by}</strong>" "{remark}</p>
                <p class="small muted">"Content digest (SHA-256): "<span class="figures">{digest.to_string()}</span></p>
                {(!listed.is_empty()).then(|| view! {
                    <ul>{listed.into_iter().map(|it| view! { <li>"Finding: "{it}</li> }).collect_view()}</ul>
                })}
            </li>
        }
    });
    let shown = shown.collect_view();
    view! {
        {(!shown.is_empty()).then(|| view! { <ul class="lines">{shown}</ul> })}
        {overtaken.map(|what| view! { <p class="error-text"><strong>"Acceptance overtaken: since then "</strong>{what}</p> })}
    }
}
