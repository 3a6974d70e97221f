//! The worker that measures: see `app/public/measure-worker.js`.

use std::rc::Rc;

use device::web::Helper;
use photo_measure::{Answer, Hole, Outcome, PictureSize, PixelPoint, Question};
use serde::de::DeserializeOwned;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Blob, ImageBitmap};

use crate::page;

/// How long it may take to decode a photo, and to look at all of it, in milliseconds.
const LONG: u32 = 60_000;
/// How long anything else may take.
const SHORT: u32 = 15_000;

/// A photo that was opened.
pub struct Opened {
    /// As it is shown, upright.
    pub bitmap: ImageBitmap,
    /// The size in which it is measured.
    pub size: PictureSize,
}

/// Why a photo was not opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotOpened {
    /// This browser can't decode it.
    Unreadable,
    /// The worker or its module can't be had.
    Failed,
}

/// The worker, with a photo.
#[derive(Clone)]
pub struct Measurer(Rc<Helper>);

impl Measurer {
    /// Starts it and hands it a photo, to be decoded at this width if one is given.
    ///
    /// # Errors
    /// Why it can't be measured on.
    pub async fn open(photo: &Blob, width: Option<u32>) -> Result<(Self, Opened), NotOpened> {
        let script = page::worker("measure-worker").ok_or(NotOpened::Failed)?;
        let helper = Rc::new(Helper::start(&script).map_err(|_| NotOpened::Failed)?);
        let width = width.map_or(JsValue::NULL, JsValue::from);
        let question = [("deed", "load".into()), ("photo", photo.into()), ("width", width)];
        let answer = helper.ask(&question, LONG).await.ok_or(NotOpened::Failed)?;
        if has(&answer, "unreadable") {
            return Err(NotOpened::Unreadable);
        }
        let bitmap = property(&answer, "bitmap").and_then(|it| it.dyn_into::<ImageBitmap>().ok());
        let bitmap = bitmap.ok_or(NotOpened::Failed)?;
        let size = PictureSize { width: bitmap.width(), height: bitmap.height() };
        Ok((Self(helper), Opened { bitmap, size }))
    }

    /// All holes of the photo; `None` when the worker doesn't answer.
    pub async fn find(&self) -> Option<Outcome<Vec<Hole>>> {
        self.ask(&[("deed", "find".into())], LONG).await
    }

    /// The hole that a tap means.
    pub async fn snap(&self, at: PixelPoint, reach: f64) -> Option<Outcome<Option<Hole>>> {
        let question =
            [("deed", "snap".into()), ("x", at.x.into()), ("y", at.y.into()), ("reach", reach.into())];
        self.ask(&question, SHORT).await
    }

    /// Places and distances.
    pub async fn work_out(&self, question: &Question) -> Option<Outcome<Answer>> {
        let question = serde_json::to_string(question).ok()?;
        self.ask(&[("deed", "work_out".into()), ("question", question.into())], SHORT).await
    }

    async fn ask<T: DeserializeOwned>(&self, question: &[(&str, JsValue)], within: u32) -> Option<T> {
        let answer = self.0.ask(question, within).await?;
        serde_json::from_str(&property(&answer, "json")?.as_string()?).ok()
    }
}

fn property(of: &JsValue, name: &str) -> Option<JsValue> {
    js_sys::Reflect::get(of, &name.into()).ok()
}

fn has(of: &JsValue, name: &str) -> bool {
    property(of, name).is_some_and(|it| it.is_truthy())
}
