//! Pieces beyond the traced one: drafted from numbers, or taken from the body. One file a step; see [`super::edit`].

mod binding;
mod facing;
mod patch;
mod pocket;
mod ring_tab;
mod said;
mod sew;
mod split;
mod strap;

pub(super) use binding::Binding;
pub(super) use facing::Facing;
pub(super) use patch::Patch;
pub(super) use pocket::Pocket;
pub(super) use ring_tab::RingTab;
pub use ring_tab::ring_tab_length;
pub(super) use sew::Sew;
pub(super) use split::Split;
pub(super) use strap::Strap;
