//! Named places in a WAV file, which players and editors show: the chunks `cue ` and `LIST adtl` of
//! "Multimedia Programming Interface and Data Specifications 1.0" (IBM and Microsoft, 1991; from
//! memory), after the samples.

use std::io::{self, Seek, SeekFrom, Write};

/// Where the size of the whole file stands.
const SIZE_AT: u64 = 4;
/// The file's beginning, which that size does not count: `RIFF` and the size itself.
const UNCOUNTED: u64 = 8;

/// A named place.
pub(super) struct Mark {
    /// How many frames come before it.
    pub frame: u32,
    /// What it is called.
    pub name: String,
}

/// Appends the marks to a complete WAV file; without any the file stays as it is.
pub(super) fn append(file: &mut (impl Write + Seek), marks: &[Mark]) -> io::Result<()> {
    if marks.is_empty() {
        return Ok(());
    }
    let end = file.seek(SeekFrom::End(0))?;
    let chunks = [places(marks), names(marks)].concat();
    file.write_all(&chunks)?;
    let size = u32::try_from(end + chunks.len() as u64 - UNCOUNTED)
        .map_err(|_| io::Error::from(io::ErrorKind::FileTooLarge))?;
    file.seek(SeekFrom::Start(SIZE_AT))?;
    file.write_all(&size.to_le_bytes())?;
    file.flush()
}

/// `cue `: how many there are; for each its number, its place in the order of playing, the chunk
/// that it lies in, two offsets of that chunk, and the frame.
fn places(marks: &[Mark]) -> Vec<u8> {
    let mut content = (marks.len() as u32).to_le_bytes().to_vec();
    for (number, mark) in (1_u32..).zip(marks) {
        content.extend(number.to_le_bytes());
        content.extend(mark.frame.to_le_bytes());
        content.extend(b"data");
        content.extend([0; 8]);
        content.extend(mark.frame.to_le_bytes());
    }
    chunk(b"cue ", &content)
}

/// `LIST adtl`: a `labl` for each, its number and its name, which ends with a zero.
fn names(marks: &[Mark]) -> Vec<u8> {
    let mut content = b"adtl".to_vec();
    for (number, mark) in (1_u32..).zip(marks) {
        let label = [&number.to_le_bytes(), mark.name.as_bytes(), &[0]].concat();
        content.extend(chunk(b"labl", &label));
    }
    chunk(b"LIST", &content)
}

/// A chunk, of an even number of bytes.
fn chunk(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let size = (content.len() as u32).to_le_bytes();
    let fill = vec![0; content.len() % 2];
    [name, &size[..], content, &fill].concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Cursor;

    #[test]
    fn sizes_are_even_and_the_whole_is_counted() {
        let mut file = Cursor::new(b"RIFF\x04\0\0\0WAVE".to_vec());
        let marks = [
            Mark { frame: 0, name: "question 1".into() },
            Mark { frame: 96_000, name: "question 10".into() },
        ];
        append(&mut file, &marks).unwrap();
        let bytes = file.into_inner();
        let whole = u32::from_le_bytes(bytes[4..8].try_into().unwrap());
        assert_eq!(whole as usize, bytes.len() - 8);
        assert_eq!(bytes.len() % 2, 0);
        assert_eq!(&bytes[12..16], b"cue ");
        assert_eq!(u32::from_le_bytes(bytes[16..20].try_into().unwrap()), 4 + 2 * 24);
    }

    #[test]
    fn without_marks_nothing_is_changed() {
        let mut file = Cursor::new(b"RIFF".to_vec());
        append(&mut file, &[]).unwrap();
        assert_eq!(file.into_inner(), b"RIFF");
    }
}
