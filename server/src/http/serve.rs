//! Listens until the program is asked to stop, then lets what is running finish.

use std::future::IntoFuture as _;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context as _;
use axum::Router;
use axum::serve::ListenerExt as _;
use tokio::net::TcpListener;

use crate::context::Ctx;
use crate::tls::{self, Certificates};

/// How long running requests may take to finish once the program is to stop. Under the ten seconds that
/// `systemd` and container runtimes wait by habit before they kill.
const LAST_REQUESTS: Duration = Duration::from_secs(8);

/// Opens the port.
pub async fn listen(address: SocketAddr) -> anyhow::Result<TcpListener> {
    TcpListener::bind(address).await.with_context(|| format!("cannot listen on {address}"))
}

/// Serves until [`Ctx::stop`] is cancelled and the last requests are answered, or their time is over.
pub async fn serve(listener: TcpListener, router: Router, ctx: Ctx) -> anyhow::Result<()> {
    let app = router.into_make_service_with_connect_info::<SocketAddr>();
    let stop = ctx.stop.clone();
    let last = stop.clone().cancelled_owned();
    let server: Pin<Box<dyn Future<Output = std::io::Result<()>> + Send>> = match &ctx.config.tls {
        None => Box::pin(axum::serve(listener, app).with_graceful_shutdown(last).into_future()),
        Some(files) => {
            let certificates =
                Certificates::read(files).context("WHETLEDGER_TLS_CERTIFICATE, WHETLEDGER_TLS_KEY")?;
            tokio::spawn(Arc::clone(&certificates).watch(stop.clone()));
            // Tapping changes nothing; it is how axum learns the caller's address from a listener of ours.
            let listener = tls::Listener::around(listener, &certificates, stop.clone())?.tap_io(|_| {});
            Box::pin(axum::serve(listener, app).with_graceful_shutdown(last).into_future())
        }
    };
    let hurry = async {
        stop.cancelled().await;
        tokio::time::sleep(LAST_REQUESTS).await;
    };
    tokio::select! {
        done = server => done.context("the server stopped by itself")?,
        () = hurry => tracing::warn!("some requests did not finish in time"),
    }
    Ok(())
}
