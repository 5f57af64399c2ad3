//! The token in the address, and what a request must say to be heard.

use std::fmt;
use std::net::SocketAddr;

use thiserror::Error;

/// 128 random bits that stand in the address: who does not know them sees nothing.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

/// The system gave no random bits.
#[derive(Debug, Error)]
#[error("the system gives no random numbers: {0}")]
pub struct TokenError(getrandom::Error);

impl Token {
    /// A token that nobody can guess.
    ///
    /// # Errors
    /// [`TokenError`] when the system has no random numbers to give.
    pub fn random() -> Result<Self, TokenError> {
        Ok(Self(random_hex()?))
    }

    /// Whether a text is this token. It takes as long for any text of this length, so that time tells nothing.
    fn is(&self, text: &str) -> bool {
        let differing = self.0.bytes().zip(text.bytes()).fold(0, |sum, (own, other)| sum | (own ^ other));
        text.len() == self.0.len() && differing == 0
    }
}

/// Printed nowhere by accident.
impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(…)")
    }
}

/// 128 random bits in hexadecimal digits.
pub(crate) fn random_hex() -> Result<String, TokenError> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(TokenError)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Where the page is, and who may ask for it.
#[derive(Clone, Debug)]
pub(crate) struct Address {
    socket: SocketAddr,
    token: Token,
}

impl Address {
    pub(crate) fn new(socket: SocketAddr, token: Token) -> Self {
        Self { socket, token }
    }

    /// What is typed into a browser.
    pub(crate) fn text(&self) -> String {
        format!("http://{}/{}/", self.socket, self.token.0)
    }

    /// Whether a request names this very place as its host. A foreign name that points here does not.
    pub(crate) fn is_host(&self, host: &str) -> bool {
        let port = self.socket.port();
        [format!("127.0.0.1:{port}"), format!("localhost:{port}")].iter().any(|own| own.eq_ignore_ascii_case(host))
    }

    /// What a path asks for below the token; `None` where the token is wrong.
    pub(crate) fn wanted<'p>(&self, path: &'p str) -> Option<&'p str> {
        let (token, wanted) = path.strip_prefix('/')?.split_once('/')?;
        self.token.is(token).then_some(wanted)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address() -> Address {
        Address::new(SocketAddr::from(([127, 0, 0, 1], 4711)), Token("c0ffee".to_owned()))
    }

    #[test]
    fn tokens_are_long_and_never_the_same() {
        let (one, other) = (Token::random().unwrap(), Token::random().unwrap());
        assert!(one.0.len() == 32 && one != other && !format!("{one:?}").contains(&one.0));
    }

    #[test]
    fn only_its_own_name_is_its_host() {
        let address = address();
        assert_eq!(address.text(), "http://127.0.0.1:4711/c0ffee/");
        for host in ["127.0.0.1:4711", "localhost:4711", "LOCALHOST:4711"] {
            assert!(address.is_host(host), "{host}");
        }
        for host in ["", "127.0.0.1", "127.0.0.1:4712", "rebound.example:4711", "localhost:4711.example", "[::1]:4711"]
        {
            assert!(!address.is_host(host), "{host}");
        }
    }

    #[test]
    fn only_the_whole_token_opens() {
        let address = address();
        assert_eq!(address.wanted("/c0ffee/"), Some(""));
        assert_eq!(address.wanted("/c0ffee/part?index=2"), Some("part?index=2"));
        for path in ["/", "", "/c0ffee", "/c0ffe/", "/c0ffef/", "/c0ffee0/part", "//part", "c0ffee/"] {
            assert_eq!(address.wanted(path), None, "{path}");
        }
    }
}
