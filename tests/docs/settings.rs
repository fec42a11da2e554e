//! The table of settings in the book is the one that the rows of the core make.

use super::{read, root};
use chirrup::settings_file::{self, All};
use std::fs;

const BEGIN: &str = "<!-- settings: begin -->\n";
const END: &str = "<!-- settings: end -->";

#[test]
fn the_table_in_the_docs_has_every_setting() {
    let page = root().join("docs/src/settings.md");
    let text = read(&page);
    let from = text.find(BEGIN).expect("the table has a beginning") + BEGIN.len();
    let to = from + text[from..].find(END).expect("the table has an end");
    let table = settings_file::table::<All>();
    if std::env::var_os("CHIRRUP_REWRITE_DOCS").is_some() {
        let anew = format!("{}{table}{}", &text[..from], &text[to..]);
        fs::write(&page, anew).expect("the page can be written");
    } else {
        assert_eq!(&text[from..to], table, "CHIRRUP_REWRITE_DOCS=1 writes it anew");
    }
}
