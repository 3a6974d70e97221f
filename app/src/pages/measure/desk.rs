//! What the page works with: the photo, the marks on it, what is said about them,
//! and what comes of it. Kept as a draft, so that nothing is lost by leaving.

use device::PhotoSize;
use leptos::prelude::*;
use leptos::task::spawn_local;
use photo_measure::{Answer, Hole, Outcome, PictureSize, PixelPoint};
use shared_types::ids::PhotoId;
use shared_types::job::Photo;
use shared_types::quantity::System;
use web_sys::ImageBitmap;

use super::eye::{Eye, inside};
use super::helper::{Measurer, NotOpened};
use super::marks::{Group, MarkedHole, Marks, Step};
use super::question::{Asked, asked};
use super::words::Words;
use crate::draft::Draft;
use crate::pages::joint::Place;
use crate::store::{Store, blob_of, use_store};

/// More pixels than this are decoded at reduced size: a phone may have no memory for them.
const PIXELS_MOST: f64 = 25e6;
/// How far from a hole a tap may be, in units of the paper.
const REACH: f64 = 24.0;
/// Steps that can be undone.
const PAST_MOST: usize = 50;

/// How far the photo has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Being read and decoded.
    Reading,
    /// Neither on this device nor to be had just now.
    Absent,
    /// In a form that this browser can't decode.
    Unreadable,
    /// The worker can't be had.
    Failed,
    /// Here.
    Here(PictureSize),
}

/// A handle: copies are the same desk.
#[derive(Clone, Copy)]
pub struct Desk {
    /// The store.
    pub store: Store,
    /// Which joint.
    pub place: Place,
    /// Which photo.
    pub photo: PhotoId,
    /// How far the photo has come.
    pub stage: RwSignal<Stage>,
    /// The photo as shown.
    pub bitmap: RwSignal<Option<ImageBitmap>, LocalStorage>,
    /// Which part of it is seen; nothing for all.
    pub eye: RwSignal<Option<Eye>>,
    /// Which step is shown.
    pub step: RwSignal<Step>,
    /// All marks.
    pub marks: RwSignal<Marks>,
    /// The mark that is spoken of.
    pub chosen: RwSignal<Option<usize>>,
    /// Holes that the photo shows; nothing before they were looked for.
    pub proposed: RwSignal<Option<Vec<Hole>>>,
    /// The worker is looking for holes.
    pub finding: RwSignal<bool>,
    /// What is asked.
    pub asked: Memo<Option<Asked>>,
    /// What comes out of it.
    pub outcome: RwSignal<Option<Outcome<Answer>>>,
    /// What is said about the marks.
    pub words: Words,
    past: RwSignal<Vec<Marks>>,
    measurer: StoredValue<Option<Measurer>, LocalStorage>,
    /// What is marked and not saved yet.
    pub draft: Draft,
}

impl Desk {
    /// A desk for a photo of the job.
    #[must_use]
    pub fn new(place: Place, photo: PhotoId) -> Self {
        let (stage, marks) = (RwSignal::new(Stage::Reading), RwSignal::new(Marks::default()));
        let words = Words::new();
        let asked = Memo::new(move |_| match stage.get() {
            Stage::Here(size) => Some(marks.with(|marks| asked(marks, &words, size))),
            _ => None,
        });
        let desk = Self {
            store: use_store(),
            place,
            photo,
            stage,
            bitmap: RwSignal::new_local(None),
            eye: RwSignal::new(None),
            step: RwSignal::new(Step::default()),
            marks,
            chosen: RwSignal::new(None),
            proposed: RwSignal::new(None),
            finding: RwSignal::new(false),
            asked,
            outcome: RwSignal::new(None),
            words,
            past: RwSignal::new(Vec::new()),
            measurer: StoredValue::new_local(None),
            draft: Draft::new(format!("{}/measure/{}/{photo}", place.log, place.joint)),
        };
        let has_edges = place.it.with_untracked(|joint| !joint.edges.or_empty().0.is_empty());
        desk.tick("edges").set(!has_edges);
        desk.ask_when_altered();
        desk.store.hold_update_while(Signal::derive(move || !desk.marks.read().is_empty()));
        desk
    }

    /// A text or choice, by its name.
    #[must_use]
    pub fn text(self, name: &'static str) -> RwSignal<String> {
        self.words.of_text(name)
    }

    /// A tick, by its name.
    #[must_use]
    pub fn tick(self, name: &'static str) -> RwSignal<bool> {
        self.words.of_tick(name)
    }

    /// Reads the draft and the photo.
    pub fn open(self, photo: &Photo) {
        let (digest, log, device) = (photo.digest.or_empty(), self.place.log, self.store.device());
        let pixels = (f64::from(photo.width.or_empty()), f64::from(photo.height.or_empty()));
        self.stage.set(Stage::Reading);
        spawn_local(async move {
            self.restore().await;
            let Ok(Some((bytes, media_type))) = device.photo_bytes(log, digest, PhotoSize::Original).await
            else {
                self.stage.try_set(Stage::Absent);
                return;
            };
            let Some(blob) = blob_of(&bytes, &media_type) else {
                self.stage.try_set(Stage::Failed);
                return;
            };
            drop(bytes);
            let stage = match Measurer::open(&blob, reduced(pixels)).await {
                Ok((measurer, opened)) => {
                    // The page may be gone by now.
                    if self.measurer.try_set_value(Some(measurer)).is_some() {
                        return;
                    }
                    self.bitmap.try_set(Some(opened.bitmap));
                    Stage::Here(opened.size)
                }
                Err(NotOpened::Unreadable) => Stage::Unreadable,
                Err(NotOpened::Failed) => Stage::Failed,
            };
            self.stage.try_set(stage);
        });
    }

    /// The photo's size, once it is here.
    #[must_use]
    pub fn size(self) -> Option<PictureSize> {
        match self.stage.get_untracked() {
            Stage::Here(size) => Some(size),
            _ => None,
        }
    }

    /// How the photo lies on the paper.
    #[must_use]
    pub fn look(self) -> Eye {
        let whole = || match self.stage.get() {
            Stage::Here(size) => Eye::whole(size),
            _ => Eye { scale: 1.0, origin: (0.0, 0.0) },
        };
        self.eye.get().unwrap_or_else(whole)
    }

    /// The marks that the shown step is about.
    #[must_use]
    pub fn group(self) -> Option<Group> {
        match self.step.get() {
            Step::Size if *self.text("reference").read() == "length" => Some(Group::Ends),
            Step::Size => Some(Group::Corners),
            Step::Holes => Some(Group::Holes),
            Step::Edge => Some(Group::Edge),
            Step::Axes | Step::Result => None,
        }
    }

    /// Shows a step.
    pub fn go(self, step: Step) {
        self.chosen.set(None);
        self.step.set(step);
    }

    /// Speaks of a mark, and shows it.
    pub fn choose(self, group: Group, index: usize) {
        self.chosen.set(Some(index));
        let at = self.marks.with_untracked(|marks| marks.points(group).get(index).copied());
        if let (Some(at), Some(size)) = (at, self.size()) {
            self.eye.set(Some(untrack(|| self.look()).on(at, 0.5, size)));
        }
    }

    /// Alters the marks so that it can be undone.
    pub fn alter(self, alter: impl FnOnce(&mut Marks)) {
        self.remember();
        self.marks.update(alter);
    }

    /// What is now can be come back to.
    pub fn remember(self) {
        let now = self.marks.get_untracked();
        self.past.update(|past| {
            if past.last() != Some(&now) {
                past.push(now);
            }
            if past.len() > PAST_MOST {
                past.remove(0);
            }
        });
    }

    /// Takes the last alteration back.
    pub fn undo(self) {
        let now = self.marks.get_untracked();
        let before = self.past.try_update(|past| {
            loop {
                match past.pop() {
                    Some(before) if before == now => {}
                    before => break before,
                }
            }
        });
        if let Some(before) = before.flatten() {
            self.chosen.set(None);
            self.marks.set(before);
        }
    }

    /// Is there anything to undo?
    #[must_use]
    pub fn can_undo(self) -> bool {
        let marks = self.marks.read();
        self.past.read().iter().any(|past| *past != *marks)
    }

    /// Takes all marks away.
    pub fn clear(self) {
        self.alter(|marks| *marks = Marks::default());
        self.chosen.set(None);
        self.step.set(Step::Size);
    }

    /// Adds a mark and speaks of it.
    pub fn add(self, at: PixelPoint) {
        let (Some(size), Some(group)) = (self.size(), untrack(|| self.group())) else { return };
        let (at, loose) = (inside(at, size), self.tick("loose").get_untracked());
        self.remember();
        let index = self.marks.try_update(|marks| marks.add(group, at, loose)).flatten();
        if index.is_none() {
            self.store.say("There are as many marks as can be used. Move one, or take one away.");
        }
        self.chosen.set(index);
        if let (Group::Holes, Some(index), false) = (group, index, loose) {
            self.snap(index);
        }
    }

    /// Puts the mark that is spoken of elsewhere.
    pub fn put(self, at: PixelPoint) {
        let (Some(size), Some(group)) = (self.size(), untrack(|| self.group())) else { return };
        if let Some(index) = self.chosen.get_untracked() {
            self.marks.update(|marks| marks.put(group, index, inside(at, size)));
        }
    }

    /// Takes the mark away that is spoken of.
    pub fn take(self) {
        let Some(group) = untrack(|| self.group()) else { return };
        if let Some(index) = self.chosen.get_untracked() {
            self.alter(|marks| marks.take(group, index));
            self.chosen.set(None);
        }
    }

    /// Lets a hole's mark snap to the hole that it means, unless it is to stay where it is.
    pub fn snap(self, index: usize) {
        let hole = self.marks.with_untracked(|marks| marks.holes.get(index).copied());
        let (Some(hole), Some(measurer)) = (hole, self.measurer.get_value()) else { return };
        if hole.loose {
            return;
        }
        let reach = (REACH / untrack(|| self.look()).scale).clamp(8.0, 200.0);
        spawn_local(async move {
            let Some(Outcome::Said(Some(found))) = measurer.snap(hole.at, reach).await else { return };
            // The page may be gone, or the mark elsewhere by now.
            self.marks.try_update(|marks| {
                if let Some(now) = marks.holes.get_mut(index).filter(|now| **now == hole) {
                    *now = MarkedHole::snapped(found);
                }
            });
        });
    }

    /// Lets a mark stay where it is put, or snap again.
    pub fn set_loose(self, index: usize, loose: bool) {
        self.alter(|marks| {
            if let Some(hole) = marks.holes.get_mut(index) {
                *hole = MarkedHole::put(hole.at, loose);
            }
        });
        self.snap(index);
    }

    /// Looks for all holes of the photo.
    pub fn find(self) {
        let Some(measurer) = self.measurer.get_value() else { return };
        self.finding.set(true);
        spawn_local(async move {
            let found = measurer.find().await;
            self.finding.try_set(false);
            match found {
                Some(Outcome::Said(holes)) => {
                    self.proposed.try_set(Some(holes));
                }
                Some(Outcome::Refused(why)) => self.store.warn(format!("The photo {}", why.reason)),
                None => {
                    self.store.warn("No holes were looked for: the photo may be too large for this device.");
                }
            }
        });
    }

    /// The proposals that are not marked yet.
    #[must_use]
    pub fn left(self) -> Vec<Hole> {
        self.marks.with(|marks| {
            let is_marked = |hole: &Hole| {
                let near =
                    |it: &MarkedHole| (it.at.x - hole.centre.x).hypot(it.at.y - hole.centre.y) < hole.major.0;
                marks.holes.iter().any(near)
            };
            let proposed = self.proposed.get().unwrap_or_default();
            proposed.into_iter().filter(|hole| !is_marked(hole)).collect()
        })
    }

    /// The units that places are written in: as said, else as the joint has them.
    #[must_use]
    pub fn system(self) -> System {
        match self.text("units").get().as_str() {
            "mm" => System::Metric,
            "in" => System::Inch,
            _ => {
                let of_joint = self.place.it.with(|joint| {
                    format!("{} {}", joint.diameter.or_empty(), joint.diameter_found.or_empty())
                });
                let of_holes = self
                    .place
                    .holes
                    .with(|holes| holes.first().map(|(_, hole)| hole.x.or_empty().0).unwrap_or_default());
                if format!("{of_joint} {of_holes}").contains("mm") { System::Metric } else { System::Inch }
            }
        }
    }

    /// Takes proposals as holes.
    pub fn accept(self, holes: Vec<Hole>) {
        self.alter(|marks| marks.holes.extend(holes.into_iter().map(MarkedHole::snapped)));
    }

    fn ask_when_altered(self) {
        let latest = StoredValue::new(0_u32);
        Effect::new(move || {
            let number = latest.try_update_value(|number| {
                *number = number.wrapping_add(1);
                *number
            });
            let (Some(Asked::Question(question)), Some(measurer)) =
                (self.asked.get(), self.measurer.get_value())
            else {
                self.outcome.set(None);
                return;
            };
            spawn_local(async move {
                let outcome = measurer.work_out(&question).await;
                if latest.try_get_value() == number {
                    self.outcome.try_set(outcome);
                }
            });
        });
    }
}

/// The width to which a picture of too many pixels is reduced.
fn reduced((width, height): (f64, f64)) -> Option<u32> {
    let pixels = width * height;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a width in pixels")]
    (pixels > PIXELS_MOST).then(|| (width * (PIXELS_MOST / 2.0 / pixels).sqrt()) as u32)
}
