//! The local page: `onfold open` serves it to a browser on the same computer.
//!
//! A folder and a port enter; a server runs until its process ends. It answers a small JSON interface (`INTERFACE.md` beside
//! this file) by calling the rooms above, the same functions as the commands, and hands out the page's files, which are
//! inside the program. It listens on the loopback address alone, answers only requests that name it by that address and
//! carry its token (`guard`), and no name from outside becomes a path. Where it is asked to, it takes photographs from one phone on
//! the local network as well (`share`), over a listener that has nothing else.

mod bench;
mod drawing_view;
mod guard;
mod home;
mod intake;
mod open_pattern;
mod page;
mod paper;
mod plain_words;
mod refusal;
mod routes;
mod server;
mod share;
mod traced_view;
mod view;

pub use server::{Options, ServeError, Serving, serve};
pub use share::{Clock, Share, local_address};
