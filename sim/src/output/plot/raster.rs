//! The same picture as pixels: SVG to PNG, with a font that comes with the program, so that it is the same everywhere.

use crate::error::{Error, Result};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::fontdb::{Database, Source};
use resvg::usvg::{Options, Tree};
use std::sync::Arc;

/// Draws `svg` at its own size and encodes it as PNG.
///
/// # Errors
/// When `svg` is not SVG, or too large for the memory; never for one of [`crate::output::picture::Picture`].
pub fn svg_to_png(svg: &str) -> Result<Vec<u8>> {
    let tree = parse(svg)?;
    let size = tree.size().to_int_size();
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| cannot("too large"))?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(cannot)
}

/// The picture's shapes and letters, in their places.
pub(super) fn parse(svg: &str) -> Result<Tree> {
    let mut fonts = Database::new();
    fonts.load_font_source(Source::Binary(Arc::new(dejavu::sans::regular())));
    fonts.load_font_source(Source::Binary(Arc::new(dejavu::sans::bold())));
    fonts.set_sans_serif_family("DejaVu Sans");
    let options = Options { fontdb: Arc::new(fonts), font_family: String::from("DejaVu Sans"), ..Options::default() };
    Tree::from_str(svg, &options).map_err(cannot)
}

fn cannot(reason: impl std::fmt::Display) -> Error {
    Error::Refused(format!("cannot draw the picture: {reason}"))
}
