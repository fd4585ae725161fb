//! A picture held against its reference: the one routine for it.
//!
//! `DRYTURN_BLESS=1` writes the references anew; look at them first. Where a picture differs, three panels are left in the
//! build folder: expected, what differs, actual.

use std::fs;
use std::path::{Path, PathBuf};

use tiny_skia::{Pixmap, PixmapPaint, PremultipliedColorU8, Transform};

/// A channel may be off by this much: drivers round differently.
const CHANNEL: u8 = 4;
/// So many pixels of a thousand may be off by more: edges that fall on the other side of a sample.
const PIXELS: usize = 2;

/// Fails unless a picture is like its reference.
#[track_caller]
pub(crate) fn assert_like(reference: &Path, picture: &[u8]) {
    if std::env::var_os("DRYTURN_BLESS").is_some() {
        fs::create_dir_all(reference.parent().unwrap()).unwrap();
        return fs::write(reference, picture).unwrap();
    }
    let name = reference.file_stem().unwrap().to_string_lossy().into_owned();
    let expected = fs::read(reference).unwrap_or_else(|error| panic!("{}: {error}", reference.display()));
    let [expected, actual] = [&expected[..], picture].map(|file| Pixmap::decode_png(file).unwrap());
    let size = |picture: &Pixmap| (picture.width(), picture.height());
    assert_eq!(size(&expected), size(&actual), "{name}");
    let off: Vec<bool> = expected.pixels().iter().zip(actual.pixels()).map(|(a, b)| is_off(*a, *b)).collect();
    let failed = off.iter().filter(|off| **off).count();
    if failed * 1000 > off.len() * PIXELS {
        let left = panels(&name, &expected, &actual, &off);
        panic!("{name}: {failed} of {} pixels are off; look at {}", off.len(), left.display());
    }
}

fn is_off(a: PremultipliedColorU8, b: PremultipliedColorU8) -> bool {
    let channels = |pixel: PremultipliedColorU8| [pixel.red(), pixel.green(), pixel.blue(), pixel.alpha()];
    channels(a).iter().zip(channels(b)).any(|(a, b)| a.abs_diff(b) > CHANNEL)
}

/// Writes expected, what differs and actual beside each other.
fn panels(name: &str, expected: &Pixmap, actual: &Pixmap, off: &[bool]) -> PathBuf {
    let (width, height) = (expected.width(), expected.height());
    let mut differing = Pixmap::new(width, height).unwrap();
    for (pixel, off) in differing.pixels_mut().iter_mut().zip(off) {
        let shade = if *off { 0 } else { 255 };
        *pixel = PremultipliedColorU8::from_rgba(shade, shade, shade, 255).unwrap();
    }
    let mut all = Pixmap::new(3 * width, height).unwrap();
    for (place, panel) in [expected, &differing, actual].into_iter().enumerate() {
        let left = place as i32 * width as i32;
        all.draw_pixmap(left, 0, panel.as_ref(), &PixmapPaint::default(), Transform::identity(), None);
    }
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.panels.png"));
    all.save_png(&path).unwrap();
    path
}

/// A picture of one shade with a stroke of another.
fn striped(shade: u8, stripe: u8, width: u32) -> Vec<u8> {
    let mut picture = Pixmap::new(100, 100).unwrap();
    for (index, pixel) in picture.pixels_mut().iter_mut().enumerate() {
        let shade = if index as u32 % 100 < width { stripe } else { shade };
        *pixel = PremultipliedColorU8::from_rgba(shade, shade, shade, 255).unwrap();
    }
    picture.encode_png().unwrap()
}

#[test]
fn a_picture_that_differs_fails_and_one_that_is_rounded_otherwise_does_not() {
    if std::env::var_os("DRYTURN_BLESS").is_some() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let reference = folder.path().join("striped.png");
    fs::write(&reference, striped(200, 50, 10)).unwrap();
    assert_like(&reference, &striped(200, 50, 10));
    assert_like(&reference, &striped(203, 52, 10));
    let fails = |picture: Vec<u8>| std::panic::catch_unwind(|| assert_like(&reference, &picture)).is_err();
    assert!(fails(striped(205, 50, 10)) && fails(striped(200, 50, 11)));
    let panels = Pixmap::load_png(Path::new(env!("CARGO_TARGET_TMPDIR")).join("striped.panels.png")).unwrap();
    assert_eq!((panels.width(), panels.height()), (300, 100));
}
