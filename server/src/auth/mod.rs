//! Who somebody is: passwords, tokens, keys. Knows no HTTP and no storage;
//! the clock is handed in.
//!
//! ```text
//! secret file ─ HKDF ─┬─▶ access tokens (HS256)
//!                     ├─▶ refresh tokens (successor = HMAC of the one before)
//!                     └─▶ the server's own device key (ES256)
//! ```

pub mod access;
pub mod login;
pub mod password;
pub mod refresh;
pub mod secret;
pub mod signing;
pub mod tries;
