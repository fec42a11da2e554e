//! The tables of the page `centring` of the book are what the code gives.

use std::fs;
use std::path::Path;

/// Compares the table between two marks of the page with the one made now, or writes it with
/// `CHIRRUP_REWRITE_DOCS=1`.
pub fn hold(mark: &str, made: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/centring.md");
    let mut text = fs::read_to_string(&file).expect("the page is there");
    let (begin, end) = (format!("<!-- {mark}: begin -->\n"), format!("<!-- {mark}: end -->"));
    let from = text.find(&begin).expect("the mark is there") + begin.len();
    let to = text.find(&end).expect("the mark is there");
    if std::env::var_os("CHIRRUP_REWRITE_DOCS").is_some_and(|value| value == "1") {
        text.replace_range(from..to, made);
        fs::write(&file, text).expect("the page can be written");
    } else {
        assert_eq!(&text[from..to], made, "CHIRRUP_REWRITE_DOCS=1 writes it anew");
    }
}
