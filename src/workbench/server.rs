//! The server: listens on the loopback address, with limits on time and number.

use super::bench::Bench;
use super::guard::{self, Guard};
use super::home::Home;
use super::routes;
use super::share::{self, Clock, Peer, Share};
use crate::shelf::ShelfError;
use axum::middleware;
use axum::{Extension, Router};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::task::JoinSet;

/// Threads that compute or wait for the disk, at most: every one of them holds memory, and more would wait for a core.
const WORKERS_MOST: usize = 4;
/// One without work ends after this.
const IDLE_WORKERS: Duration = Duration::from_secs(1);
/// Connections at once, at most; more wait until one ends.
const CONNECTIONS_MOST: usize = 64;
/// Most of a request that is read ahead, bytes; its head is no longer.
const BUFFER_MOST: usize = 16 << 10;
/// The headers of a request must be there within this.
const HEADERS_WITHIN: Duration = Duration::from_secs(10);
/// A connection ends after this, whatever it does; a browser opens another. A photograph over a slow line takes less.
const CONNECTION_LASTS: Duration = Duration::from_secs(180);

/// Connections of a phone at once, at most: a browser opens six.
const PHONE_CONNECTIONS_MOST: usize = 24;
/// After its time, the page for a phone is gone within this.
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// How to serve.
#[derive(Debug, Clone)]
pub struct Options {
    /// A pattern folder, or a folder of pattern folders.
    pub root: PathBuf,
    /// The port; 0 takes one that is free.
    pub port: u16,
}

/// Why the page cannot be served.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// The folder.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// The port.
    #[error("port {port} cannot be opened ({source}); give another with --port, or leave it out")]
    Port {
        /// Which.
        port: u16,
        /// What the system said.
        source: io::Error,
    },
    /// The local network.
    #[error("photographs from a phone cannot be taken at {at} ({source})")]
    Network {
        /// Which address.
        at: IpAddr,
        /// What the system said.
        source: io::Error,
    },
    /// The system gives no random numbers or no threads.
    #[error("the page cannot be served: {0}")]
    System(String),
}

/// A page that is being served.
#[derive(Debug)]
pub struct Serving {
    runtime: tokio::runtime::Runtime,
    guard: Arc<Guard>,
    bench: Arc<Bench>,
    task: tokio::task::JoinHandle<()>,
}

impl Serving {
    /// The address that opens the page, with its token.
    #[must_use]
    pub fn address(&self) -> String {
        self.guard.address()
    }

    /// Takes photographs from one phone as well, at an address of this computer that the phone can reach, for ten minutes.
    ///
    /// # Errors
    /// [`ServeError`]: there is no such address, no random numbers.
    pub fn share(&self, at: IpAddr, clock: Clock) -> Result<Arc<Share>, ServeError> {
        let refused = |source| ServeError::Network { at, source };
        let listener = self.runtime.block_on(TcpListener::bind((at, 0))).map_err(refused)?;
        let at = listener.local_addr().map_err(refused)?;
        let secret = || token().map_err(|e| ServeError::System(e.to_string()));
        let share = Arc::new(Share::new(at, secret()?, &secret()?, clock));
        let router = routes::phone_router(Arc::new(self.bench.for_phone()))
            .layer(middleware::from_fn_with_state(Arc::clone(&share), share::check));
        self.bench.show_share(Arc::clone(&share));
        self.runtime.spawn(accept_phone(listener, router, Arc::clone(&share)));
        Ok(share)
    }

    /// Serves until the process ends.
    pub fn wait(self) {
        // The loop ends only with the runtime.
        let _ = self.runtime.block_on(self.task);
    }
}

/// Begins to serve; threads of its own answer.
///
/// # Errors
/// [`ServeError`]: the folder does not read, the port is taken.
pub fn serve(options: &Options) -> Result<Serving, ServeError> {
    let home = Home::open(&options.root)?;
    let system = |e: &dyn std::fmt::Display| ServeError::System(e.to_string());
    let runtime = tokio::runtime::Builder::new_multi_thread()
        // One passes requests on; what takes long is done by the others.
        .worker_threads(1)
        .max_blocking_threads(WORKERS_MOST)
        .thread_keep_alive(IDLE_WORKERS)
        .enable_all()
        .build()
        .map_err(|e| system(&e))?;
    let wanted = SocketAddr::from((Ipv4Addr::LOCALHOST, options.port));
    let refused = |source| ServeError::Port { port: options.port, source };
    let listener = runtime.block_on(TcpListener::bind(wanted)).map_err(refused)?;
    let port = listener.local_addr().map_err(refused)?.port();
    let guard = Arc::new(Guard::new(port, token().map_err(|e| system(&e))?));
    let bench = Arc::new(Bench::new(home));
    let router = routes::router(Arc::clone(&bench))
        .layer(middleware::from_fn_with_state(Arc::clone(&guard), guard::check));
    let task = runtime.spawn(accept(listener, router));
    Ok(Serving { runtime, guard, bench, task })
}

/// 128 random bits in hexadecimal figures.
fn token() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

async fn accept(listener: TcpListener, router: Router) {
    let places = Arc::new(Semaphore::new(CONNECTIONS_MOST));
    loop {
        let Ok(place) = Arc::clone(&places).acquire_owned().await else { return };
        let Ok((stream, _)) = listener.accept().await else {
            // Out of file descriptors, for example: the next may do.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let router = router.clone();
        tokio::spawn(async move {
            let _ = tokio::time::timeout(CONNECTION_LASTS, answer(stream, router)).await;
            drop(place);
        });
    }
}

/// Until the page for a phone is over; what is under way is then cut off.
async fn accept_phone(listener: TcpListener, router: Router, share: Arc<Share>) {
    let mut connections = JoinSet::new();
    while !share.left().is_zero() {
        while connections.try_join_next().is_some() {}
        let Ok(Ok((stream, peer))) = tokio::time::timeout(LOOK_EVERY, listener.accept()).await else {
            continue;
        };
        if connections.len() < PHONE_CONNECTIONS_MOST {
            let router = router.clone().layer(Extension(Peer(peer.ip())));
            connections.spawn(tokio::time::timeout(CONNECTION_LASTS, answer(stream, router)));
        }
    }
}

async fn answer(stream: TcpStream, router: Router) {
    // Without it, small answers wait for the other side's acknowledgement.
    let _ = stream.set_nodelay(true);
    let service = TowerToHyperService::new(router);
    // A connection that breaks is the other side's affair.
    let _ = hyper::server::conn::http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS_WITHIN)
        .max_buf_size(BUFFER_MOST)
        .serve_connection(TokioIo::new(stream), service)
        .await;
}
