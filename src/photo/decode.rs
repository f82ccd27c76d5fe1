//! Bytes to picture, with limits on what is accepted.

use super::notes::Notes;
use super::{Photo, heic, orient};
use std::io::Cursor;
use zune_core::{bytestream::ZCursor, colorspace::ColorSpace, options::DecoderOptions};
use zune_jpeg::JpegDecoder;

/// What a photograph may be at most.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Pixels in all. Raising it raises the memory a hostile file can ask for: 3 bytes a pixel and more.
    pub pixels: u64,
}

impl Default for Limits {
    /// 200 megapixels: twice the largest phone sensor.
    fn default() -> Self {
        Self { pixels: 200_000_000 }
    }
}

/// Shorter or narrower than this no sheet can be read in it, pixels.
const SMALLEST_SIDE: usize = 64;

/// Why a file is not a usable photograph.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// The bytes are no picture that we know.
    #[error("this is not a picture that onfold can read; take a photograph as JPEG or PNG")]
    NotAPicture,
    /// A HEIF picture of a kind that cannot be decoded.
    #[error(
        "this HEIC picture is of a kind that onfold cannot read ({0}); export it as JPEG (on the phone: Settings, Camera, \
         Formats, Most Compatible; or share it by mail, which converts it)"
    )]
    Heic(String),
    /// The file ends early or is damaged.
    #[error("the picture is damaged or cut short ({0}); copy it again from the camera")]
    Damaged(String),
    /// No pixels, or too few to see a sheet.
    #[error(
        "the picture is {width} x {height} pixels, too small to work from; use the photograph at its full size"
    )]
    TooSmall {
        /// Width as stored.
        width: usize,
        /// Height as stored.
        height: usize,
    },
    /// More pixels than allowed.
    #[error(
        "the picture claims {width} x {height} pixels, over the limit of {limit} million; reduce it and try again"
    )]
    TooLarge {
        /// Width as stored.
        width: usize,
        /// Height as stored.
        height: usize,
        /// Limit, megapixels.
        limit: u64,
    },
}

/// Decodes a photograph and turns it upright as its EXIF orientation says.
///
/// # Errors
/// [`PhotoError`], which says what was seen and what to do.
pub fn decode(bytes: &[u8], limits: Limits) -> Result<Photo, PhotoError> {
    let notes = Notes::read(bytes);
    let mut orientation = notes.orientation;
    let (width, height, ycc) = if heic::is_heic(bytes) {
        let picture = heic::decode(bytes, limits)?;
        // The turn in a HEIF file's properties is the one that counts (ISO/IEC 23008-12, 6.5.10).
        if picture.turned {
            orientation = 1;
        }
        (picture.width, picture.height, picture.ycc)
    } else if bytes.starts_with(&[0xff, 0xd8]) {
        jpeg(bytes, limits)?
    } else {
        other(bytes, limits)?
    };
    let (width, height, ycc) = orient::upright(width, height, ycc, orientation);
    Ok(Photo { width, height, ycc, focal_35mm: notes.focal_35mm, taken_with: notes.taken_with })
}

pub(super) fn check(width: usize, height: usize, limits: Limits) -> Result<(), PhotoError> {
    if width < SMALLEST_SIDE || height < SMALLEST_SIDE {
        return Err(PhotoError::TooSmall { width, height });
    }
    if width as u64 * height as u64 > limits.pixels {
        return Err(PhotoError::TooLarge { width, height, limit: limits.pixels / 1_000_000 });
    }
    Ok(())
}

fn jpeg(bytes: &[u8], limits: Limits) -> Result<(usize, usize, Vec<[u8; 3]>), PhotoError> {
    let damaged =
        |e: zune_jpeg::errors::DecodeErrors| PhotoError::Damaged(format!("{e:?}").chars().take(80).collect());
    let options = DecoderOptions::default()
        .jpeg_set_out_colorspace(ColorSpace::YCbCr)
        .set_strict_mode(false)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(damaged)?;
    let (width, height) = decoder.dimensions().ok_or(PhotoError::NotAPicture)?;
    check(width, height, limits)?;
    match decoder.input_colorspace() {
        Some(ColorSpace::YCbCr) => {}
        // Grey, CMYK and RGB-coded JPEGs are rare from cameras: the general library handles them.
        _ => return other(bytes, limits),
    }
    if !has_end(bytes) {
        return Err(PhotoError::Damaged("its end is missing".into()));
    }
    let flat = decoder.decode().map_err(damaged)?;
    let pixels = width * height;
    if flat.len() != 3 * pixels {
        return Err(PhotoError::Damaged("it holds fewer pixels than it claims".into()));
    }
    Ok((width, height, triples(flat)))
}

/// Whether the picture's data are closed by an end marker (ITU-T T.81 B.1.1.3). Phones hang more behind it
/// (depth, film), and the thumbnail before the data has an end of its own, so it is looked for from the first
/// scan on; within a scan the byte 0xff is never followed by 0xd9.
fn has_end(bytes: &[u8]) -> bool {
    let mut at = 2;
    while let Some(&[0xff, marker, high, low]) = bytes.get(at..at + 4) {
        match marker {
            // Fill bytes may stand before a marker.
            0xff => at += 1,
            0xda => return bytes[at..].windows(2).any(|w| w == [0xff, 0xd9]),
            _ => at += 2 + usize::from(u16::from_be_bytes([high, low])),
        }
    }
    false
}

/// Bytes in threes, without a copy where the allocator's capacity allows it.
fn triples(flat: Vec<u8>) -> Vec<[u8; 3]> {
    flat.as_chunks::<3>().0.to_vec()
}

fn other(bytes: &[u8], limits: Limits) -> Result<(usize, usize, Vec<[u8; 3]>), PhotoError> {
    let reader = image::ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| PhotoError::NotAPicture)?;
    if reader.format().is_none() {
        return Err(PhotoError::NotAPicture);
    }
    // What a PNG claims is judged before its pixels are asked for (ISO/IEC 15948: width and height open the file).
    if bytes.starts_with(b"\x89PNG") && bytes.len() >= 24 {
        let claimed = |k: usize| bytes[k..k + 4].iter().fold(0usize, |v, b| v << 8 | usize::from(*b));
        check(claimed(16), claimed(20), limits)?;
    }
    let damaged = |e: image::ImageError| PhotoError::Damaged(e.to_string().chars().take(120).collect());
    let (width, height) = reader.into_dimensions().map_err(damaged)?;
    check(width as usize, height as usize, limits)?;
    let mut reader = image::ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| PhotoError::NotAPicture)?;
    let mut allowed = image::Limits::default();
    // Sixteen bytes a pixel (four channels of 32 bits) is the widest layout any accepted format decodes to.
    allowed.max_alloc = Some(limits.pixels.min(u64::from(width) * u64::from(height)) * 16 + (1 << 20));
    reader.limits(allowed);
    let picture = reader.decode().map_err(damaged)?;
    let over_white = picture.color().has_alpha();
    let ycc = if over_white {
        picture.into_rgba8().pixels().map(|p| ycc_from_rgb(on_white(p.0))).collect()
    } else {
        picture.into_rgb8().pixels().map(|p| ycc_from_rgb(p.0)).collect()
    };
    Ok((width as usize, height as usize, ycc))
}

/// A transparent pixel laid on white.
fn on_white([r, g, b, a]: [u8; 4]) -> [u8; 3] {
    #[expect(clippy::cast_possible_truncation, reason = "a mean of bytes is a byte")]
    [r, g, b].map(|c| ((u32::from(c) * u32::from(a) + 255 * (255 - u32::from(a)) + 127) / 255) as u8)
}

/// JFIF 1.02: full-range YCbCr from RGB.
pub(super) fn ycc_from_rgb([r, g, b]: [u8; 3]) -> [u8; 3] {
    let [r, g, b] = [r, g, b].map(f32::from);
    let y = 0.299 * r + 0.587 * g + 0.114 * b;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
    [y, 128.0 + (b - y) / 1.772, 128.0 + (r - y) / 1.402].map(|v| v.round().clamp(0.0, 255.0) as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_picture_is_said_so() {
        assert_eq!(decode(b"hello, this is a letter", Limits::default()), Err(PhotoError::NotAPicture));
        assert_eq!(decode(b"", Limits::default()), Err(PhotoError::NotAPicture));
        let no_more_than_a_brand = decode(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", Limits::default());
        assert!(matches!(no_more_than_a_brand, Err(PhotoError::Damaged(_))));
    }

    #[test]
    fn a_png_comes_back_in_luma_and_chroma() {
        let mut png = Vec::new();
        let picture = image::RgbImage::from_pixel(80, 70, image::Rgb([255, 0, 0]));
        picture.write_to(&mut Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
        let photo = decode(&png, Limits::default()).unwrap();
        // JFIF 1.02: pure red is Y 76, Cb 85, Cr 255 (rounded).
        assert_eq!((photo.width, photo.height, photo.at(5, 5)), (80, 70, [76, 85, 255]));
        let small = decode(&png, Limits { pixels: 100 });
        assert!(matches!(small, Err(PhotoError::TooLarge { .. })));
    }
}
