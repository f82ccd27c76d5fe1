//! The page of `onfold open`: its interface, a browser that works with it, and those who mean it harm.

mod browser;
mod driver;
mod hostile;
mod http;
mod interface;
mod shared;
