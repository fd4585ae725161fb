//! Pictures as files.

use png::{BitDepth, BlendOp, ColorType, Compression, Encoder, EncodingError, Writer};

/// A picture to be written.
pub(super) struct Image {
    pub(super) width: u32,
    pub(super) height: u32,
    /// Red, green, blue and how much it covers of each pixel, row by row from the top.
    pub(super) rgba: Vec<u8>,
}

/// A picture as a PNG file, without the fourth channel where nothing shines through.
pub(super) fn png(image: &Image) -> Result<Vec<u8>, EncodingError> {
    let Image { width, height, rgba } = image;
    let is_solid = rgba.chunks_exact(4).all(|pixel| pixel[3] == u8::MAX);
    let mut file = Vec::new();
    if is_solid {
        let rgb: Vec<u8> = rgba.chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
        write(encoder(&mut file, [*width, *height], ColorType::Rgb), &rgb)?;
    } else {
        write(encoder(&mut file, [*width, *height], ColorType::Rgba), rgba)?;
    }
    Ok(file)
}

fn write(encoder: Encoder<'_, &mut Vec<u8>>, pixels: &[u8]) -> Result<(), EncodingError> {
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()
}

fn encoder(file: &mut Vec<u8>, [width, height]: [u32; 2], color: ColorType) -> Encoder<'static, &mut Vec<u8>> {
    let mut encoder = Encoder::new(file, width, height);
    encoder.set_color(color);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Balanced);
    encoder
}

/// An animated PNG under way: pictures of one size that go round without an end.
pub(super) struct Animation<'a>(Writer<&'a mut Vec<u8>>);

impl<'a> Animation<'a> {
    /// So many pictures are to come; each is shown for so many milliseconds.
    pub(super) fn new(
        file: &'a mut Vec<u8>,
        size: [u32; 2],
        count: u32,
        milliseconds: u32,
    ) -> Result<Animation<'a>, EncodingError> {
        let mut encoder = encoder(file, size, ColorType::Rgba);
        encoder.set_animated(count, 0)?;
        encoder.set_frame_delay(u16::try_from(milliseconds).unwrap_or(u16::MAX), 1000)?;
        encoder.set_blend_op(BlendOp::Source)?;
        Ok(Animation(encoder.write_header()?))
    }

    /// The next picture.
    pub(super) fn add(&mut self, image: &Image) -> Result<(), EncodingError> {
        self.0.write_image_data(&image.rgba)
    }

    /// The end of the file, once all pictures are in.
    pub(super) fn finish(self) -> Result<(), EncodingError> {
        self.0.finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(file: &[u8]) -> (png::OutputInfo, Vec<u8>, u32) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().unwrap();
        let frames = reader.info().animation_control.map_or(1, |control| control.num_frames);
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        for _ in 1..frames {
            reader.next_frame(&mut pixels).unwrap();
        }
        (info, pixels, frames)
    }

    fn image(alpha: u8) -> Image {
        Image { width: 2, height: 1, rgba: vec![1, 2, 3, 255, 4, 5, 6, alpha] }
    }

    #[test]
    fn a_picture_without_holes_takes_three_channels() {
        let (info, pixels, _) = decoded(&png(&image(255)).unwrap());
        assert_eq!((info.color_type, pixels), (ColorType::Rgb, vec![1, 2, 3, 4, 5, 6]));
        let (info, pixels, _) = decoded(&png(&image(9)).unwrap());
        assert_eq!((info.color_type, pixels), (ColorType::Rgba, image(9).rgba));
    }

    #[test]
    fn an_animation_holds_its_pictures() {
        let mut file = Vec::new();
        let mut animation = Animation::new(&mut file, [2, 1], 3, 40).unwrap();
        (0..3).for_each(|alpha| animation.add(&image(alpha)).unwrap());
        animation.finish().unwrap();
        let (_, last, frames) = decoded(&file);
        assert_eq!((frames, last), (3, image(2).rgba));
    }
}
