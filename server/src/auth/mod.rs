//! Who somebody is: passwords, tokens, keys. Knows no HTTP and no storage;
//! the clock is handed in.
//!
//! ```text
//! secret file ─ HKDF ─┬─▶ access tokens (HS256)
//!                     ├─▶ refresh tokens (successor = HMAC of the one before)
//!                     ├─▶ sessions of record links (HS256)
//!                     └─▶ the server's own device key (ES256)
//! keys folder ──────────▶ confirmations of signatures, countersigned heads (Ed25519)
//! ```

pub mod access;
pub mod keyring;
pub mod link_token;
pub mod login;
pub mod password;
pub mod refresh;
pub mod secret;
pub mod signing;
pub mod tries;
