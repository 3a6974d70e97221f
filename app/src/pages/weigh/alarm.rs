//! The alarm of a pot: sound, vibration, a notification, and a word on whichever page is open.
//!
//! It goes on while the app is open, on every page of it; what it waits for is worked out from
//! recorded moments, so nothing is lost with it.

use std::cell::RefCell;
use std::time::Duration;

use js_sys::{Array, Reflect};
use leptos::leptos_dom::helpers::IntervalHandle;
use leptos::prelude::*;
use leptos::task::spawn_local;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::{AudioContext, AudioContextState, Notification, NotificationOptions, NotificationPermission};

use super::watch::{Call, Pot, Stage, Watch};
use crate::clock;
use crate::store::Store;

/// A tone, in hertz, and how long it and the rest after it last, in seconds.
const HIGH: f32 = 1320.0;
const LOW: f32 = 880.0;
const TONE: f64 = 0.2;
const REST: f64 = 0.12;

thread_local! {
    static ALARM: RefCell<Alarm> = RefCell::default();
}

#[derive(Default)]
struct Alarm {
    watch: Watch,
    tick: Option<IntervalHandle>,
    sound: Option<AudioContext>,
}

/// Watches these pots from now on, until each has ended.
pub fn watch(pots: Vec<Pot>, store: Store, path: String) {
    ALARM.with_borrow_mut(|alarm| {
        alarm.watch.set(pots, clock::now());
        if let Some(tick) = alarm.tick.take() {
            tick.clear();
        }
        if alarm.watch.is_over() {
            return;
        }
        let tick = set_interval_with_handle(move || tick(store, &path), Duration::from_secs(1));
        match tick {
            Ok(tick) => alarm.tick = Some(tick),
            Err(error) => leptos::logging::warn!("no alarm can be set: {error:?}"),
        }
    });
}

fn tick(store: Store, path: &str) {
    let calls = ALARM.with_borrow_mut(|alarm| {
        let calls = alarm.watch.due(clock::now());
        if alarm.watch.is_over()
            && let Some(tick) = alarm.tick.take()
        {
            tick.clear();
        }
        calls
    });
    for call in calls {
        if call.first {
            store.warn(call.words());
            notify(&call, path);
        }
        sound(call.stage);
    }
}

/// Is the alarm of an end sounding?
#[must_use]
pub fn is_sounding() -> bool {
    ALARM.with_borrow(|alarm| alarm.watch.is_sounding())
}

/// Stops it.
pub fn silence() {
    ALARM.with_borrow_mut(|alarm| alarm.watch.silence());
    vibrate(&[0.0]);
}

/// Sound and vibration, as they will come.
pub fn sound(stage: Stage) {
    let (tones, pulses): (&[f32], &[f64]) = match stage {
        Stage::Over => (&[HIGH, LOW, HIGH, LOW, HIGH, LOW], &[400.0, 120.0, 400.0, 120.0, 400.0]),
        Stage::Soon | Stage::Usable => (&[LOW, LOW], &[250.0, 120.0, 250.0]),
    };
    vibrate(pulses);
    let played = ALARM.with_borrow(|alarm| alarm.sound.as_ref().map(|sound| play(sound, tones)));
    if let Some(Err(error)) = played {
        leptos::logging::warn!("the alarm can't be heard: {error:?}");
    }
}

fn play(sound: &AudioContext, tones: &[f32]) -> Result<(), JsValue> {
    let mut at = sound.current_time();
    for pitch in tones {
        let tone = sound.create_oscillator()?;
        tone.frequency().set_value(*pitch);
        tone.connect_with_audio_node(&sound.destination())?;
        tone.start_with_when(at)?;
        tone.stop_with_when(at + TONE)?;
        at += TONE + REST;
    }
    Ok(())
}

/// Browsers let a page sound only after a touch: every touch of the page lets it.
pub fn unlock() {
    ALARM.with_borrow_mut(|alarm| {
        if alarm.sound.is_none() {
            alarm.sound = AudioContext::new().ok();
        }
        if let Some(sound) = &alarm.sound
            && let Err(error) = sound.resume()
        {
            leptos::logging::warn!("the alarm stays mute: {error:?}");
        }
    });
}

/// May the page sound by now?
#[must_use]
pub fn can_sound() -> bool {
    ALARM.with_borrow(|alarm| {
        alarm.sound.as_ref().is_some_and(|sound| sound.state() == AudioContextState::Running)
    })
}

/// Some devices don't vibrate, and their browsers don't know the word.
fn vibrate(pulses: &[f64]) {
    let navigator = window().navigator();
    if Reflect::has(&navigator, &"vibrate".into()).unwrap_or(false) {
        let pulses: Array = pulses.iter().copied().map(JsValue::from_f64).collect();
        // Refused before the first touch of the page, like sound.
        if !navigator.vibrate_with_pattern(&pulses) {
            leptos::logging::log!("the device doesn't vibrate");
        }
    }
}

/// What this device says to notifications.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Notifying {
    /// It has none.
    Unknown,
    /// Nobody was asked yet.
    NotAsked,
    /// They are shown.
    Allowed,
    /// They are refused.
    Refused,
}

/// What this device says to notifications now.
#[must_use]
pub fn notifying() -> Notifying {
    if !Reflect::has(&window(), &"Notification".into()).unwrap_or(false) {
        return Notifying::Unknown;
    }
    match Notification::permission() {
        NotificationPermission::Granted => Notifying::Allowed,
        NotificationPermission::Denied => Notifying::Refused,
        _ => Notifying::NotAsked,
    }
}

/// Asks the person whether notifications may be shown, and tells the answer.
pub fn ask_to_notify(told: impl FnOnce(Notifying) + 'static) {
    spawn_local(async move {
        let asked = match Notification::request_permission() {
            Ok(asked) => JsFuture::from(asked).await,
            Err(error) => Err(error),
        };
        if let Err(error) = asked {
            leptos::logging::warn!("nobody could be asked about notifications: {error:?}");
        }
        told(notifying());
    });
}

/// Through the service worker: phones show no others, and a tap leads back here.
fn notify(call: &Call, path: &str) {
    if notifying() != Notifying::Allowed {
        return;
    }
    let options = NotificationOptions::new();
    options.set_body(&call.words());
    options.set_tag(&call.pot.line.to_string());
    options.set_data(&path.into());
    options.set_require_interaction(call.stage == Stage::Over);
    let title = if call.stage == Stage::Over { "Pot life is over" } else { "Pot life ends soon" };
    spawn_local(async move {
        if let Err(error) = shown(title, &options).await {
            leptos::logging::warn!("no notification: {error:?}");
        }
    });
}

async fn shown(title: &str, options: &NotificationOptions) -> Result<(), JsValue> {
    let container = window().navigator().service_worker();
    let registration: web_sys::ServiceWorkerRegistration = JsFuture::from(container.ready()?).await?.into();
    JsFuture::from(registration.show_notification_with_options(title, options)?).await?;
    Ok(())
}
