//! The address, with or without TLS.

use crate::DaemonError;
use crate::config::Listen;
use crate::host::Stop;
use axum::Router;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

/// How long answers under way may take once the daemon stops. A connection still open after this has
/// nobody reading at its other end.
const FAREWELL_LONGEST: Duration = Duration::from_secs(5);

/// How often the certificate is looked at: it is renewed while the daemon runs.
const CERTIFICATE_LOOKED_AT_EVERY: Duration = Duration::from_secs(300);

/// An address that is taken.
pub(crate) struct Door {
    listener: TcpListener,
    address: SocketAddr,
    tls: Option<Tls>,
}

struct Tls {
    config: RustlsConfig,
    certificate: PathBuf,
    key: PathBuf,
}

/// Takes the address. Other machines are served with TLS, or when that is asked for in so many words.
pub(crate) async fn open(settings: &Listen) -> Result<Door, DaemonError> {
    let tls = certificate(settings).await?;
    let address = settings.address;
    if tls.is_none() && !address.ip().is_loopback() && !settings.open_to_others {
        return Err(DaemonError::OpenToOthers(address));
    }
    let refused = |cause| DaemonError::Listen { address, cause };
    let listener = TcpListener::bind(address).map_err(refused)?;
    listener.set_nonblocking(true).map_err(refused)?;
    Ok(Door {
        address: listener.local_addr().map_err(refused)?,
        listener,
        tls,
    })
}

async fn certificate(settings: &Listen) -> Result<Option<Tls>, DaemonError> {
    let (certificate, key) = (settings.certificate.clone(), settings.key.clone());
    match (
        certificate.as_os_str().is_empty(),
        key.as_os_str().is_empty(),
    ) {
        (true, true) => return Ok(None),
        (false, false) => {}
        _ => return Err(DaemonError::HalfACertificate),
    }
    let config = RustlsConfig::from_pem_file(&certificate, &key).await;
    let config = config.map_err(|cause| DaemonError::Certificate {
        certificate: certificate.clone(),
        key: key.clone(),
        cause,
    })?;
    Ok(Some(Tls {
        config,
        certificate,
        key,
    }))
}

impl Door {
    pub(crate) fn address(&self) -> SocketAddr {
        self.address
    }

    pub(crate) fn is_encrypted(&self) -> bool {
        self.tls.is_some()
    }

    /// Serves until told to stop, then lets answers under way end.
    pub(crate) async fn serve(self, router: Router, stop: Stop) -> Result<(), DaemonError> {
        let handle = Handle::new();
        let telling = tokio::spawn({
            let (handle, stop) = (handle.clone(), stop.clone());
            async move {
                stop.asked().await;
                handle.graceful_shutdown(Some(FAREWELL_LONGEST));
            }
        });
        let service = router.into_make_service_with_connect_info::<SocketAddr>();
        let served = match self.tls {
            None => {
                let server = axum_server::from_tcp(self.listener).map_err(DaemonError::Board)?;
                server.handle(handle).serve(service).await
            }
            Some(tls) => {
                let renewing = tokio::spawn(renew(tls.config.clone(), tls.certificate, tls.key));
                let server = axum_server::from_tcp_rustls(self.listener, tls.config);
                let server = server.map_err(DaemonError::Board)?;
                let served = server.handle(handle).serve(service).await;
                renewing.abort();
                served
            }
        };
        telling.abort();
        served.map_err(DaemonError::Board)
    }
}

/// Takes a renewed certificate; one that cannot be read leaves the old one in use.
async fn renew(config: RustlsConfig, certificate: PathBuf, key: PathBuf) {
    let mut before = written(&certificate).await;
    loop {
        tokio::time::sleep(CERTIFICATE_LOOKED_AT_EVERY).await;
        let now = written(&certificate).await;
        if now == before {
            continue;
        }
        match config.reload_from_pem_file(&certificate, &key).await {
            Ok(()) => tracing::info!("the renewed certificate is in use"),
            Err(error) => tracing::error!(%error, "the renewed certificate cannot be used"),
        }
        before = now;
    }
}

async fn written(file: &PathBuf) -> Option<SystemTime> {
    tokio::fs::metadata(file).await.ok()?.modified().ok()
}
