//! What the layers of a drawing are called in files that carry names.

use crate::geometry::Layer;

/// Every layer, in the order in which files list them.
pub(super) const ALL: [Layer; 9] = [
    Layer::Target,
    Layer::Page,
    Layer::Cut,
    Layer::Finished,
    Layer::Fold,
    Layer::Skive,
    Layer::Stitch,
    Layer::Marks,
    Layer::Text,
];

/// A short name in small ASCII letters: an id in SVG, a resource's name in PDF.
pub(super) const fn id(layer: Layer) -> &'static str {
    match layer {
        Layer::Cut => "cut",
        Layer::Finished => "finished",
        Layer::Fold => "fold",
        Layer::Skive => "skive",
        Layer::Stitch => "stitch",
        Layer::Marks => "marks",
        Layer::Text => "text",
        Layer::Page => "page",
        Layer::Target => "target",
    }
}

/// What a person reads in a list of layers.
pub(super) const fn title(layer: Layer) -> &'static str {
    match layer {
        Layer::Cut => "Cut lines",
        Layer::Finished => "Finished lines",
        Layer::Fold => "Fold lines",
        Layer::Skive => "Skive lines",
        Layer::Stitch => "Stitch lines",
        Layer::Marks => "Marks",
        Layer::Text => "Words",
        Layer::Page => "Page marks",
        Layer::Target => "Calibration target",
    }
}
