//! The link from a page to a file beside it: right for every name, and never anything but a file.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_encode};
use std::path::{Component, Path, PathBuf, absolute};

/// A link and what it is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Relative, with everything escaped that a link reads as more than a name.
    pub href: String,
    /// The file's own name.
    pub name: String,
}

/// What may stand in a link as it is.
const KEPT: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.').remove(b'~');

/// The link from `page`, a file or `-` for standard output in the present folder, to `file`. `None`
/// where there is no way from one to the other, as between two drives.
pub fn link(page: &Path, file: &Path) -> Option<Link> {
    let (page, file) = (real(page)?, real(file)?);
    let way = pathdiff::diff_paths(&file, page.parent()?)?;
    let mut parts = Vec::new();
    for part in way.components() {
        match part {
            Component::Normal(name) => {
                parts.push(percent_encode(name.as_encoded_bytes(), KEPT).to_string());
            }
            Component::ParentDir => parts.push("..".into()),
            Component::CurDir => {}
            Component::RootDir | Component::Prefix(_) => return None,
        }
    }
    // A first part with a colon would be a scheme, were it not for the folder before it.
    let href = format!("./{}", parts.join("/"));
    let name = file.file_name()?.to_string_lossy().into_owned();
    Some(Link { href, name })
}

/// The file in its real folder: a browser takes `..` by the letter and knows no symbolic link.
fn real(file: &Path) -> Option<PathBuf> {
    let file = absolute(file).ok()?;
    let folder = file.parent()?;
    Some(folder.canonicalize().unwrap_or_else(|_| folder.to_owned()).join(file.file_name()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn href(page: &str, file: &str) -> String {
        link(Path::new(page), Path::new(file)).unwrap().href
    }

    #[test]
    fn a_name_is_a_name_whatever_is_in_it() {
        assert_eq!(href("/a/page.html", "/a/flight.wav"), "./flight.wav");
        assert_eq!(href("/a/page.html", "/a/b/50 % #1?.wav"), "./b/50%20%25%20%231%3F.wav");
        assert_eq!(href("/a/page.html", "/c/d.wav"), "./../c/d.wav");
        assert_eq!(href("/a/page.html", "/a/javascript:alert(1)"), "./javascript%3Aalert%281%29");
        assert_eq!(href("/a/page.html", "/a/\"><script>"), "./%22%3E%3Cscript%3E");
        assert_eq!(href("-", "ü.wav"), "./%C3%BC.wav");
    }
}
