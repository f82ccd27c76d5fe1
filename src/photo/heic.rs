//! HEIC, what an iPhone hands over: an HEVC-coded picture, or a grid of such tiles, in a HEIF file
//! (ISO/IEC 23008-12; HEVC is ITU-T H.265).
//!
//! The usual coding (8 bits, full range, BT.601, chroma halved both ways) is what [`super::Photo`] keeps, so its
//! planes are taken as they are; each chroma sample is that of its four pixels, as libheif 1.23 has it. Every other
//! coding goes the long way through RGB.

use super::decode::{Limits, PhotoError, check, ycc_from_rgb};
use super::orient;
use heifer::heifer_hevc_dec::decoder::{DecodeOptions, decode_picture};
use heifer::heifer_hevc_dec::recon::Frame;
use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{self as container, HeifFile, ItemId};
use rayon::prelude::*;

/// Brands of files whose picture is, or may be, coded by HEVC (ISO/IEC 23008-12, annex B).
const BRANDS: [&[u8]; 9] = [b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"hevm", b"mif1", b"msf1"];
/// Tiles of a grid at most: an iPhone's 48 megapixels are 192.
const TILES_MOST: usize = 4096;

/// A decoded picture.
pub(super) struct Heic {
    pub width: usize,
    pub height: usize,
    pub ycc: Vec<[u8; 3]>,
    /// True when the file's own turns (`irot`, `imir`) have been carried out; EXIF tells the same turn again.
    pub turned: bool,
}

/// True for an ISO base media file whose brand is one of the HEIF family's.
pub(super) fn is_heic(bytes: &[u8]) -> bool {
    bytes.len() >= 12 && &bytes[4..8] == b"ftyp" && BRANDS.contains(&&bytes[8..12])
}

/// Decodes the file's primary picture and turns it as the file says.
pub(super) fn decode(bytes: &[u8], limits: Limits) -> Result<Heic, PhotoError> {
    let file = HeifFile::parse(bytes).map_err(damaged)?;
    let id = file.primary_id;
    // What the file claims is judged before its pixels are asked for.
    if let Some((width, height)) = file.image_size(id).map_err(damaged)? {
        check(width as usize, height as usize, limits)?;
    }
    let turns: Vec<u32> = file.item_properties(id).map_err(damaged)?.filter_map(orientation).collect();
    let turned = !turns.is_empty();
    if let Some(planes) = Planes::of(&file, limits)? {
        let (width, height) = (planes.width, planes.height);
        let start = (width, height, planes.full());
        drop(planes);
        let (width, height, ycc) =
            turns.into_iter().fold(start, |(w, h, ycc), turn| orient::upright(w, h, ycc, turn));
        return Ok(Heic { width, height, ycc, turned });
    }
    let options = heifer::Options { max_pixels: limits.pixels, ..heifer::Options::default() };
    let picture = heifer::decode_rgba8(bytes, &options).map_err(|e| match e {
        heifer::Error::Unsupported(_) => PhotoError::Heic(said(&e)),
        _ => damaged(e),
    })?;
    let (width, height) = (picture.width as usize, picture.height as usize);
    check(width, height, limits)?;
    let ycc = picture.data.as_chunks::<4>().0.par_iter().map(|p| ycc_from_rgb([p[0], p[1], p[2]])).collect();
    Ok(Heic { width, height, ycc, turned })
}

fn said(error: &impl ToString) -> String {
    error.to_string().chars().take(80).collect()
}

#[expect(clippy::needless_pass_by_value, reason = "stands in map_err")]
fn damaged(error: impl ToString) -> PhotoError {
    PhotoError::Damaged(said(&error))
}

/// A property's turn as an EXIF orientation: `irot` turns anticlockwise, `imir` swaps sides.
fn orientation(property: &Property) -> Option<u32> {
    match property {
        Property::Rotation(quarters) => Some([1, 8, 3, 6][usize::from(quarters % 4)]),
        Property::Mirror(top_and_bottom) => Some(if *top_and_bottom { 4 } else { 2 }),
        _ => None,
    }
}

/// Luma at full size and both chromas at half size.
struct Planes {
    width: usize,
    height: usize,
    luma: Vec<u8>,
    /// Width of the chroma planes.
    half: usize,
    chroma: [Vec<u8>; 2],
}

impl Planes {
    /// The planes of the primary picture; `None` when it is not coded the usual way.
    fn of(file: &HeifFile<'_>, limits: Limits) -> Result<Option<Self>, PhotoError> {
        let id = file.primary_id;
        let cropped = |p: &Property| matches!(p, Property::CleanAperture { .. });
        if file.item_properties(id).map_err(damaged)?.any(cropped) {
            return Ok(None);
        }
        let (tiles, columns, size) = match &file.item(id).map_err(damaged)?.item_type.0 {
            b"hvc1" => (vec![id], 1, file.image_size(id).map_err(damaged)?),
            b"grid" => {
                let grid = file.grid(id).map_err(damaged)?;
                let tiles = file.referenced_items(id, b"dimg").to_vec();
                if tiles.len() != usize::from(grid.rows) * usize::from(grid.columns)
                    || tiles.len() > TILES_MOST
                {
                    return Err(damaged("its tiles are not as many as it claims"));
                }
                (tiles, usize::from(grid.columns), Some((grid.output_width, grid.output_height)))
            }
            _ => return Ok(None),
        };
        let frames = |ids: &[ItemId]| -> Result<Vec<Option<Frame>>, PhotoError> {
            ids.par_iter().map(|&tile| frame(file, tile, limits)).collect()
        };
        let Some(&first) = tiles.first() else { return Ok(None) };
        let Some(Some(first)) = frames(&[first])?.pop() else { return Ok(None) };
        let (tile_width, tile_height) = (first.widths[0] as usize, first.heights[0] as usize);
        let (width, height) = size.map_or((tile_width, tile_height), |(w, h)| (w as usize, h as usize));
        check(width, height, limits)?;
        let rows = tiles.len() / columns;
        let even = tiles.len() == 1 || (tile_width % 2 == 0 && tile_height % 2 == 0);
        if !even || tile_width * columns < width || tile_height * rows < height {
            return Ok(None);
        }
        let half = width.div_ceil(2);
        let low = height.div_ceil(2);
        let mut out = Self {
            width,
            height,
            luma: vec![0; width * height],
            half,
            chroma: [vec![0; half * low], vec![0; half * low]],
        };
        out.lay(&first, 0, 0);
        // A row of tiles at a time, so that few frames of two bytes a sample are alive at once.
        for (row, ids) in tiles.chunks(columns).enumerate() {
            let skip = usize::from(row == 0);
            for (column, frame) in frames(&ids[skip..])?.into_iter().enumerate() {
                let Some(frame) = frame else { return Ok(None) };
                if (frame.widths[0] as usize, frame.heights[0] as usize) != (tile_width, tile_height) {
                    return Ok(None);
                }
                out.lay(&frame, (column + skip) * tile_width, row * tile_height);
            }
        }
        Ok(Some(out))
    }

    /// Copies a tile to its place, what reaches beyond the picture left out.
    fn lay(&mut self, frame: &Frame, x0: usize, y0: usize) {
        let width = self.width;
        paste(&mut self.luma, width, &frame.planes[0], frame.widths[0] as usize, (x0, y0));
        for k in 0..2 {
            let stride = frame.widths[k + 1] as usize;
            paste(&mut self.chroma[k], self.half, &frame.planes[k + 1], stride, (x0 / 2, y0 / 2));
        }
    }

    /// Every pixel with the chroma of its four.
    fn full(&self) -> Vec<[u8; 3]> {
        let mut out = vec![[0u8; 3]; self.width * self.height];
        out.par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            let [blue, red] = [0, 1].map(|k| &self.chroma[k][y / 2 * self.half..][..self.half]);
            let luma = &self.luma[y * self.width..][..self.width];
            for (x, (pixel, luma)) in row.iter_mut().zip(luma).enumerate() {
                *pixel = [*luma, blue[x / 2], red[x / 2]];
            }
        });
        out
    }
}

/// Copies samples of 8 bits, kept as 16, into a plane of bytes.
fn paste(plane: &mut [u8], width: usize, from: &[u16], stride: usize, (x0, y0): (usize, usize)) {
    if x0 >= width || stride == 0 {
        return;
    }
    for (row, source) in plane.chunks_exact_mut(width).skip(y0).zip(from.chunks_exact(stride)) {
        for (to, v) in row[x0..].iter_mut().zip(source) {
            *to = u8::try_from(*v).unwrap_or(u8::MAX);
        }
    }
}

/// One coded picture; `None` when it is not coded the usual way.
fn frame(file: &HeifFile<'_>, id: ItemId, limits: Limits) -> Result<Option<Frame>, PhotoError> {
    if &file.item(id).map_err(damaged)?.item_type.0 != b"hvc1" {
        return Ok(None);
    }
    let options = DecodeOptions { max_pixels: limits.pixels, ..DecodeOptions::default() };
    let frame = decode_picture(&file.hevc_bitstream(id).map_err(damaged)?, options).map_err(damaged)?;
    let told = coding(file, id).map_err(damaged)?;
    let (matrix, full_range) = told.unwrap_or((u16::from(frame.matrix_coeffs), frame.full_range));
    // ITU-T H.273: 5 and 6 are BT.601, 2 leaves it open.
    let usual =
        frame.bit_depth == [8, 8] && frame.chroma_format == 1 && full_range && matches!(matrix, 2 | 5 | 6);
    Ok(usual.then_some(frame))
}

/// Matrix and range as the file's properties tell them.
fn coding(file: &HeifFile<'_>, id: ItemId) -> Result<Option<(u16, bool)>, container::Error> {
    Ok(file.item_properties(id)?.find_map(|p| match p {
        Property::Color(ColorInfo::Nclx { matrix, full_range, .. }) => Some((*matrix, *full_range)),
        _ => None,
    }))
}
