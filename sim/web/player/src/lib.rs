//! The plain C interface of the sound on a flight's page, one player; see [`chirrup::player`].
//!
//! | call | does |
//! |---|---|
//! | `room(bytes)` | address of a buffer of so many bytes |
//! | `load(rate, settings_bytes, all_bytes)` | the buffer holds packed settings, then packed samples; 1: loaded |
//! | `seek(seconds)` | plays on from there |
//! | `pace(slower, faster)` | so many times as slow, or if that is 1 so many times as fast |
//! | `fill(frames)` | address of so many frames, one channel of 16 bits |
//! | `time()`, `ended()` | seconds played; 1 once every sample has been |
//! | `points()`, `point_count()` | address of four 32-bit floats a sample: [`chirrup::player::Point`] |
//!
//! The one unsafe thing is the exported names.

use chirrup::packed;
use chirrup::player::{Pace, Player};
use chirrup_core::Settings;
use chirrup_core::rows::unpack;
use std::cell::RefCell;

/// The player, and the data last passed to the page.
#[derive(Default)]
struct Desk {
    player: Option<Player>,
    room: Vec<u8>,
    frames: Vec<i16>,
    points: Vec<f32>,
}

thread_local! {
    static DESK: RefCell<Desk> = RefCell::default();
}

fn with_desk<T>(act: impl FnOnce(&mut Desk) -> T) -> T {
    DESK.with(|desk| act(&mut desk.borrow_mut()))
}

fn with_player<T: Default>(act: impl FnOnce(&mut Player) -> T) -> T {
    with_desk(|desk| desk.player.as_mut().map(act).unwrap_or_default())
}

/// Address of a buffer of so many bytes for [`load`].
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: u32) -> *mut u8 {
    with_desk(|desk| {
        desk.room = vec![0; bytes as usize];
        desk.room.as_mut_ptr()
    })
}

/// Loads what is in the buffer: 1, or 0 where it is not what the program packed.
#[unsafe(no_mangle)]
pub extern "C" fn load(rate_hz: u32, settings_bytes: u32, all_bytes: u32) -> u32 {
    with_desk(|desk| {
        let mut bytes = std::mem::take(&mut desk.room);
        bytes.truncate(all_bytes as usize);
        desk.player = loaded(rate_hz, settings_bytes as usize, &bytes);
        u32::from(desk.player.is_some())
    })
}

fn loaded(rate_hz: u32, settings_bytes: usize, bytes: &[u8]) -> Option<Player> {
    let (settings, samples) = bytes.split_at_checked(settings_bytes)?;
    let pipeline = unpack::<Settings>(settings)?.build().ok()?;
    Player::new(pipeline, packed::unpack(samples)?, rate_hz)
}

/// Plays on from so many seconds after the first sample.
#[unsafe(no_mangle)]
pub extern "C" fn seek(seconds: f64) {
    with_player(|player| player.seek(seconds));
}

/// Plays on so many times as slow, or, where that is 1, so many times as fast.
#[unsafe(no_mangle)]
pub extern "C" fn pace(slower: u32, faster: u32) {
    let pace = if slower > 1 { Pace::Slower(slower) } else { Pace::Faster(faster.max(1)) };
    with_player(|player| player.set_pace(pace));
}

/// Address of the next frames of sound.
#[unsafe(no_mangle)]
pub extern "C" fn fill(frames: u32) -> *const i16 {
    with_desk(|desk| {
        desk.frames.resize(frames as usize, 0);
        if let Some(player) = &mut desk.player {
            player.fill(&mut desk.frames);
        }
        desk.frames.as_ptr()
    })
}

/// Seconds of the recording that have been played.
#[unsafe(no_mangle)]
pub extern "C" fn time() -> f64 {
    with_player(|player| player.time_s())
}

/// 1 once every sample has been played.
#[unsafe(no_mangle)]
pub extern "C" fn ended() -> u32 {
    with_player(|player| u32::from(player.has_ended()))
}

/// Address of the points, four numbers each.
#[unsafe(no_mangle)]
pub extern "C" fn points() -> *const f32 {
    with_desk(|desk| {
        if let (Some(player), true) = (&desk.player, desk.points.is_empty()) {
            desk.points = player
                .points()
                .iter()
                .flat_map(|point| {
                    [point.time_s, point.altitude_m, point.climb_mps, point.average_mps]
                })
                .collect();
        }
        desk.points.as_ptr()
    })
}

/// How many points there are.
#[unsafe(no_mangle)]
pub extern "C" fn point_count() -> u32 {
    with_player(|player| player.points().len() as u32)
}
