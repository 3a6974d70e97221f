//! The session of whoever opened a record link: a token that names the link, for an hour, in a cookie.

use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use serde::{Deserialize, Serialize};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use super::access::BadToken;
use super::secret::{Purpose, Secret};

/// How long it holds; a link that is opened again begins another one.
pub const MINUTES: i64 = 60;

const ALGORITHM: Algorithm = Algorithm::HS256;
const AUDIENCE: &str = "faying-record";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Claims {
    aud: String,
    /// The link.
    sub: Uuid,
    /// Until, in seconds since 1970.
    exp: i64,
}

/// Makes and reads such tokens.
pub struct LinkTokens {
    encoding: EncodingKey,
    decoding: DecodingKey,
}

impl LinkTokens {
    /// Tokens under the secret's key.
    #[must_use]
    pub fn new(secret: &Secret) -> Self {
        let key = secret.key(Purpose::RecordLink, 0);
        Self { encoding: EncodingKey::from_secret(&key), decoding: DecodingKey::from_secret(&key) }
    }

    /// A token for a link.
    ///
    /// # Errors
    /// When the token can't be signed, which is a fault of ours.
    pub fn issue(&self, link: Uuid, now: UtcMillis) -> Result<String, jsonwebtoken::errors::Error> {
        let exp = now.plus_minutes(MINUTES).0.div_euclid(1000);
        let claims = Claims { aud: AUDIENCE.to_owned(), sub: link, exp };
        jsonwebtoken::encode(&Header::new(ALGORITHM), &claims, &self.encoding)
    }

    /// The link that a token names, if the token is ours and in force.
    ///
    /// # Errors
    /// In every other case, without saying which.
    pub fn read(&self, token: &str, now: UtcMillis) -> Result<Uuid, BadToken> {
        let header = jsonwebtoken::decode_header(token).map_err(|_| BadToken)?;
        if header != Header::new(ALGORITHM) {
            return Err(BadToken);
        }
        let mut validation = Validation::new(ALGORITHM);
        validation.set_audience(&[AUDIENCE]);
        validation.set_required_spec_claims(&["aud", "sub", "exp"]);
        // The moment is held against our own clock, below.
        validation.validate_exp = false;
        let claims =
            jsonwebtoken::decode::<Claims>(token, &self.decoding, &validation).map_err(|_| BadToken)?.claims;
        if now.0.div_euclid(1000) < claims.exp { Ok(claims.sub) } else { Err(BadToken) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::auth::access::AccessTokens;
    use shared_types::ids::{DeviceId, UserId};

    const NOW: UtcMillis = UtcMillis(1_795_610_520_500);

    #[test]
    fn a_token_names_its_link_for_an_hour_and_is_no_other_token() {
        let secret = Secret::fleeting().unwrap();
        let (tokens, link) = (LinkTokens::new(&secret), Uuid::from_u128(7));
        let token = tokens.issue(link, NOW).unwrap();
        assert_eq!(tokens.read(&token, NOW.plus_minutes(MINUTES - 1)), Ok(link));
        assert_eq!(tokens.read(&token, NOW.plus_minutes(MINUTES)), Err(BadToken));
        assert_eq!(LinkTokens::new(&Secret::fleeting().unwrap()).read(&token, NOW), Err(BadToken));
        let access = AccessTokens::new(&secret);
        assert_eq!(access.read(&token, NOW), Err(BadToken));
        let (other, _) = access.issue(UserId(link), DeviceId(link), link, NOW).unwrap();
        assert_eq!(tokens.read(&other, NOW), Err(BadToken));
    }
}
