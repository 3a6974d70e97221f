//! Photos' bytes. They arrive in parts and are staged; once all are there they are
//! checked (length, SHA-256, type, pixels) and kept under their digest, untouched;
//! display sizes are made from them, upright and without any metadata.
//!
//! ```text
//! staging/UPLOAD                      a file that grows, or parts by offset
//! photos/SHOP/AA/DIGEST               the original; AA: the digest's first two digits
//! photos/SHOP/AA/DIGEST.thumb.jpg     display sizes
//! photos/SHOP/AA/DIGEST.print.jpg
//! photos/SHOP/AA/DIGEST.screen.jpg
//! ```
//!
//! Every step may be repeated after a crash: staged bytes stay until they are
//! discarded, and an original is there whole or not at all.

mod error;
mod files;
mod media;
mod parts;
mod picture;
mod store;

pub use error::{PhotoError, Rejection, Result};
pub use media::{Checked, MAX_PIXELS, MediaType};
pub use picture::PictureSize;
pub use store::{Announced, Checksum, Part, PhotoStore, Picture};
