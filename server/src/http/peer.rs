//! Who asks, and over what: the address of the peer, or what a trusted proxy says of it.

use std::net::{IpAddr, SocketAddr};

use axum::extract::{ConnectInfo, Request};
use axum::http::HeaderMap;
use axum::http::header::HeaderName;

const FORWARDED_FOR: HeaderName = HeaderName::from_static("x-forwarded-for");
const FORWARDED_PROTO: HeaderName = HeaderName::from_static("x-forwarded-proto");
const FORWARDED_HOST: HeaderName = HeaderName::from_static("x-forwarded-host");

/// The other end of a request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Peer {
    /// Its address.
    pub address: IpAddr,
    /// Is the way to it encrypted?
    pub https: bool,
    /// The host that it asked, with the port if there is one.
    pub host: Option<String>,
}

/// The connection was made over TLS to us; an extension of its requests.
#[derive(Clone, Copy, Debug)]
pub struct OverTls;

impl Peer {
    /// Reads a request. What its headers say of other peers counts only when it
    /// comes from one of the trusted proxies.
    #[must_use]
    pub fn of(request: &Request, trusted: &[IpAddr]) -> Self {
        let connected = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|info| info.0.ip());
        // Without a connection there is only a test that calls the router itself.
        let address = connected.map_or(IpAddr::from([127, 0, 0, 1]), |address| address.to_canonical());
        let https = request.extensions().get::<OverTls>().is_some();
        let host = text(request.headers(), &axum::http::header::HOST)
            .or_else(|| request.uri().authority().map(ToString::to_string));
        let direct = Self { address, https, host };
        if trusted.contains(&address) { direct.through_proxy(request.headers(), trusted) } else { direct }
    }

    fn through_proxy(self, headers: &HeaderMap, trusted: &[IpAddr]) -> Self {
        let said = text(headers, &FORWARDED_FOR).unwrap_or_default();
        let hops = said.split(',').filter_map(|hop| hop.trim().parse::<IpAddr>().ok());
        // Proxies append: from the right, the first that is no proxy of ours is the peer.
        let address = hops.collect::<Vec<_>>().into_iter().rev().find(|hop| !trusted.contains(hop));
        Self {
            address: address.unwrap_or(self.address),
            https: text(headers, &FORWARDED_PROTO).map_or(self.https, |proto| proto == "https"),
            host: text(headers, &FORWARDED_HOST).or(self.host),
        }
    }

    /// The address as limits count it: a whole IPv6 /64 is one household.
    #[must_use]
    pub fn counted(&self) -> IpAddr {
        match self.address {
            IpAddr::V6(address) => {
                let [a, b, c, d, ..] = address.segments();
                IpAddr::from([a, b, c, d, 0, 0, 0, 0])
            }
            v4 => v4,
        }
    }

    /// Is it on this machine or in this building?
    #[must_use]
    pub const fn is_near(&self) -> bool {
        match self.address {
            IpAddr::V4(address) => address.is_loopback() || address.is_private(),
            IpAddr::V6(address) => address.is_loopback() || address.is_unique_local(),
        }
    }
}

fn text(headers: &HeaderMap, name: &HeaderName) -> Option<String> {
    headers.get(name).and_then(|value| value.to_str().ok()).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;

    fn request(from: [u8; 4], forwarded: &str) -> Request {
        let mut request = Request::builder()
            .header("host", "hangar.example")
            .header("x-forwarded-for", forwarded)
            .header("x-forwarded-proto", "https")
            .body(Body::empty())
            .unwrap();
        request.extensions_mut().insert(ConnectInfo(SocketAddr::from((from, 1))));
        request
    }

    #[test]
    fn headers_of_strangers_do_not_count() {
        let peer = Peer::of(&request([203, 0, 113, 9], "192.0.2.1"), &[]);
        assert_eq!((peer.address, peer.https), (IpAddr::from([203, 0, 113, 9]), false));
    }

    #[test]
    fn a_trusted_proxy_is_believed_but_not_what_its_client_made_up() {
        let proxy = IpAddr::from([10, 0, 0, 1]);
        let peer = Peer::of(&request([10, 0, 0, 1], "192.0.2.1, 198.51.100.7"), &[proxy]);
        assert_eq!((peer.address, peer.https), (IpAddr::from([198, 51, 100, 7]), true));
        assert_eq!(peer.host.as_deref(), Some("hangar.example"));
    }

    #[test]
    fn an_ipv6_household_is_counted_once() {
        let peer = |text: &str| Peer { address: text.parse().unwrap(), https: false, host: None };
        assert_eq!(peer("2001:db8:1:2:3::4").counted(), peer("2001:db8:1:2::9").counted());
        assert_ne!(peer("2001:db8:1:2::1").counted(), peer("2001:db8:1:3::1").counted());
    }
}
