//! `faying serve`.

use std::io::{self, IsTerminal as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;

use anyhow::{Context as _, Result};
use axum_server::tls_rustls::RustlsConfig;
use clap::{Args, ValueEnum};
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use tokio::signal::unix::{SignalKind, signal};
use tracing_subscriber::EnvFilter;

use super::places::Places;
use super::say;
use crate::demo;
use crate::deps::{Config, Shared};
use crate::lan::Lan;
use crate::launch::{Listener, launch};
use crate::site::Site;
use crate::usecases::invite;

#[derive(Args)]
pub struct Options {
    /// Where to listen
    #[arg(long, env = "FAYING_LISTEN", default_value = "127.0.0.1:8750", value_name = "ADDR")]
    listen: SocketAddr,
    /// The built app, as `cargo xtask build` makes it
    #[arg(long, env = "FAYING_SITE", value_name = "DIR")]
    site: Option<PathBuf>,
    /// Load the demo scenario, unless it is there, and print its sign-ins
    #[arg(long)]
    demo: bool,
    /// Serve the local network too, over HTTPS with a certificate of our own, on the next port
    #[arg(long)]
    lan: bool,
    /// A proxy whose word on the peer's address counts; may be given several times
    #[arg(long = "trusted-proxy", env = "FAYING_TRUSTED_PROXIES", value_delimiter = ',', value_name = "IP")]
    trusted_proxies: Vec<IpAddr>,
    /// How log lines are written
    #[arg(long, env = "FAYING_LOG_FORMAT", value_enum, default_value_t = LogFormat::Text)]
    log_format: LogFormat,
    #[command(flatten)]
    places: Places,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum LogFormat {
    Text,
    Json,
}

/// Serves until told to stop.
pub async fn run(options: Options) -> Result<()> {
    log_to_standard_error(options.log_format);
    let plain =
        TcpListener::bind(options.listen).with_context(|| format!("cannot listen on {}", options.listen))?;
    let address = plain.local_addr()?;
    let mut listeners = vec![Listener::Plain(plain)];
    let lan = if options.lan { Some(Lan::prepare(&options.places.data().join("lan"))?) } else { None };
    let mut secure = None;
    if let Some(lan) = &lan {
        let listen = SocketAddr::from((Ipv4Addr::UNSPECIFIED, address.port().wrapping_add(1)));
        let listener = TcpListener::bind(listen).with_context(|| format!("cannot listen on {listen}"))?;
        secure = Some(listener.local_addr()?);
        listeners.push(Listener::Tls(listener, RustlsConfig::from_config(lan.tls.clone())));
    }
    let config = Config {
        trusted_proxies: options.trusted_proxies,
        site: options.site.as_deref().map(Site::open).transpose().context("cannot serve the app")?,
        authority: lan.as_ref().map(|lan| lan.authority.clone()),
    };
    let deps = options.places.open(config).await?;
    if options.demo {
        demo::load(&deps).await.context("cannot load the demo")?;
    }
    // A log has no use for a code of blocks; whoever tries the demo has.
    let with_code = options.demo || io::stdout().is_terminal();
    greet(&deps, address, with_code).await?;
    if options.demo {
        say("Sign in to the demo as:")?;
        for (who, login, password) in demo::sign_ins() {
            say(&format!("  {who:<12} {login:<12} {password}"))?;
        }
    }
    if let (Some(lan), Some(secure)) = (&lan, secure) {
        greet_network(lan, secure)?;
    }
    launch(listeners, told_to_stop()?, deps).await.context("serving failed")
}

fn log_to_standard_error(format: LogFormat) {
    let filter = EnvFilter::try_from_env("FAYING_LOG").unwrap_or_else(|_| EnvFilter::new("info"));
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(io::stderr);
    match format {
        LogFormat::Text => log.with_ansi(io::stderr().is_terminal()).init(),
        LogFormat::Json => log.json().flatten_event(true).init(),
    }
}

async fn greet(deps: &Shared, address: SocketAddr, with_code: bool) -> Result<()> {
    let url = format!("http://{}", shown(address));
    say(&format!("Faying is at {url}"))?;
    if with_code {
        say(&qr_code(&url)?)?;
    }
    if deps.storage.users().await?.is_empty() {
        let secret = invite::first_lead(deps).await?;
        say("Nobody has an account yet. This link makes the first one, once, within a day:")?;
        say(&format!("{url}/join#{secret}"))?;
    }
    Ok(())
}

fn greet_network(lan: &Lan, secure: SocketAddr) -> Result<()> {
    let port = secure.port();
    let Some(first) = lan.addresses.first() else {
        say("This machine has no address in a local network.")?;
        return Ok(());
    };
    let url = format!("https://{first}:{port}");
    say("")?;
    say(&format!("In this network Faying is at {url}"))?;
    say(&qr_code(&url)?)?;
    for other in &lan.addresses[1..] {
        say(&format!("or at https://{other}:{port}"))?;
    }
    say(&format!(
        "A phone trusts it after this, once:\n\
         1. open {url}/local-authority.crt on the phone and go on in spite of the warning;\n\
         2. Android: Settings, search for \"CA certificate\", install the downloaded file;\n\
         \x20  iPhone: install the profile, then Settings, General, About, Certificate Trust Settings, switch it on;\n\
         3. open {url} again: no warning, and the app can be installed.\n\
         The authority was made on this machine and its key never leaves it. Remove it from the phone\n\
         when you no longer use this."
    ))?;
    Ok(())
}

/// An address that a browser on this machine can open.
fn shown(address: SocketAddr) -> SocketAddr {
    let mut shown = address;
    if address.ip().is_unspecified() {
        shown.set_ip(Ipv4Addr::LOCALHOST.into());
    }
    shown
}

fn qr_code(url: &str) -> Result<String> {
    let code = QrCode::new(url).context("the address does not fit into a QR code")?;
    // Dark modules on a light ground: terminals are dark more often than not.
    Ok(code.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build())
}

/// Done when the process is told to stop.
fn told_to_stop() -> Result<impl Future<Output = ()>> {
    let mut terminate = signal(SignalKind::terminate()).context("cannot listen to signals")?;
    let mut interrupt = signal(SignalKind::interrupt()).context("cannot listen to signals")?;
    Ok(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
    })
}
