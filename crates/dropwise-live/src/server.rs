//! The server: one page, a few questions that it asks, and nothing else.

use std::fmt;
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serde::Serialize;
use thiserror::Error;
use tiny_http::{Header, Method, Request, Response};

use crate::address::{Address, Token, TokenError, random_hex};
use crate::board::Board;
use crate::page::{page, policy};
use crate::shown::{Gallery, Pictured};

/// A page is told after so long that nothing is new: less than browsers wait for an answer.
const PATIENCE: Duration = Duration::from_secs(20);
/// Most questions that are answered at a time. Each page asks two or three.
const MOST_AT_ONCE: usize = 48;
/// How long questions are still taken once the end has come.
const FAREWELL: Duration = Duration::from_millis(400);
/// And how long open answers may take after that.
const LAST_WORDS: Duration = Duration::from_millis(700);

/// Serves the page until it is closed.
pub struct Server {
    address: Address,
    http: Arc<tiny_http::Server>,
    board: Board,
    busy: Arc<AtomicUsize>,
    door: Option<JoinHandle<()>>,
}

/// Why the page cannot be served.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OpenError {
    /// Another program listens there.
    #[error("port {port} is in use by another program")]
    InUse {
        /// The port asked for.
        port: u16,
    },
    /// The system refuses the port.
    #[error("port {port} cannot be listened on: {source}")]
    Refused {
        /// The port asked for; 0 for any.
        port: u16,
        /// What the system says.
        source: io::Error,
    },
    /// There are no random numbers.
    #[error(transparent)]
    Token(#[from] TokenError),
}

/// Its token stays out of messages.
impl fmt::Debug for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Server").field("address", &self.address).finish_non_exhaustive()
    }
}

impl Server {
    /// Opens the page on the loopback address, at a port of its own choice where `port` is 0, with a token of its own.
    ///
    /// # Errors
    /// When the port is taken or refused, or there is no token to be had.
    pub fn open(port: u16, board: Board, gallery: Arc<dyn Gallery>) -> Result<Self, OpenError> {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).map_err(|source| {
            if source.kind() == io::ErrorKind::AddrInUse {
                OpenError::InUse { port }
            } else {
                OpenError::Refused { port, source }
            }
        })?;
        let refused = |source: io::Error| OpenError::Refused { port, source };
        let address = Address::new(listener.local_addr().map_err(refused)?, Token::random()?);
        let http = tiny_http::Server::from_listener(listener, None)
            .map_err(|error| OpenError::Refused { port, source: io::Error::other(error) })?;
        let (http, busy) = (Arc::new(http), Arc::new(AtomicUsize::new(0)));
        let door = Door {
            http: Arc::clone(&http),
            busy: Arc::clone(&busy),
            desk: Arc::new(Desk { address: address.clone(), board: board.clone(), gallery }),
        };
        let door = std::thread::Builder::new().name("page".to_owned()).spawn(move || door.serve()).map_err(refused)?;
        Ok(Self { address, http, board, busy, door: Some(door) })
    }

    /// The address to open, its token in it.
    #[must_use]
    pub fn address(&self) -> String {
        self.address.text()
    }

    /// Tells all pages that it ends, answers what is still open, and stops listening.
    pub fn close(mut self) {
        self.board.end();
        // A page that is between two questions asks once more, and is told too.
        std::thread::sleep(FAREWELL);
        self.http.unblock();
        if let Some(door) = self.door.take() {
            // A door that fell in is as closed as any.
            let _ = door.join();
        }
        let start = Instant::now();
        while self.busy.load(Ordering::SeqCst) > 0 && start.elapsed() < LAST_WORDS {
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

/// Takes questions and gives each to a thread of its own.
struct Door {
    http: Arc<tiny_http::Server>,
    busy: Arc<AtomicUsize>,
    desk: Arc<Desk>,
}

impl Door {
    fn serve(self) {
        while let Ok(request) = self.http.recv() {
            if self.busy.fetch_add(1, Ordering::SeqCst) >= MOST_AT_ONCE {
                self.busy.fetch_sub(1, Ordering::SeqCst);
                respond(request, Answer::refusal(503, "too many questions at a time"));
                continue;
            }
            let (desk, busy) = (Arc::clone(&self.desk), Arc::clone(&self.busy));
            let answered = std::thread::Builder::new().name("answer".to_owned()).spawn(move || {
                let _leaving = Leaving(busy);
                let answer = desk.answer(&request);
                respond(request, answer);
            });
            if answered.is_err() {
                // The question is gone with the thread; the page asks again.
                self.busy.fetch_sub(1, Ordering::SeqCst);
            }
        }
    }
}

/// Counts a question as answered, whatever became of it.
struct Leaving(Arc<AtomicUsize>);

impl Drop for Leaving {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

/// Knows the answers.
struct Desk {
    address: Address,
    board: Board,
    gallery: Arc<dyn Gallery>,
}

/// What is sent back.
#[derive(Debug)]
struct Answer {
    status: u16,
    kind: &'static str,
    body: String,
    policy: String,
}

impl Answer {
    fn new(kind: &'static str, body: String) -> Self {
        Self { status: 200, kind, body, policy: "default-src 'none'".to_owned() }
    }

    fn json(value: &impl Serialize) -> Self {
        match serde_json::to_string(value) {
            Ok(body) => Self::new("application/json", body),
            Err(_) => Self::refusal(500, "this cannot be told"),
        }
    }

    fn refusal(status: u16, text: &str) -> Self {
        Self { status, ..Self::new("text/plain; charset=utf-8", format!("{text}\n")) }
    }
}

impl Desk {
    fn answer(&self, request: &Request) -> Answer {
        let host = request.headers().iter().find(|header| header.field.equiv("Host"));
        if !host.is_some_and(|host| self.address.is_host(host.value.as_str())) {
            return Answer::refusal(403, "this host is not known here");
        }
        if *request.method() != Method::Get {
            return Answer::refusal(405, "this page is only looked at");
        }
        let Some(wanted) = self.address.wanted(request.url()) else {
            return Answer::refusal(404, "open the address that dropwise printed, all of it");
        };
        let (name, query) = wanted.split_once('?').unwrap_or((wanted, ""));
        self.told(name, &Query(query)).unwrap_or_else(|| Answer::refusal(404, "there is nothing of that name"))
    }

    fn told(&self, name: &str, query: &Query<'_>) -> Option<Answer> {
        let index = || query.number("index").map(|index| index as usize);
        let pictured = || Pictured {
            turn_deg: query.number("turn").unwrap_or(45.0),
            tilt_deg: query.number("tilt").unwrap_or(35.26).clamp(-90.0, 90.0),
            paper_width: query.number("paper").unwrap_or(277.0),
        };
        Some(match name {
            "" => {
                let Ok(nonce) = random_hex() else { return Some(Answer::refusal(500, "no random numbers")) };
                Answer { policy: policy(&nonce), ..Answer::new("text/html; charset=utf-8", page(&nonce)) }
            }
            "now" => {
                let since = query.number("since").unwrap_or(0.0) as u64;
                Answer::new("application/json", self.board.newer(since, PATIENCE))
            }
            "part" => Answer::json(&self.gallery.part(index()?, pictured())?),
            "folded" => Answer::new("image/svg+xml", self.gallery.folded(index()?, pictured())?),
            "findings" => Answer::json(&self.gallery.findings()),
            "nest" => Answer::json(&self.gallery.nest(pictured().paper_width)?),
            _ => return None,
        })
    }
}

/// Numbers behind the question mark.
struct Query<'q>(&'q str);

impl Query<'_> {
    /// A number that is finite and not beyond reason.
    fn number(&self, name: &str) -> Option<f64> {
        let pairs = self.0.split('&').filter_map(|pair| pair.split_once('='));
        let value = pairs.filter(|(key, _)| *key == name).map(|(_, value)| value).next()?;
        value.parse().ok().filter(|number: &f64| number.abs() <= 1e15)
    }
}

fn respond(request: Request, answer: Answer) {
    let mut response = Response::from_data(answer.body.into_bytes()).with_status_code(answer.status);
    for (name, value) in [
        ("Content-Type", answer.kind),
        ("Content-Security-Policy", answer.policy.as_str()),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ] {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    // Who went away needs no answer.
    let _ = request.respond(response);
}
