//! Photos: from the camera into the device, and from the device onto the screen.

use std::collections::VecDeque;

use device::web::make_thumb;
use device::{NewPhoto, PhotoSize};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::digest::Digest;
use shared_types::ids::{FindingId, LogId, StepId};
use shared_types::job::Moment;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, File, Url};

use super::{Store, use_store};

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
}

/// A shot on its way from the camera into the device.
#[derive(Clone, Debug, PartialEq)]
pub struct Capture {
    /// Counts up.
    pub id: u64,
    /// What it is of.
    pub shot: Shot,
    /// Where the browser shows it from until it is saved.
    pub url: String,
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
    /// On this device, in a form that this browser can't show.
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
}

impl Store {
    /// Takes shots in, one after the other: a phone has memory for one at a time.
    pub fn take_in(self, shot: Shot, files: Vec<File>) {
        let mut queue = VecDeque::new();
        for file in files {
            let id = self.next_capture();
            let url = Url::create_object_url_with_blob(&file).unwrap_or_default();
            queue.push_back((id, file));
            self.captures.update(|captures| {
                captures.push(Capture { id, shot, url, state: CaptureState::Saving });
            });
        }
        spawn_local(async move {
            while let Some((id, file)) = queue.pop_front() {
                match self.save(shot, file).await {
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
                    revoke(&capture.url);
                }
                capture.id != id
            });
        });
    }

    async fn save(self, shot: Shot, file: File) -> Result<(), String> {
        let buffer = JsFuture::from(file.array_buffer()).await;
        let bytes = buffer.map_err(|_| format!("{} can't be read", file.name()))?;
        let bytes = js_sys::Uint8Array::new(&bytes).to_vec();
        let thumb = make_thumb(&bytes).await;
        let photo = NewPhoto {
            step: shot.step,
            moment: shot.moment,
            caption: String::new(),
            answers: shot.answers,
            bytes,
            pixels: thumb.as_ref().map(|thumb| (thumb.width, thumb.height)),
            thumb: thumb.map(|thumb| thumb.jpeg),
        };
        let (_, _, undo) =
            self.device().add_photo(shot.log, photo).await.map_err(|error| error.to_string())?;
        self.toasts.done(format!("Photo added: {}", shot.moment.word()), shot.log, undo);
        Ok(())
    }

    fn fail_capture(self, id: u64, why: String) {
        self.captures.update(|captures| {
            if let Some(capture) = captures.iter_mut().find(|capture| capture.id == id) {
                capture.state = CaptureState::Failed(why);
            }
        });
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

fn shown(bytes: &[u8], media_type: &str) -> PhotoSource {
    // Most browsers can't show what some phones take; the original is kept all the same.
    if media_type == "image/heic" || media_type == "image/heif" {
        return PhotoSource::NotShowable;
    }
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes));
    let options = BlobPropertyBag::new();
    options.set_type(media_type);
    let blob = Blob::new_with_u8_array_sequence_and_options(&parts, &options);
    match blob.and_then(|blob| Url::create_object_url_with_blob(&blob)) {
        Ok(url) => PhotoSource::Url(url),
        Err(_) => PhotoSource::Absent,
    }
}

fn revoke(url: &str) {
    // Revoking fails only without a `URL` object, and then there was no address to revoke.
    let revoked = Url::revoke_object_url(url);
    debug_assert!(revoked.is_ok());
}
