//! The components every page is made of. They know no store and no route: values
//! and signals come in, callbacks go out.

mod badge;
mod button;
mod compare;
mod countdown;
mod drawing;
mod field;
mod fingers;
mod frame;
mod icon;
mod photo;
mod qr;
mod sheet;
mod working;

pub use badge::{
    Badge, ExpiryBadge, HoldPointMark, JobBadge, ReadingBadge, Shape, StepBadge, Tone, VerdictBadge,
    verdict_sign,
};
pub use button::{Button, ButtonKind, LinkButton};
pub use compare::{PhotoCompare, PhotoZoom, use_compared};
pub use countdown::{Countdown, CountdownKind, spell_duration};
pub use drawing::{Drawing, safe_svg};
pub use field::{Choice, DateField, NumberField, SelectField, TextArea, TextField, TickField};
pub use fingers::{Finger, Fingers, Motion};
pub use frame::{Banner, EmptyState, Plate, Section, Skeleton};
pub use icon::{Glyph, Icon};
pub use photo::{CameraButton, PhotoTile};
pub use qr::QrCode;
pub use sheet::Sheet;
pub use working::{Cautions, ShowQuantity, WorkingList, quantity_text, source_text};

#[cfg(test)]
mod contrast;
