//! What the server says to those who are not meant, over a plain connection.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::sync::Arc;

use dropwise_live::{Board, FindingShown, Gallery, NestShown, OpenError, PartPage, Pictured, Server};

/// One part, and no nest.
struct OnePart;

impl Gallery for OnePart {
    fn part(&self, index: usize, pictured: Pictured) -> Option<PartPage> {
        let flat = format!("<svg>{} {}</svg>", pictured.turn_deg, pictured.paper_width);
        (index == 0).then(|| PartPage { drawn: 1, flat, ..PartPage::default() })
    }

    fn folded(&self, _: usize, _: Pictured) -> Option<String> {
        None
    }

    fn findings(&self) -> Vec<FindingShown> {
        Vec::new()
    }

    fn nest(&self, _: f64) -> Option<NestShown> {
        None
    }
}

fn open() -> Server {
    Server::open(0, Board::default(), Arc::new(OnePart)).unwrap()
}

/// Host and port, and the token between slashes.
fn split(server: &Server) -> (String, String) {
    let address = server.address();
    let (host, token) = address.strip_prefix("http://").unwrap().split_once('/').unwrap();
    (host.to_owned(), format!("/{token}"))
}

/// Head and body of an answer.
fn ask(socket: &str, method: &str, path: &str, host: &str) -> (String, String) {
    let mut stream = TcpStream::connect(socket).unwrap();
    let host = if host.is_empty() { String::new() } else { format!("Host: {host}\r\n") };
    write!(stream, "{method} {path} HTTP/1.1\r\n{host}Connection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
    (head.to_owned(), body.to_owned())
}

#[test]
fn who_knows_the_address_gets_the_page_and_nothing_may_be_fetched_by_it() {
    let server = open();
    let (socket, token) = split(&server);
    assert!(socket.starts_with("127.0.0.1:"), "{socket}");
    let (head, body) = ask(&socket, "GET", &token, &socket);
    assert!(head.starts_with("HTTP/1.1 200") && body.contains("<title>dropwise</title>"), "{head}");
    for wanted in ["default-src 'none'", "connect-src 'self'", "no-store", "nosniff", "no-referrer", "same-origin"] {
        assert!(head.contains(wanted), "{wanted}: {head}");
    }
    assert!(!head.contains("unsafe"), "{head}");
    let nonce = |head: &str| head.split("'nonce-").nth(1).unwrap().split('\'').next().unwrap().to_owned();
    assert!(body.contains(&format!("<script nonce=\"{}\">", nonce(&head))));
    assert_ne!(nonce(&head), nonce(&ask(&socket, "GET", &token, &socket).0));
    let (_, part) = ask(&socket, "GET", &format!("{token}part?index=0&turn=30&paper=120"), &socket);
    assert!(part.contains("<svg>30 120</svg>"), "{part}");
    server.close();
}

#[test]
fn strangers_are_refused() {
    let server = open();
    let (socket, token) = split(&server);
    let port = socket.rsplit(':').next().unwrap().to_owned();
    let status = |method: &str, path: &str, host: &str| {
        let (head, body) = ask(&socket, method, path, host);
        assert!(!body.contains("<title>"), "{method} {path} {host}");
        head.split(' ').nth(1).unwrap_or_default().to_owned()
    };
    // A foreign name made to point here (DNS rebinding) sends itself as the host.
    for host in ["rebound.example", &format!("rebound.example:{port}"), "127.0.0.1", "127.0.0.1:1", ""] {
        assert!(["400", "403"].contains(&status("GET", &token, host).as_str()), "{host}");
    }
    let other = token.replace(|c: char| c.is_ascii_digit(), "f");
    for path in ["/", "/now?since=0", &other, "//", "/../", &token[..token.len() - 1], "/favicon.ico"] {
        assert_eq!(status("GET", path, &socket), "404", "{path}");
    }
    for path in ["part", "part?index=1", "part?index=nan", "folded?index=0", "nest", "../now", "page.js"] {
        assert_eq!(status("GET", &format!("{token}{path}"), &socket), "404", "{path}");
    }
    for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
        assert_eq!(status(method, &token, &socket), "405", "{method}");
    }
    server.close();
}

#[test]
fn a_port_in_use_is_told() {
    let server = open();
    let port: u16 = split(&server).0.rsplit(':').next().unwrap().parse().unwrap();
    let again = Server::open(port, Board::default(), Arc::new(OnePart));
    assert!(matches!(again, Err(OpenError::InUse { port: told }) if told == port), "{again:?}");
    server.close();
}

#[test]
fn who_waits_is_told_of_the_end() {
    let server = open();
    let (socket, token) = split(&server);
    let waiting = std::thread::spawn(move || ask(&socket, "GET", &format!("{token}now?since=0"), &socket));
    server.close();
    // Either the answer or a connection that is closed: nobody is left waiting.
    let (_, body) = waiting.join().unwrap();
    assert!(body.is_empty() || body.contains("\"ended\":true"), "{body}");
}
