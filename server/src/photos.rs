//! Pictures of knives: read with limits, turned upright, made smaller, and encoded anew.
//!
//! Only the pixels survive. Whatever else was in the file (where it was taken, by whom, with what) is gone, and so is
//! anything that only pretended to be a picture. Where they are kept is [`crate::album`].

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder as _, ImageFormat, ImageReader, Limits};

/// The most bytes one picture may come with.
pub const MOST_BYTES: usize = 12 * 1024 * 1024;
/// The most pixels along one side that we read.
const MOST_SIDE: u32 = 12_000;
/// The most pixels in all that we read: 60 megapixels take 240 MB for a moment.
const MOST_PIXELS: u64 = 60_000_000;
/// The longer side of what we keep: a chip of 0.3 mm on a blade that fills the picture is still two pixels wide.
const KEPT_SIDE: u32 = 1600;
/// Quality of what we keep; below 80 fine scratches turn into smears.
const JPEG_QUALITY: u8 = 82;

/// Why a file was not taken, in words for whoever sent it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Too many bytes.
    #[error("This picture is larger than 12 MB; please send a smaller one.")]
    TooLarge,
    /// Too many pixels.
    #[error("This picture has more than 60 megapixels; please send a smaller one.")]
    TooManyPixels,
    /// Not a picture that we can read.
    #[error("This is not a picture we can read; please send a JPEG, PNG or WebP file.")]
    NotAPicture,
}

/// A picture as we keep it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// JPEG bytes without any metadata.
    pub jpeg: Vec<u8>,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
}

/// Reads a picture and encodes it anew. Takes up to a second of one core for the largest: run it on a blocking thread.
pub fn encode_anew(bytes: &[u8]) -> Result<Kept, PhotoError> {
    if bytes.len() > MOST_BYTES {
        return Err(PhotoError::TooLarge);
    }
    let mut reader =
        ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|_| PhotoError::NotAPicture)?;
    // What the file says it is decides, not its name, and only three kinds are read at all.
    if !matches!(reader.format(), Some(ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)) {
        return Err(PhotoError::NotAPicture);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE);
    limits.max_image_height = Some(MOST_SIDE);
    limits.max_alloc = Some(MOST_PIXELS * 8);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(refused)?;
    let (width, height) = decoder.dimensions();
    if width == 0 || height == 0 {
        return Err(PhotoError::NotAPicture);
    }
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(PhotoError::TooManyPixels);
    }
    // A phone held upright writes a lying picture and a note to turn it; the note goes, so the picture is turned.
    let upright = decoder.orientation().ok();
    let mut picture = DynamicImage::from_decoder(decoder).map_err(refused)?;
    if picture.width().max(picture.height()) > KEPT_SIDE {
        picture = picture.resize(KEPT_SIDE, KEPT_SIDE, FilterType::Triangle);
    }
    if let Some(upright) = upright {
        picture.apply_orientation(upright);
    }
    let pixels = on_white(&picture);
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, JPEG_QUALITY)
        .encode_image(&pixels)
        .map_err(|_| PhotoError::NotAPicture)?;
    Ok(Kept { jpeg, width: pixels.width(), height: pixels.height() })
}

fn refused(error: image::ImageError) -> PhotoError {
    match error {
        image::ImageError::Limits(_) => PhotoError::TooManyPixels,
        _ => PhotoError::NotAPicture,
    }
}

/// JPEG knows no transparency; what shines through becomes white.
fn on_white(picture: &DynamicImage) -> image::RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let rgba = picture.to_rgba8();
    image::RgbImage::from_fn(rgba.width(), rgba.height(), |x, y| {
        let [r, g, b, a] = rgba.get_pixel(x, y).0;
        let mix = |c: u8| ((u32::from(c) * u32::from(a) + 255 * (255 - u32::from(a)) + 127) / 255) as u8;
        image::Rgb([mix(r), mix(g), mix(b)])
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{Rgb, RgbImage};

    fn jpeg(width: u32, height: u32) -> Vec<u8> {
        let picture = RgbImage::from_fn(width, height, |x, _| {
            if x < width / 2 { Rgb([220, 30, 30]) } else { Rgb([30, 30, 220]) }
        });
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&picture).unwrap();
        bytes
    }

    /// Puts an Exif segment (TIFF, big endian) with orientation 6 and a maker's word right after the start of image.
    fn with_exif(jpeg: &[u8]) -> Vec<u8> {
        let mut tiff = b"MM\0*\0\0\0\x08".to_vec();
        tiff.extend([0, 2]);
        tiff.extend([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0]);
        tiff.extend([0x01, 0x0F, 0, 2, 0, 0, 0, 12, 0, 0, 0, 38]);
        tiff.extend([0, 0, 0, 0]);
        tiff.extend(b"SecretPlace\0");
        let mut segment = b"Exif\0\0".to_vec();
        segment.extend(tiff);
        let length = u16::try_from(segment.len() + 2).unwrap().to_be_bytes();
        let mut out = jpeg[..2].to_vec();
        out.extend([0xFF, 0xE1]);
        out.extend(length);
        out.extend(segment);
        out.extend(&jpeg[2..]);
        out
    }

    #[test]
    fn a_picture_loses_its_metadata_and_stands_upright() {
        let sent = with_exif(&jpeg(40, 20));
        assert!(sent.windows(11).any(|w| w == b"SecretPlace"));
        let kept = encode_anew(&sent).unwrap();
        assert!(!kept.jpeg.windows(11).any(|w| w == b"SecretPlace"));
        assert!(!kept.jpeg.windows(4).any(|w| w == b"Exif"));
        // Orientation 6: the left of the file is the top of the scene.
        assert_eq!((kept.width, kept.height), (20, 40));
        let back = image::load_from_memory(&kept.jpeg).unwrap().to_rgb8();
        assert!(back.get_pixel(10, 5).0[0] > 150 && back.get_pixel(10, 35).0[2] > 150);
    }

    #[test]
    fn a_large_picture_becomes_smaller_and_a_small_one_stays() {
        let kept = encode_anew(&jpeg(2400, 600)).unwrap();
        assert_eq!((kept.width, kept.height), (1600, 400));
        let kept = encode_anew(&jpeg(64, 32)).unwrap();
        assert_eq!((kept.width, kept.height), (64, 32));
    }

    #[test]
    fn what_shines_through_becomes_white() {
        let mut png = Vec::new();
        image::RgbaImage::from_pixel(8, 8, image::Rgba([0, 0, 0, 0]))
            .write_to(&mut Cursor::new(&mut png), ImageFormat::Png)
            .unwrap();
        let kept = encode_anew(&png).unwrap();
        let back = image::load_from_memory(&kept.jpeg).unwrap().to_rgb8();
        assert!(back.get_pixel(4, 4).0.iter().all(|c| *c > 250));
    }

    #[test]
    fn nothing_else_is_taken() {
        let whole = jpeg(40, 20);
        for bad in
            [&b""[..], b"GIF89a\x01\0\x01\0", b"<svg xmlns='http://www.w3.org/2000/svg'/>", &whole[..40]]
        {
            assert_eq!(encode_anew(bad), Err(PhotoError::NotAPicture));
        }
        assert_eq!(encode_anew(&vec![0; MOST_BYTES + 1]), Err(PhotoError::TooLarge));
    }

    #[test]
    fn a_small_file_that_unfolds_into_a_huge_picture_is_refused_before_it_does() {
        // The head of a PNG of 50,000 by 50,000 pixels; its check sum is right.
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\xC3\x50\0\0\xC3\x50\x08\x02\0\0\0".to_vec();
        png.extend(crc(&png[12..29]).to_be_bytes());
        png.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
        assert_eq!(encode_anew(&png), Err(PhotoError::TooManyPixels));
    }

    /// CRC-32 as PNG uses it (ISO 3309), bit by bit.
    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0u32, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
                if crc & 1 == 1 { (crc >> 1) ^ 0xEDB8_8320 } else { crc >> 1 }
            })
        })
    }
}
