//! The sound as a WAV file: 16-bit samples, one channel, or two where two instruments are compared.

use super::Output;
use super::place::{Placed, Sealed};
use super::sizes::Sizes;
use super::wav_marks::{self, Mark};
use crate::error::{Error, Result};
use crate::render::Renderer;
use crate::replay::{Listening, Row, Stretch};
use crate::words::shown_path;
use hound::{SampleFormat, WavSpec, WavWriter};
use std::cell::RefCell;
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

/// A WAV file counts its bytes in 32 bits; the header takes some of them.
const MOST_BYTES: u64 = u32::MAX as u64 - 1024;

/// A WAV file in the making, sample by sample.
pub struct WavFile {
    path: PathBuf,
    writer: WavWriter<Shared>,
    file: Shared,
    bytes: u64,
    sample_rate_hz: u32,
    channels: u16,
    marks: Vec<Mark>,
}

impl WavFile {
    /// Begins the file.
    ///
    /// # Errors
    /// When the folder is missing or cannot be written.
    pub fn create(path: &Path, sample_rate_hz: u32, channels: u16) -> Result<Self> {
        let spec = WavSpec {
            channels,
            sample_rate: sample_rate_hz,
            bits_per_sample: 16,
            sample_format: SampleFormat::Int,
        };
        let file = Shared(Rc::new(RefCell::new(Placed::create_seekable(path)?)));
        let writer = WavWriter::new(file.clone(), spec).map_err(|error| wav_error(path, error))?;
        let (path, marks) = (path.to_owned(), Vec::new());
        Ok(Self { path, writer, file, bytes: 0, sample_rate_hz, channels, marks })
    }

    /// Marks the next sample with a name, which players and editors show.
    pub fn mark(&mut self, name: &str) {
        let frame = self.bytes / 2 / u64::from(self.channels);
        self.marks.push(Mark { frame: frame as u32, name: name.to_owned() });
    }

    /// Appends samples, the channels in turn.
    ///
    /// # Errors
    /// When they cannot be written, or are more than the format can hold.
    pub fn push(&mut self, samples: &[i16]) -> Result<()> {
        let Self { path, writer, bytes, sample_rate_hz, channels, .. } = self;
        *bytes += samples.len() as u64 * 2;
        if *bytes > MOST_BYTES {
            // Only a stream gets here: the length of a file is known beforehand.
            let seconds = *bytes as f64 / (f64::from(*sample_rate_hz) * f64::from(*channels) * 2.0);
            return Err(too_long(
                &path.to_string_lossy(),
                seconds,
                *bytes as f64,
                *sample_rate_hz,
                *channels,
            ));
        }
        write_samples(writer, samples).map_err(|error| wav_error(path, error))
    }

    /// Completes the file and puts it in its place; its name, unless it went to standard output.
    ///
    /// # Errors
    /// When it cannot be completed; nothing is then under its name.
    pub fn finish(self) -> Result<Option<PathBuf>> {
        self.seal()?.place()
    }

    /// Completes the file, which can then be put in its place.
    ///
    /// # Errors
    /// When it cannot be completed; nothing is then under its name.
    pub fn seal(self) -> Result<Sealed> {
        let Self { path, writer, mut file, marks, .. } = self;
        writer.finalize().map_err(|error| wav_error(&path, error))?;
        wav_marks::append(&mut file, &marks)
            .map_err(|source| Error::io("cannot write", &path, source))?;
        file.seal()
    }
}

/// The sound of a replay, as a WAV file.
pub struct WavOutput {
    renderer: Renderer,
    file: WavFile,
}

impl WavOutput {
    /// Begins the file.
    ///
    /// # Errors
    /// When the folder is missing or cannot be written.
    pub fn create(path: &Path, sample_rate_hz: u32, two_ears: bool) -> Result<Self> {
        let renderer = Renderer::new(sample_rate_hz, two_ears);
        let file = WavFile::create(path, sample_rate_hz, renderer.channels())?;
        Ok(Self { renderer, file })
    }
}

/// Refuses a WAV longer than the format can hold, before anything is written.
///
/// # Errors
/// When `seconds` of sound are more than 4 GiB, with what to do about it.
pub fn check_length(name: &str, seconds: f64, sample_rate_hz: u32, channels: u16) -> Result<()> {
    let bytes = seconds * f64::from(sample_rate_hz) * f64::from(channels) * 2.0;
    if bytes <= MOST_BYTES as f64 {
        return Ok(());
    }
    Err(too_long(name, seconds, bytes, sample_rate_hz, channels))
}

fn too_long(name: &str, seconds: f64, bytes: f64, sample_rate_hz: u32, channels: u16) -> Error {
    let longest_h =
        MOST_BYTES as f64 / (f64::from(sample_rate_hz) * f64::from(channels) * 2.0) / 3600.0;
    Error::Refused(format!(
        "{name}: {:.1} h of sound would be {:.1} GB, more than the 4.3 GB a WAV file can hold; \
         choose at most {longest_h:.1} h with \
         --from and --to, or a lower --sound-rate",
        seconds / 3600.0,
        bytes / 1e9,
    ))
}

fn write_samples(writer: &mut WavWriter<Shared>, samples: &[i16]) -> hound::Result<()> {
    // hound flushes these small writers one by one; its fast path wants a length known beforehand.
    let mut fast = writer.get_i16_writer(samples.len() as u32);
    for &sample in samples {
        fast.write_sample(sample);
    }
    fast.flush()
}

fn wav_error(path: &Path, error: hound::Error) -> Error {
    match error {
        hound::Error::IoError(source) => Error::io("cannot write", path, source),
        other => Error::Refused(format!("cannot write {}: {other}", shown_path(path))),
    }
}

impl Output for WavOutput {
    fn row(&mut self, _row: &Row) -> Result<()> {
        Ok(())
    }

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) -> Result<()> {
        let Self { renderer, file } = self;
        renderer.render(stretch, &mut |samples| file.push(samples))
    }

    fn bytes(&self) -> Sizes {
        Sizes { sound: self.file.bytes, ..Sizes::default() }
    }

    fn finish(self: Box<Self>) -> Result<Vec<Sealed>> {
        let Self { mut renderer, mut file } = *self;
        renderer.fade_out(&mut |samples| file.push(samples))?;
        Ok(vec![file.seal()?])
    }
}

/// hound does not return its writer, even at the end; this second handle gets the file back.
#[derive(Clone)]
struct Shared(Rc<RefCell<Placed>>);

impl Shared {
    fn seal(self) -> Result<Sealed> {
        match Rc::try_unwrap(self.0) {
            Ok(placed) => placed.into_inner().seal(),
            Err(_) => Err(Error::Refused("the WAV file is still being written".into())),
        }
    }
}

impl Write for Shared {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.borrow_mut().flush()
    }
}

impl Seek for Shared {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        self.0.borrow_mut().seek(position)
    }
}
