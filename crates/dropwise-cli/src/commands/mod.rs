//! One file a command: build what is needed, call the libraries, print, choose the exit code.

pub(crate) mod buy;
pub(crate) mod check;
pub(crate) mod compare;
mod completions;
pub(crate) mod cut;
mod draft;
pub(crate) mod draw;
pub(crate) mod fits;
pub(crate) mod flat;
pub(crate) mod jot;
pub(crate) mod look;
mod manual;
mod nest;
pub(crate) mod outfit;
#[cfg_attr(not(feature = "photo"), path = "no_photo.rs")]
pub(crate) mod photo;
pub(crate) mod prove;
mod schema;
pub(crate) mod stock;

pub(crate) use check::check;
pub(crate) use compare::compare;
pub(crate) use completions::completions;
pub(crate) use cut::cut;
pub(crate) use draw::draw;
pub(crate) use fits::fits;
pub(crate) use flat::flat;
pub(crate) use jot::jot;
pub(crate) use look::look;
pub(crate) use manual::manual;
pub(crate) use nest::nest;
pub(crate) use outfit::outfit;
pub(crate) use prove::prove;
pub(crate) use schema::schema;
pub(crate) use stock::stock;
