//! What a picture's EXIF says that matters here (Exif 2.32, CIPA DC-008).

use std::io::Cursor;

/// The few notes taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Notes {
    /// Orientation, 1 to 8.
    pub orientation: u32,
    /// Focal length as if on 36 x 24 mm film, millimetres.
    pub focal_35mm: Option<u16>,
    /// Maker, model, lens and focal length in one line; `None` when neither maker nor model is told.
    pub taken_with: Option<String>,
}

impl Notes {
    /// Upright, taken with who knows what.
    const NONE: Self = Self { orientation: 1, focal_35mm: None, taken_with: None };

    /// The notes of a picture file (JPEG, PNG, TIFF, WebP, HEIF).
    pub(super) fn read(bytes: &[u8]) -> Self {
        let Ok(exif) = exif::Reader::new().read_from_container(&mut Cursor::new(bytes)) else {
            return Self::NONE;
        };
        let field = |tag| exif.get_field(tag, exif::In::PRIMARY);
        let number = |tag| field(tag).and_then(|f| f.value.get_uint(0));
        let words = |tag| field(tag).map(|f| f.display_value().to_string()).unwrap_or_default();
        let camera = [exif::Tag::Make, exif::Tag::Model].map(words).join(" ");
        let lens =
            [exif::Tag::LensModel, exif::Tag::FocalLength, exif::Tag::DigitalZoomRatio].map(words).join(" ");
        Self {
            orientation: number(exif::Tag::Orientation).unwrap_or(1),
            // 0 means "unknown" in EXIF; beyond 8 to 400 mm no phone or camera copies a garment.
            focal_35mm: number(exif::Tag::FocalLengthIn35mmFilm)
                .and_then(|f| u16::try_from(f).ok())
                .filter(|f| (8..=400).contains(f)),
            taken_with: (!camera.trim().is_empty()).then(|| format!("{camera} {lens}")),
        }
    }
}

/// When a picture was taken, as its EXIF says: `2026:03:18 14:02:51` where the camera was; `None` where it does not. The
/// beginning of the file is enough for a JPEG.
#[must_use]
pub fn taken_at(bytes: &[u8]) -> Option<String> {
    let exif = exif::Reader::new().read_from_container(&mut Cursor::new(bytes)).ok()?;
    let field = exif.get_field(exif::Tag::DateTimeOriginal, exif::In::PRIMARY)?;
    match &field.value {
        exif::Value::Ascii(words) => words.first().and_then(|w| String::from_utf8(w.clone()).ok()),
        _ => None,
    }
}
