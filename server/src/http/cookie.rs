//! The cookies of a session and of an opened record link: sent to us alone, over a safe way, never to scripts.

use axum::http::header::COOKIE;
use axum::http::{HeaderMap, HeaderValue};

use crate::auth::link_token;
use crate::auth::refresh::{RefreshToken, RefreshTokens};
use crate::fault::Fault;

/// Its name. The prefix makes browsers insist on Secure, on `Path=/` and on this very host.
pub const NAME: &str = "__Host-faying-session";

/// The name of an opened record link's.
pub const LINK: &str = "__Host-faying-record";

const ATTRIBUTES: &str = "Path=/; Secure; HttpOnly; SameSite=Strict";

/// The refresh token in a request's cookie, if there is one of ours.
#[must_use]
pub fn read(headers: &HeaderMap, tokens: &RefreshTokens) -> Option<RefreshToken> {
    tokens.read(value(headers, NAME)?)
}

/// The token of an opened record link in a request's cookie.
#[must_use]
pub fn read_link(headers: &HeaderMap) -> Option<&str> {
    value(headers, LINK)
}

/// The header that sets it.
///
/// # Errors
/// When the token can't be written into a header, which is a fault of ours.
pub fn set_link(token: &str) -> Result<HeaderValue, Fault> {
    header(format!("{LINK}={token}; {ATTRIBUTES}; Max-Age={}", link_token::MINUTES * 60))
}

fn value<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let pairs = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut values = pairs
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .filter(|(its, _)| *its == name)
        .map(|(_, value)| value);
    let first = values.next()?;
    // Two of one name: somebody else put one there, and which one is ours can't be told.
    if values.next().is_some() { None } else { Some(first) }
}

/// The header that sets it.
///
/// # Errors
/// When the token can't be written into a header, which is a fault of ours.
pub fn set(tokens: &RefreshTokens, token: &RefreshToken, seconds: i64) -> Result<HeaderValue, Fault> {
    header(format!("{NAME}={}; {ATTRIBUTES}; Max-Age={seconds}", tokens.write(token)))
}

fn header(cookie: String) -> Result<HeaderValue, Fault> {
    let mut value = HeaderValue::try_from(cookie).map_err(Fault::internal)?;
    value.set_sensitive(true);
    Ok(value)
}

/// The header that takes it away.
#[must_use]
pub fn clear() -> HeaderValue {
    const CLEARED: &str = "__Host-faying-session=; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age=0";
    HeaderValue::from_static(CLEARED)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::auth::secret::Secret;

    #[test]
    fn a_cookie_reads_back_among_others_and_not_when_it_is_there_twice() {
        let tokens = RefreshTokens::new(&Secret::fleeting().unwrap());
        let token = tokens.first().unwrap();
        let set = set(&tokens, &token, 60).unwrap();
        let pair = set.to_str().unwrap().split(';').next().unwrap().to_owned();
        let headers = |line: String| HeaderMap::from_iter([(COOKIE, HeaderValue::try_from(line).unwrap())]);
        assert_eq!(read(&headers(format!("a=b; {pair}; c=d")), &tokens), Some(token));
        assert_eq!(read(&headers(format!("{pair}; {pair}")), &tokens), None);
        assert_eq!(read(&headers("a=b".to_owned()), &tokens), None);
        assert!(clear().to_str().unwrap().starts_with(NAME));
        assert!(clear().to_str().unwrap().contains(ATTRIBUTES));
    }
}
