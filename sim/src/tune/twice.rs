//! The same recording given twice counts once: it would weigh double, and be held out against
//! itself.

use crate::error::{Error, Result};
use crate::input::Input;
use crate::words::shown_path;
use std::fs::{self, File};
use std::io::{BufReader, Read};

/// The inputs without those whose bytes are those of one before, and a note for each that is left
/// out.
///
/// # Errors
/// A file that cannot be read.
pub fn once_each(inputs: &[Input]) -> Result<(Vec<&Input>, Vec<String>)> {
    let (mut kept, mut notes): (Vec<&Input>, Vec<String>) = (Vec::new(), Vec::new());
    for input in inputs {
        let mut same = None;
        for other in &kept {
            if are_the_same(input, other)? {
                same = Some(other.name());
            }
        }
        match same {
            Some(other) => notes.push(format!("{} is {other} again; it counts once", input.name())),
            None => kept.push(input),
        }
    }
    Ok((kept, notes))
}

fn are_the_same(a: &Input, b: &Input) -> Result<bool> {
    let (Input::File(a), Input::File(b)) = (a, b) else { return Ok(false) };
    let failed = |path: &std::path::Path| {
        let name = shown_path(path);
        move |source| Error::io("cannot read", &name, source)
    };
    let length = |path: &std::path::Path| fs::metadata(path).map(|found| found.len());
    if length(a).map_err(failed(a))? != length(b).map_err(failed(b))? {
        return Ok(false);
    }
    let open = |path: &std::path::Path| File::open(path).map(BufReader::new).map_err(failed(path));
    let (mut one, mut other) = (open(a)?, open(b)?);
    let (mut part, mut other_part) = (vec![0; 1 << 16], vec![0; 1 << 16]);
    loop {
        let count = one.read(&mut part).map_err(failed(a))?;
        if count == 0 {
            return Ok(true);
        }
        other.read_exact(&mut other_part[..count]).map_err(failed(b))?;
        if part[..count] != other_part[..count] {
            return Ok(false);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_the_same_bytes_counts_once() {
        let folder = tempfile::tempdir().expect("there is a folder for temporary files");
        let input = |name: &str, text: &str| {
            let path = folder.path().join(name);
            fs::write(&path, text).expect("it can be written");
            Input::File(path)
        };
        let inputs = [input("a", "one"), input("b", "two"), input("c", "one"), input("d", "three")];
        let (kept, notes) = once_each(&inputs).expect("they can be read");
        assert_eq!(kept.len(), 3);
        assert_eq!(notes.len(), 1);
        assert!(notes[0].ends_with("a again; it counts once"), "{notes:?}");
    }
}
