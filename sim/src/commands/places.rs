//! Checks of output paths: none may overwrite an input or another output.

use chirrup::error::{Error, Result};
use chirrup::words::shown_path;
use std::path::{Path, PathBuf};

/// Traces and settings as files that must not be overwritten; standard input cannot be.
pub fn what_is_read<'a>(
    traces: impl IntoIterator<Item = &'a Path>,
    settings: impl IntoIterator<Item = &'a String>,
) -> Vec<(&'a str, &'a Path)> {
    let traces =
        traces.into_iter().filter(|path| *path != Path::new("-")).map(|path| ("trace", path));
    traces.chain(settings.into_iter().map(|source| ("settings file", Path::new(source)))).collect()
}

/// The real path of a file, however it is written: that of its folder, and its own if it exists.
pub fn place_of(path: &Path) -> PathBuf {
    if path == Path::new("-") {
        return path.to_owned();
    }
    let in_folder = || {
        let folder =
            path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        Some(folder.canonicalize().ok()?.join(path.file_name()?))
    };
    path.canonicalize().ok().or_else(in_folder).unwrap_or_else(|| path.to_owned())
}

/// Refuses two outputs at one path, and an output over an input in `read`.
pub fn check_places(read: &[(&str, &Path)], written: &[&Path], json: bool) -> Result<()> {
    let mut places: Vec<PathBuf> = written.iter().map(|path| place_of(path)).collect();
    if json && written.contains(&Path::new("-")) {
        return Err(Error::Usage(
            "--json and an output to - both want standard output; give one of them a file".into(),
        ));
    }
    places.sort_unstable();
    for pair in places.windows(2) {
        if pair[0] == pair[1] {
            let place = shown_path(&pair[0]);
            return Err(Error::Usage(format!(
                "two outputs would be written to {place}; give each its own file"
            )));
        }
    }
    for place in places {
        let read = read.iter().find(|(_, path)| place_of(path) == place);
        if let Some((what, _)) = read {
            let place = shown_path(&place);
            return Err(Error::Usage(format!(
                "the output {place} is the {what} itself; give it another name"
            )));
        }
    }
    Ok(())
}
