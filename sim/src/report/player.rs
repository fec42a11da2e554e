//! What the page needs to sound: the core as WebAssembly, and for each flight the settings and the
//! samples, packed.

use super::flown::Flown;
use super::request::Request;
use crate::error::{Error, Result};
use crate::packed;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chirrup_core::Sample;
use chirrup_core::rows::pack;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;

/// `sim/web/player`, built and packed; `just rewrite-player` makes it anew.
const CORE: &[u8] = include_bytes!("script/player.wasm.gz");
/// More than all the settings take.
const MOST_SETTINGS: usize = 1 << 16;

/// The WebAssembly as text.
pub fn core() -> String {
    STANDARD.encode(CORE)
}

/// Settings and samples of a flight as text: the length of the settings in 4 bytes, the settings,
/// the samples, all of it packed by gzip.
///
/// # Errors
/// More samples than a page can hold.
pub fn recording(request: &Request, flown: &Flown) -> Result<String> {
    let samples: Vec<Sample> = flown.recording.all().iter().collect();
    let samples = packed::pack(&samples);
    let mut settings = vec![0; MOST_SETTINGS];
    let length = pack(&request.instrument.settings, &mut settings);
    let (Some(samples), Some(length)) = (samples, length) else {
        return Err(Error::Usage(format!("{} is too long for a page", flown.recording.name)));
    };
    settings.truncate(length);
    let mut packer = GzEncoder::new(Vec::new(), Compression::best());
    let parts = [&(length as u32).to_le_bytes()[..], &settings, &samples];
    let packed = parts.iter().try_for_each(|part| packer.write_all(part));
    let packed = packed.and_then(|()| packer.finish());
    let bytes = packed.map_err(|error| Error::io("cannot pack", &flown.recording.name, error))?;
    Ok(STANDARD.encode(bytes))
}
