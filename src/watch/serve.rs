//! The page's server: this machine only, its own results only.
//!
//! It listens on the loopback address, answers requests that name it by one of its own names (against DNS rebinding) and
//! that come from its own page or from none (`Origin`, `Sec-Fetch-Site`), and hands out the page, its pictures and a
//! stream of events (HTML, "Server-sent events"). Whatever else is asked for is not there; no file is ever opened. Nobody
//! is allowed to read across origins, so there are no CORS headers. A connection serves one request, and only so many
//! are open at a time.

use std::convert::Infallible;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::pin::pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use bytes::Bytes;
use http_body_util::combinators::BoxBody;
use http_body_util::{BodyExt as _, Channel, Full};
use hyper::body::Incoming;
use hyper::header::{self, HeaderName, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::sync::{Semaphore, watch};

use crate::error::{Error, Result};

/// Connections that are open at a time: an open page holds one, and a browser opens some more while it loads.
pub const MOST_CONNECTIONS: usize = 32;
/// A request's head must have arrived within this, and an answer must be taken within it.
const SLOW: Duration = Duration::from_secs(10);
/// Longest head of a request, bytes: a browser's has one or two thousand.
const MOST_HEAD: usize = 16 << 10;
/// A page that heard nothing for so long is told that all is well; one that is gone is noticed by it.
const STILL_HERE: Duration = Duration::from_secs(15);
/// After this long a page asks again for a stream that ended, milliseconds.
const AGAIN_MS: u32 = 1000;

/// What the page shows.
#[derive(Debug, Clone, Default)]
pub struct Board {
    /// Rises with every change of `data`.
    pub revision: u64,
    /// The check's data as JSON on one line.
    pub data: Bytes,
    /// What else is to be said, as JSON on one line: an error, for instance.
    pub state: Bytes,
    /// The page as it is at this moment.
    pub page: Bytes,
    /// Name, media type and bytes of the pictures.
    pub pictures: Vec<(String, &'static str, Bytes)>,
}

/// What a page asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Another placement.
    Place,
    /// The version that changes are counted from.
    Pin,
}

/// A running server.
pub struct Server {
    /// Where it listens.
    pub address: SocketAddr,
    board: watch::Sender<Arc<Board>>,
    stop: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    /// Begins to serve. Port 0: any that is free.
    ///
    /// # Errors
    /// The port is taken, or the system has no thread left.
    pub fn start(port: u16, board: Board, wish: impl Fn(Wish) + Send + Sync + 'static) -> Result<Self> {
        let no = |e: &std::io::Error| {
            Error::new(format!("the page cannot be served on port {port} ({e})"))
                .advise("choose another --port, or --no-serve")
        };
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|e| no(&e))?;
        listener.set_nonblocking(true).map_err(|e| no(&e))?;
        let address = listener.local_addr().map_err(|e| no(&e))?;
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|e| no(&e))?;
        let (board, shown) = watch::channel(Arc::new(board));
        let (stop, stopping) = watch::channel(false);
        let site = Site {
            shown,
            stopping,
            names: ["127.0.0.1", "localhost"].map(|n| format!("{n}:{}", address.port())),
            wish: Arc::new(wish),
        };
        let thread = std::thread::Builder::new()
            .name("page".to_string())
            .spawn(move || runtime.block_on(site.serve(listener)))
            .map_err(|e| no(&e))?;
        Ok(Self {
            address,
            board,
            stop,
            thread: Some(thread),
        })
    }

    /// Where a browser finds it.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Shows something else from now on, in every open page.
    pub fn show(&self, board: Board) {
        self.board.send_replace(Arc::new(board));
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop.send_replace(true);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

type Answer = Response<BoxBody<Bytes, Infallible>>;

#[derive(Clone)]
struct Site {
    shown: watch::Receiver<Arc<Board>>,
    stopping: watch::Receiver<bool>,
    /// What a request may call this server.
    names: [String; 2],
    wish: Arc<dyn Fn(Wish) + Send + Sync>,
}

impl Site {
    async fn serve(self, listener: TcpListener) {
        let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
            return;
        };
        let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        let mut stopping = self.stopping.clone();
        loop {
            let accepted = tokio::select! {
                accepted = listener.accept() => accepted,
                _ = stopping.wait_for(|s| *s) => return,
            };
            let Ok((stream, _)) = accepted else {
                // Too many open files, for instance: others close meanwhile.
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            };
            // Whoever comes when all places are taken is let go at once.
            let Ok(place) = room.clone().try_acquire_owned() else {
                continue;
            };
            let site = self.clone();
            tokio::spawn(async move {
                site.answer(stream).await;
                drop(place);
            });
        }
    }

    /// Serves the one request of a connection.
    async fn answer(self, stream: tokio::net::TcpStream) {
        // Small events leave at once.
        let _ = stream.set_nodelay(true);
        let listens = Arc::new(AtomicBool::new(false));
        let mut stopping = self.stopping.clone();
        let heard = listens.clone();
        let service = service_fn(move |request| {
            let answer = self.of(&request, &heard);
            async move { Ok::<_, Infallible>(answer) }
        });
        let mut connection = pin!(
            http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(SLOW)
                .max_buf_size(MOST_HEAD)
                .keep_alive(false)
                .serve_connection(TokioIo::new(stream), service)
        );
        // Twice the time: for the request's head and for the answer.
        let mut slow = pin!(tokio::time::sleep(2 * SLOW));
        loop {
            tokio::select! {
                _ = connection.as_mut() => return,
                _ = stopping.wait_for(|s| *s) => return,
                () = slow.as_mut(), if !listens.load(Ordering::Relaxed) => return,
            }
        }
    }

    fn of(&self, request: &Request<Incoming>, listens: &AtomicBool) -> Answer {
        if let Err(why) = self.allowed(request) {
            return plain(StatusCode::FORBIDDEN, why);
        }
        let path = request.uri().path();
        match (request.method(), path) {
            (&Method::GET, "/") => {
                let page = self.shown.borrow().page.clone();
                with(StatusCode::OK, "text/html; charset=utf-8", whole(page))
            }
            (&Method::GET, "/events") => {
                listens.store(true, Ordering::Relaxed);
                with(StatusCode::OK, "text/event-stream", self.events(known(request)))
            }
            (&Method::POST, "/place") => self.wished(request, Wish::Place),
            (&Method::POST, "/pin") => self.wished(request, Wish::Pin),
            (&Method::GET, _) => {
                let board = self.shown.borrow();
                let name = path.strip_prefix(crate::report::page::live::PICTURES);
                match board.pictures.iter().find(|p| Some(p.0.as_str()) == name) {
                    Some((_, kind, bytes)) => {
                        let mut answer = with(StatusCode::OK, kind, whole(bytes.clone()));
                        // It is named by its content: it may be kept.
                        answer.headers_mut().insert(
                            header::CACHE_CONTROL,
                            HeaderValue::from_static("private, max-age=86400, immutable"),
                        );
                        answer
                    }
                    None => plain(StatusCode::NOT_FOUND, "there is nothing here"),
                }
            }
            _ => plain(StatusCode::METHOD_NOT_ALLOWED, "this is not done here"),
        }
    }

    /// Whether a request is meant for this server and comes from its page or from nobody's.
    fn allowed(&self, request: &Request<Incoming>) -> std::result::Result<(), &'static str> {
        let ours = |name: &str| self.names.iter().any(|n| n.eq_ignore_ascii_case(name));
        let only = |name: HeaderName| {
            let mut all = request.headers().get_all(name).iter();
            (all.next(), all.next())
        };
        let (host, second) = only(header::HOST);
        let host = host.and_then(|h| h.to_str().ok());
        if second.is_some() || !host.is_some_and(ours) {
            return Err("this server answers to its own name only");
        }
        // A proxy's form of request names a host of its own.
        if request.uri().authority().is_some_and(|a| !ours(a.as_str())) {
            return Err("this server answers to its own name only");
        }
        let (origin, second) = only(header::ORIGIN);
        let own = |o: &HeaderValue| {
            let name = o.to_str().ok().and_then(|o| o.strip_prefix("http://"));
            name.is_some_and(|n| Some(n) == host)
        };
        let wishes = request.method() != Method::GET;
        if second.is_some() || origin.map_or(wishes, |o| !own(o)) {
            return Err("this server answers its own page only");
        }
        let (site, _) = only(HeaderName::from_static("sec-fetch-site"));
        // A page elsewhere may link to this one, but may not fetch from it.
        let top = request
            .headers()
            .get("sec-fetch-mode")
            .is_some_and(|m| m == "navigate");
        match site.map(HeaderValue::as_bytes) {
            None | Some(b"same-origin" | b"none") => Ok(()),
            Some(_) if top && request.uri().path() == "/" => Ok(()),
            Some(_) => Err("this server answers its own page only"),
        }
    }

    fn wished(&self, request: &Request<Incoming>, wish: Wish) -> Answer {
        let empty = request
            .headers()
            .get(header::CONTENT_LENGTH)
            .is_none_or(|l| l == "0");
        if !empty || request.headers().contains_key(header::TRANSFER_ENCODING) {
            return plain(StatusCode::PAYLOAD_TOO_LARGE, "a wish has no words");
        }
        (self.wish)(wish);
        with(StatusCode::NO_CONTENT, "text/plain", whole(Bytes::new()))
    }

    /// The stream of events for a page that has some revision already.
    fn events(&self, mut has: Option<u64>) -> BoxBody<Bytes, Infallible> {
        let (mut out, body) = Channel::new(1);
        let (mut shown, mut stopping) = (self.shown.clone(), self.stopping.clone());
        tokio::spawn(async move {
            let mut first = true;
            loop {
                let text = {
                    let board = shown.borrow_and_update().clone();
                    let mut text = Vec::new();
                    if first {
                        text.extend_from_slice(format!("retry: {AGAIN_MS}\n\n").as_bytes());
                        first = false;
                    }
                    if has != Some(board.revision) {
                        has = Some(board.revision);
                        text.extend_from_slice(
                            format!("event: check\nid: {}\ndata: ", board.revision).as_bytes(),
                        );
                        text.extend_from_slice(&board.data);
                        text.extend_from_slice(b"\n\n");
                    }
                    text.extend_from_slice(b"event: state\ndata: ");
                    text.extend_from_slice(&board.state);
                    text.extend_from_slice(b"\n\n");
                    Bytes::from(text)
                };
                if !taken(&mut out, text).await {
                    return;
                }
                loop {
                    let quiet = tokio::select! {
                        changed = shown.changed() => {
                            if changed.is_err() {
                                return;
                            }
                            false
                        }
                        _ = stopping.changed() => return,
                        () = tokio::time::sleep(STILL_HERE) => true,
                    };
                    if !quiet {
                        break;
                    }
                    if !taken(&mut out, Bytes::from_static(b":\n\n")).await {
                        return;
                    }
                }
            }
        });
        body.boxed()
    }
}

/// Hands something on to a page. One that takes nothing is given up.
async fn taken(out: &mut http_body_util::channel::Sender<Bytes, Infallible>, text: Bytes) -> bool {
    matches!(tokio::time::timeout(SLOW, out.send_data(text)).await, Ok(Ok(())))
}

/// The revision that a page has: of the page's own data, or of the last event before the stream broke.
fn known(request: &Request<Incoming>) -> Option<u64> {
    let last = request
        .headers()
        .get("last-event-id")
        .and_then(|v| v.to_str().ok());
    let has = request.uri().query().and_then(|q| q.strip_prefix("has="));
    last.or(has)?.parse().ok()
}

fn whole(bytes: Bytes) -> BoxBody<Bytes, Infallible> {
    Full::new(bytes).boxed()
}

fn plain(status: StatusCode, text: &'static str) -> Answer {
    with(
        status,
        "text/plain; charset=utf-8",
        whole(Bytes::from_static(text.as_bytes())),
    )
}

/// An answer with what every answer says: what it is, that nobody else may show, keep or guess at it.
fn with(status: StatusCode, kind: &'static str, body: BoxBody<Bytes, Infallible>) -> Answer {
    let mut answer = Response::new(body);
    *answer.status_mut() = status;
    let headers = answer.headers_mut();
    for (name, value) in [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        // What a page cannot say of itself; the rest of its policy stands in it.
        (header::CONTENT_SECURITY_POLICY, "frame-ancestors 'none'"),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    answer
}
