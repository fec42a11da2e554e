//! The sound of a flight's page without a browser: the same calls on this machine.
//!
//! ```text
//! native-player RATE SETTINGS_BYTES FRAMES [CALL NUMBER..].. < settings and samples, packed
//! ```
//!
//! Calls are `seek SECONDS` and `pace SLOWER FASTER`, made before the first frame. Frames go to
//! standard output, 16 bits little-endian.

use chirrup::packed;
use chirrup::player::{Pace, Player};
use chirrup_core::Settings;
use chirrup_core::rows::unpack;
use std::io::{self, Read, Write};

/// As many as a browser's audio thread asks for.
const BLOCK: usize = 128;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [rate, settings, frames, calls @ ..] = &words[..] else {
        return Err("native-player RATE SETTINGS_BYTES FRAMES [CALL NUMBER..]..".into());
    };
    let mut bytes = Vec::new();
    io::stdin().read_to_end(&mut bytes)?;
    let (settings, samples) = bytes.split_at_checked(settings.parse()?).ok_or("too few bytes")?;
    let pipeline = unpack::<Settings>(settings).ok_or("no settings")?.build()?;
    let samples = packed::unpack(samples).ok_or("no samples")?;
    let mut player = Player::new(pipeline, samples, rate.parse()?).ok_or("no sample")?;
    make(&mut player, calls)?;
    let mut out = io::stdout().lock();
    let mut frames: usize = frames.parse()?;
    let mut block = [0_i16; BLOCK];
    while frames > 0 {
        player.fill(&mut block);
        let count = frames.min(BLOCK);
        let bytes: Vec<u8> = block[..count].iter().flat_map(|frame| frame.to_le_bytes()).collect();
        out.write_all(&bytes)?;
        frames -= count;
    }
    Ok(())
}

fn make(player: &mut Player, calls: &[String]) -> Result<(), Box<dyn std::error::Error>> {
    let mut words = calls.iter();
    while let Some(call) = words.next() {
        let mut number = || words.next().ok_or("a call lacks a number");
        match call.as_str() {
            "seek" => player.seek(number()?.parse()?),
            "pace" => player.set_pace(match (number()?.parse()?, number()?.parse()?) {
                (slower, _) if slower > 1 => Pace::Slower(slower),
                (_, faster) => Pace::Faster(faster),
            }),
            _ => return Err(format!("{call} is no call").into()),
        }
    }
    Ok(())
}
