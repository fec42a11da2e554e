//! The same picture as pixels: SVG to PNG, with a font that comes with the program, so that it is
//! the same everywhere.

use crate::error::{Error, Result};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::fontdb::{Database, Source};
use resvg::usvg::{Options, Tree};
use std::sync::Arc;

/// Draws `svg` at its own size and encodes it as PNG.
///
/// # Errors
/// When `svg` is not SVG, or too large for the memory; never for one of
/// [`crate::output::picture::Picture`].
pub fn svg_to_png(svg: &str) -> Result<Vec<u8>> {
    let tree = parse(svg)?;
    let size = tree.size().to_int_size();
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| cannot("too large"))?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(cannot)
}

/// The picture's shapes and letters, in their places.
pub(in crate::output) fn parse(svg: &str) -> Result<Tree> {
    let mut fonts = Database::new();
    fonts.load_font_source(Source::Binary(Arc::new(dejavu::sans::regular())));
    fonts.load_font_source(Source::Binary(Arc::new(dejavu::sans::bold())));
    fonts.set_sans_serif_family("DejaVu Sans");
    let options = Options {
        fontdb: Arc::new(fonts),
        font_family: String::from("DejaVu Sans"),
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(cannot)
}

fn cannot(reason: impl std::fmt::Display) -> Error {
    Error::Refused(format!("cannot draw the picture: {reason}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_svg_is_refused_in_words() {
        let error = svg_to_png("<svg").unwrap_err();
        assert!(error.to_string().starts_with("cannot draw the picture: "), "{error}");
    }

    #[test]
    fn text_is_drawn_with_the_font_that_comes_with_the_program() {
        let page = |words| {
            format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='90' height='30'><text \
                 y='20'>{words}</text></svg>"
            )
        };
        let (blank, words) =
            (svg_to_png(&page("")).unwrap(), svg_to_png(&page("-3.4 m/s")).unwrap());
        let coloured = |png: &[u8]| {
            Pixmap::decode_png(png).unwrap().pixels().iter().filter(|p| p.alpha() > 0).count()
        };
        assert_eq!(coloured(&blank), 0);
        assert!(coloured(&words) > 100);
    }
}
