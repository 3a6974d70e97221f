//! A certificate for the local network: a phone installs an app, and opens its camera, only over HTTPS.
//!
//! Our own authority is made once and kept; the certificate is made anew at every start,
//! for the addresses that this machine has then. A phone trusts the authority once.

use std::fs;
use std::io;
use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use rcgen::{
    BasicConstraints, CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer,
    KeyPair, KeyUsagePurpose, PKCS_ECDSA_P256_SHA256,
};
use rustls::ServerConfig;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};

use crate::auth::secret::write_private;

/// Browsers take no server certificate that holds for longer than 398 days.
const CERTIFICATE_DAYS: u64 = 390;
const AUTHORITY_DAYS: u64 = 3_650;

/// Why there is no certificate.
#[derive(Debug, thiserror::Error)]
pub enum LanError {
    /// The authority's files can't be read or written.
    #[error("the local certificate authority's files can't be read or written")]
    Files(#[from] io::Error),
    /// A certificate can't be made.
    #[error("a certificate can't be made")]
    Certificate(#[from] rcgen::Error),
    /// The certificate can't be used.
    #[error("the certificate can't be used")]
    Tls(#[from] rustls::Error),
}

/// HTTPS for the local network.
pub struct Lan {
    /// What the listener needs.
    pub tls: Arc<ServerConfig>,
    /// Our authority's certificate, PEM: what a phone is to trust.
    pub authority: String,
    /// This machine's addresses in the local network, the likeliest first.
    pub addresses: Vec<IpAddr>,
}

impl Lan {
    /// Makes a certificate for this machine's addresses, under the authority kept in a folder.
    ///
    /// # Errors
    /// When files can't be read or written, or a certificate can't be made.
    pub fn prepare(folder: &Path) -> Result<Self, LanError> {
        let addresses = addresses()?;
        let (authority, issuer) = authority(folder)?;
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let names = addresses.iter().map(ToString::to_string);
        let names: Vec<String> = names.chain(["localhost".to_owned(), "127.0.0.1".to_owned()]).collect();
        let mut params = CertificateParams::new(names)?;
        params.distinguished_name = named("Faying on this network");
        params.use_authority_key_identifier_extension = true;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        valid_for(&mut params, CERTIFICATE_DAYS);
        let certificate = params.signed_by(&key, &issuer)?;
        let chain = vec![CertificateDer::from(certificate.der().to_vec())];
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let mut tls = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_single_cert(chain, key)?;
        tls.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        Ok(Self { tls: Arc::new(tls), authority, addresses })
    }
}

/// The authority: read, or made once.
fn authority(folder: &Path) -> Result<(String, Issuer<'static, KeyPair>), LanError> {
    let (certificate_path, key_path) = (folder.join("authority.crt"), folder.join("authority.key"));
    if !certificate_path.exists() {
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let mut params = CertificateParams::default();
        params.distinguished_name = named("Faying local authority");
        // It may vouch for servers and for nothing else, and for no further authority.
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        valid_for(&mut params, AUTHORITY_DAYS);
        let certificate = params.self_signed(&key)?;
        fs::create_dir_all(folder)?;
        // The key first: a certificate without its key would never be made anew.
        if key_path.exists() {
            fs::remove_file(&key_path)?;
        }
        write_private(&key_path, key.serialize_pem().as_bytes())?;
        write_private(&certificate_path, certificate.pem().as_bytes())?;
    }
    let certificate = fs::read_to_string(&certificate_path)?;
    let key = KeyPair::from_pem(&fs::read_to_string(&key_path)?)?;
    let issuer = Issuer::from_ca_cert_pem(&certificate, key)?;
    Ok((certificate, issuer))
}

fn named(name: &str) -> DistinguishedName {
    let mut names = DistinguishedName::new();
    names.push(DnType::CommonName, name);
    names
}

/// From yesterday on: a phone's clock may be behind ours.
fn valid_for(params: &mut CertificateParams, days: u64) {
    const DAY: Duration = Duration::from_secs(24 * 60 * 60);
    let now = SystemTime::now();
    params.not_before = (now - DAY).into();
    params.not_after = (now + DAY * u32::try_from(days).unwrap_or(u32::MAX)).into();
}

/// Addresses in private networks first, then others; none of this machine alone.
fn addresses() -> io::Result<Vec<IpAddr>> {
    let mut addresses: Vec<IpAddr> = if_addrs::get_if_addrs()?
        .into_iter()
        .map(|interface| interface.ip())
        .filter(|address| match address {
            IpAddr::V4(address) => !address.is_loopback() && !address.is_link_local(),
            IpAddr::V6(_) => false,
        })
        .collect();
    addresses.sort_by_key(|address| match address {
        IpAddr::V4(address) if address.octets().starts_with(&[192, 168]) => 0,
        IpAddr::V4(address) if address.is_private() => 1,
        _ => 2,
    });
    addresses.dedup();
    Ok(addresses)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_authority_is_made_once_and_vouches_at_every_start() {
        let folder = tempfile::tempdir().unwrap();
        let first = Lan::prepare(folder.path()).unwrap();
        let second = Lan::prepare(folder.path()).unwrap();
        assert_eq!(first.authority, second.authority);
        assert!(first.authority.starts_with("-----BEGIN CERTIFICATE-----"));
    }
}
