//! Access tokens: a JWT for ten minutes, one fixed algorithm, checked strictly.

use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use serde::{Deserialize, Serialize};
use shared_types::ids::{DeviceId, UserId};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use super::secret::{Purpose, Secret};

/// How long an access token holds.
pub const MINUTES: i64 = 10;

const ALGORITHM: Algorithm = Algorithm::HS256;
const ISSUER: &str = "faying";
const AUDIENCE: &str = "faying-api";

/// What an access token says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Claims {
    iss: String,
    aud: String,
    /// The person.
    pub sub: UserId,
    /// On which device.
    pub dev: DeviceId,
    /// By which sign-in.
    pub sid: Uuid,
    /// Not before, in seconds since 1970.
    nbf: i64,
    /// Until, in seconds since 1970.
    exp: i64,
}

impl Claims {
    /// When the token ends.
    #[must_use]
    pub const fn expires(&self) -> UtcMillis {
        UtcMillis(self.exp.saturating_mul(1000))
    }
}

/// Makes and reads access tokens.
pub struct AccessTokens {
    encoding: EncodingKey,
    decoding: DecodingKey,
}

/// The token is not one of ours, or its time is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the access token does not hold")]
pub struct BadToken;

impl AccessTokens {
    /// Tokens under the secret's key.
    #[must_use]
    pub fn new(secret: &Secret) -> Self {
        let key = secret.key(Purpose::AccessToken, 0);
        Self { encoding: EncodingKey::from_secret(&key), decoding: DecodingKey::from_secret(&key) }
    }

    /// A token for a person on a device.
    ///
    /// # Errors
    /// When the token can't be signed, which is a fault of ours.
    pub fn issue(
        &self,
        user: UserId,
        device: DeviceId,
        family: Uuid,
        now: UtcMillis,
    ) -> Result<(String, UtcMillis), jsonwebtoken::errors::Error> {
        let seconds = now.0.div_euclid(1000);
        let claims = Claims {
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            sub: user,
            dev: device,
            sid: family,
            nbf: seconds,
            exp: seconds + MINUTES * 60,
        };
        let token = jsonwebtoken::encode(&Header::new(ALGORITHM), &claims, &self.encoding)?;
        Ok((token, claims.expires()))
    }

    /// What a token says, if it is ours and in force.
    ///
    /// # Errors
    /// In every other case, without saying which.
    pub fn read(&self, token: &str, now: UtcMillis) -> Result<Claims, BadToken> {
        let header = jsonwebtoken::decode_header(token).map_err(|_| BadToken)?;
        // Nothing in a header may steer us: no key named by it, no other algorithm, no extension.
        if header != Header::new(ALGORITHM) {
            return Err(BadToken);
        }
        let mut validation = Validation::new(ALGORITHM);
        validation.set_issuer(&[ISSUER]);
        validation.set_audience(&[AUDIENCE]);
        validation.set_required_spec_claims(&["iss", "aud", "sub", "exp", "nbf"]);
        // The moments are held against our own clock, below.
        validation.validate_exp = false;
        validation.validate_nbf = false;
        let claims =
            jsonwebtoken::decode::<Claims>(token, &self.decoding, &validation).map_err(|_| BadToken)?.claims;
        let seconds = now.0.div_euclid(1000);
        if claims.nbf <= seconds && seconds < claims.exp { Ok(claims) } else { Err(BadToken) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: UtcMillis = UtcMillis(1_795_610_520_500);
    const SIGN_IN: Uuid = Uuid::from_u128(3);

    fn tokens() -> (AccessTokens, UserId, DeviceId) {
        let id = Uuid::from_u128;
        (AccessTokens::new(&Secret::fleeting().unwrap()), UserId(id(1)), DeviceId(id(2)))
    }

    #[test]
    fn a_token_holds_for_ten_minutes() {
        let (tokens, user, device) = tokens();
        let (token, expires) = tokens.issue(user, device, SIGN_IN, NOW).unwrap();
        let claims = tokens.read(&token, NOW).unwrap();
        assert_eq!((claims.sub, claims.dev, claims.expires()), (user, device, expires));
        assert!(tokens.read(&token, NOW.plus_minutes(9)).is_ok());
        assert_eq!(tokens.read(&token, NOW.plus_minutes(MINUTES)), Err(BadToken));
        assert_eq!(tokens.read(&token, NOW.plus_minutes(-1)), Err(BadToken), "not before");
    }

    #[test]
    fn a_token_under_another_key_or_header_or_for_others_is_refused() {
        let (tokens, user, device) = tokens();
        let (other, _, _) = self::tokens();
        let (token, _) = other.issue(user, device, SIGN_IN, NOW).unwrap();
        assert_eq!(tokens.read(&token, NOW), Err(BadToken), "another key");

        let (good, _) = tokens.issue(user, device, SIGN_IN, NOW).unwrap();
        let claims = tokens.read(&good, NOW).unwrap();
        let signed = |header: &Header, claims: &Claims| {
            jsonwebtoken::encode(header, claims, &tokens.encoding).unwrap()
        };
        let plain = Header::new(ALGORITHM);
        assert!(tokens.read(&signed(&plain, &claims), NOW).is_ok());
        let headers = [
            Header { kid: Some("other".into()), ..plain.clone() },
            Header { jku: Some("https://example.invalid/keys".into()), ..plain.clone() },
            Header { x5u: Some("https://example.invalid/cert".into()), ..plain.clone() },
            Header::new(Algorithm::HS512),
        ];
        for header in headers {
            assert_eq!(tokens.read(&signed(&header, &claims), NOW), Err(BadToken), "{header:?}");
        }
        for claims in [
            Claims { aud: "another-api".into(), ..claims.clone() },
            Claims { iss: "somebody".into(), ..claims },
        ] {
            assert_eq!(tokens.read(&signed(&plain, &claims), NOW), Err(BadToken), "{claims:?}");
        }
    }
}
