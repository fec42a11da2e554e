//! What the tests of pictures look at.

use super::raster::parse;
use resvg::tiny_skia::Rect;
use resvg::usvg::roxmltree::Document;
use resvg::usvg::{Group, Node};

/// The words on the page and the boxes they fill.
pub(crate) fn texts(svg: &str) -> Vec<(String, Rect)> {
    fn collect(group: &Group, found: &mut Vec<(String, Rect)>) {
        for node in group.children() {
            match node {
                Node::Group(group) => collect(group, found),
                Node::Text(text) => {
                    let words = text.chunks().iter().map(|chunk| chunk.text()).collect();
                    found.push((words, text.abs_bounding_box()));
                }
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    collect(parse(svg).unwrap().root(), &mut found);
    found
}

/// Fails unless `svg` is well formed, with lines and text for a projector, the words within the
/// page and apart.
pub(crate) fn assert_readable(name: &str, svg: &str) {
    assert_readable_within(800.0, name, svg);
}

/// The same for a page of another height.
pub(crate) fn assert_readable_within(height: f32, name: &str, svg: &str) {
    let document = Document::parse(svg).unwrap_or_else(|error| panic!("{name}: {error}"));
    for node in document.descendants().filter(|node| node.has_tag_name("text")) {
        let size: f32 = node.attribute("font-size").unwrap().parse().unwrap();
        assert!(size >= 14.0, "{name}: {size} px in {:?}", node.text());
    }
    for width in document.descendants().filter_map(|node| node.attribute("stroke-width")) {
        assert!(width.parse::<f32>().unwrap() >= 1.5, "{name}: a line of {width} px");
    }
    let texts = texts(svg);
    assert!(texts.len() > 10, "{name}: {} texts", texts.len());
    for (place, (words, area)) in texts.iter().enumerate() {
        let inside = area.left() >= 0.0
            && area.right() <= 1200.0
            && area.top() >= 0.0
            && area.bottom() <= height;
        assert!(inside, "{name}: {words:?} at {area:?}");
        for (other, other_area) in &texts[place + 1..] {
            // Boxes of text hold room for accents and tails; a line may reach 3 px into that of the
            // next.
            let across = area.right().min(other_area.right()) - area.left().max(other_area.left());
            let down = area.bottom().min(other_area.bottom()) - area.top().max(other_area.top());
            assert!(
                across <= 0.0 || down <= 3.0,
                "{name}: {words:?} and {other:?} overlap by {across}, {down}"
            );
        }
    }
}
