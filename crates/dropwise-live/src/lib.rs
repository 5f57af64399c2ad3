//! One page, served on this machine only, that shows what is made of a file while somebody edits it.
//!
//! The crate has the page, its server and the watch over files; what is shown comes from whoever runs it, as words and
//! pictures that are ready. It knows nothing of jobs, metal or nests.
//!
//! - [`Server`]: answers on the loopback address, to whoever knows the token, with nothing but what is on the [`Board`]
//! - [`Board`]: what is to be seen now, and who waits for more
//! - [`Watch`]: tells when one of some files has changed, gone or come back
//! - [`Shown`]: the state of things; [`Gallery`]: whoever draws what the page asks for
//!
//! # What keeps strangers out
//! The server listens on 127.0.0.1 alone. Every address holds a token of 128 random bits, every request must name this
//! very host and port (so that no foreign name can be made to point here), only GET is answered, and nothing is ever
//! written. The page brings its own style and script, allowed by a number used once (a nonce), and may fetch from
//! nowhere but here.
//!
//! # Source
//! Content Security Policy Level 3, W3C; Server-side checks of the Host header against names made to point to the
//! loopback address: common practice, no source.

mod address;
mod board;
mod page;
mod server;
mod shown;
mod watch;

pub use address::{Token, TokenError};
pub use board::Board;
pub use server::{OpenError, Server};
pub use shown::{
    FindingShown, Gallery, Lines, NestShown, PartPage, PartShown, Pictured, Search, Shown, TableShown, Trouble,
};
pub use watch::{Change, Waker, Watch, WatchError};
