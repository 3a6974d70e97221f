//! Photos: from the camera into the device, and from the device onto the screen.

use std::rc::Rc;

use device::web::{Shrinker, Thumb};
use device::{Attached, CallError, NewPhoto, PhotoSize, check_length};
use futures::StreamExt as _;
use futures::channel::mpsc;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::digest::Digest;
use shared_types::ids::{FindingId, LogId, StepId};
use shared_types::job::Moment;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, File, Url};

use super::{Store, use_store};
use crate::page;

/// What a shot is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shot {
    /// The job's log.
    pub log: LogId,
    /// The step, or `None` for the discrepancy itself.
    pub step: Option<StepId>,
    /// Before, during or after.
    pub moment: Moment,
    /// The finding it answers.
    pub answers: Option<FindingId>,
    /// What it is attached to besides its step.
    pub attached_to: Option<Attached>,
}

/// A shot on its way from the camera into the device.
#[derive(Clone, Debug, PartialEq)]
pub struct Capture {
    /// Counts up.
    pub id: u64,
    /// What it is of.
    pub shot: Shot,
    /// Where its small picture is shown from until it is saved. Empty until there is one.
    pub small: ArcRwSignal<String>,
    /// How far it has come.
    pub state: CaptureState,
}

/// How far a shot has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CaptureState {
    /// Being read, made small, and saved.
    Saving,
    /// It could not be saved, and why. Stays until it is dismissed.
    Failed(String),
}

/// Where a picture is shown from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum PhotoSource {
    /// Being read.
    #[default]
    Loading,
    /// Neither on this device nor to be had from the server just now.
    Absent,
    /// There is one, in a form that this browser can't show.
    NotShowable,
    /// Here.
    Url(String),
}

impl PhotoSource {
    /// The address, empty when there is none.
    #[must_use]
    pub fn url(&self) -> String {
        match self {
            Self::Url(url) => url.clone(),
            Self::Loading | Self::Absent | Self::NotShowable => String::new(),
        }
    }

    /// Why it can't be seen; `None` when it can.
    #[must_use]
    pub const fn missing(&self) -> Option<&'static str> {
        match self {
            Self::Url(_) => None,
            Self::Loading => Some("Loading the photo"),
            Self::Absent => {
                Some("This photo is not on this device yet. It comes when there is contact with the server.")
            }
            Self::NotShowable => Some(
                "This device can't show this format (HEIC). The original is kept and can be saved as a file.",
            ),
        }
    }
}

impl Store {
    /// Takes shots in, one after the other: a phone has memory for one at a time. Small pictures
    /// are made ahead of the saving, so that several shots in a row are all seen at once.
    pub fn take_in(self, shot: Shot, files: Vec<File>) {
        let mut queue = Vec::new();
        for file in files {
            let id = self.next_capture();
            let small = ArcRwSignal::new(String::new());
            queue.push((id, file, small.clone()));
            self.captures.update(|captures| {
                captures.push(Capture { id, shot, small, state: CaptureState::Saving });
            });
        }
        let (made, mut ready) = mpsc::unbounded();
        spawn_local(async move {
            for (id, file, small) in queue {
                let thumb = self.shrink(&file).await;
                if let Some(thumb) = &thumb {
                    small.set(address_of(&thumb.jpeg, "image/jpeg").unwrap_or_default());
                }
                // The other end is there until this one is gone.
                let _ = made.unbounded_send((id, file, thumb));
            }
        });
        spawn_local(async move {
            while let Some((id, file, thumb)) = ready.next().await {
                match self.save(shot, file, thumb).await {
                    Ok(()) => self.drop_capture(id),
                    Err(why) => self.fail_capture(id, why),
                }
            }
        });
    }

    /// Shots on their way.
    #[must_use]
    pub fn captures(self) -> Signal<Vec<Capture>> {
        self.captures.into()
    }

    /// Forgets a shot that could not be saved, or one that has been.
    pub fn drop_capture(self, id: u64) {
        self.captures.update(|captures| {
            captures.retain(|capture| {
                if capture.id == id {
                    revoke(&capture.small.get_untracked());
                }
                capture.id != id
            });
        });
    }

    /// A file's small picture. `None` when this browser can't make one.
    async fn shrink(self, file: &File) -> Option<Thumb> {
        // A picture's size stands before its pixels, behind what else the camera wrote there.
        const HEAD: f64 = 262_144.0;
        check_length(length_of(file)).ok()?;
        let head = file.slice_with_f64_and_f64(0.0, HEAD).ok()?;
        let head = bytes_of(&head).await?;
        self.shrinker()?.shrink(file, &head).await
    }

    async fn save(self, shot: Shot, file: File, thumb: Option<Thumb>) -> Result<(), String> {
        check_length(length_of(&file)).map_err(|error| error.to_string())?;
        let bytes = bytes_of(&file).await.ok_or_else(|| format!("{} can't be read", file.name()))?;
        let photo = NewPhoto {
            step: shot.step,
            moment: shot.moment,
            caption: String::new(),
            answers: shot.answers,
            attached_to: shot.attached_to,
            bytes,
            pixels: thumb.as_ref().map(|thumb| (thumb.width, thumb.height)),
            thumb: thumb.map(|thumb| thumb.jpeg),
        };
        let (_, _, undo) =
            self.device().add_photo(shot.log, photo).await.map_err(|error| error.to_string())?;
        self.toasts.done(format!("Photo added: {}", shot.moment.word()), shot.log, undo);
        if self.device().storage().await.is_low() {
            self.warn("Less than 500 MB is left on this device: send what is here before you take many more photos.");
        }
        Ok(())
    }

    fn fail_capture(self, id: u64, why: String) {
        self.captures.update(|captures| {
            if let Some(capture) = captures.iter_mut().find(|capture| capture.id == id) {
                capture.state = CaptureState::Failed(why);
            }
        });
    }

    /// The worker that makes small pictures, started with the first shot. `None` where the browser has no workers.
    fn shrinker(self) -> Option<Rc<Shrinker>> {
        if let Some(shrinker) = self.shrinker.get_value() {
            return Some(shrinker);
        }
        let started =
            page::worker("photo-worker").and_then(|script| Shrinker::start(&script).ok()).map(Rc::new);
        self.shrinker.set_value(started.clone());
        started
    }

    fn next_capture(self) -> u64 {
        self.captures.with_untracked(|captures| captures.last().map_or(1, |last| last.id + 1))
    }
}

/// A picture in a size, for as long as the calling view is shown. One that is not to be had
/// yet is asked for again whenever photos of its log have come.
#[must_use]
pub fn use_photo(log: LogId, digest: Digest, size: PhotoSize) -> Signal<PhotoSource> {
    let store = use_store();
    let source = RwSignal::new(PhotoSource::Loading);
    let load = move || {
        spawn_local(async move {
            let found = match store.device().photo_bytes(log, digest, size).await {
                Ok(Some((bytes, media_type))) => shown(&bytes, &media_type),
                // The server has it, and can make no picture of it.
                Err(CallError::Refused(problem)) if problem.status == 415 => PhotoSource::NotShowable,
                Ok(None) | Err(_) => PhotoSource::Absent,
            };
            // The view may be gone by now.
            if let Some(PhotoSource::Url(url)) = source.try_set(found) {
                revoke(&url);
            }
        });
    };
    load();
    // It is set anew, even to the same, whenever photos of the log came to this device.
    let news = store.unsent_photos(log);
    let retry = move |(): &(), _: Option<&()>, _: Option<()>| {
        if source.with_untracked(|source| *source == PhotoSource::Absent) {
            load();
        }
    };
    Effect::watch(move || news.track(), retry, false);
    on_cleanup(move || {
        if let Some(PhotoSource::Url(url)) = source.try_get_untracked() {
            revoke(&url);
        }
    });
    source.into()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of bytes")]
fn length_of(blob: &Blob) -> u64 {
    blob.size() as u64
}

async fn bytes_of(blob: &Blob) -> Option<Vec<u8>> {
    let buffer = JsFuture::from(blob.array_buffer()).await.ok()?;
    Some(js_sys::Uint8Array::new(&buffer).to_vec())
}

fn shown(bytes: &[u8], media_type: &str) -> PhotoSource {
    // Most browsers can't show what some phones take; the original is kept all the same.
    if media_type == "image/heic" || media_type == "image/heif" {
        return PhotoSource::NotShowable;
    }
    address_of(bytes, media_type).map_or(PhotoSource::Absent, PhotoSource::Url)
}

/// An address for these bytes, until it is revoked.
fn address_of(bytes: &[u8], media_type: &str) -> Option<String> {
    Url::create_object_url_with_blob(&blob_of(bytes, media_type)?).ok()
}

/// These bytes as the browser takes them.
#[must_use]
pub fn blob_of(bytes: &[u8], media_type: &str) -> Option<Blob> {
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes));
    let options = BlobPropertyBag::new();
    options.set_type(media_type);
    Blob::new_with_u8_array_sequence_and_options(&parts, &options).ok()
}

fn revoke(url: &str) {
    if url.is_empty() {
        return;
    }
    // Revoking fails only without a `URL` object, and then there was no address to revoke.
    let revoked = Url::revoke_object_url(url);
    debug_assert!(revoked.is_ok());
}
