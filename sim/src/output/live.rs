//! Plays the sound in real time through the computer's sound device.
//!
//! The replay runs ahead of the ear by at most [`AHEAD_S`]: samples go into a ring that the
//! device's thread empties, and a full ring makes the replay wait. When the ring runs empty during
//! the flight, the device gets silence, the underrun is counted, and the sound continues from where
//! it stopped.

use super::Output;
use super::place::Sealed;
use crate::error::{Error, Result};
use crate::render::Renderer;
use crate::replay::{Listening, Row, Stretch};
use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, ErrorKind, FromSample, SampleFormat, SizedSample, Stream, StreamConfig};
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How far the replay runs ahead of the ear.
const AHEAD_S: f64 = 0.2;
/// How long the replay sleeps while the ring is full.
const NAP: Duration = Duration::from_millis(5);
/// A device that takes nothing for this long counts as lost.
const PATIENCE: Duration = Duration::from_secs(3);
/// Frames that the device takes at a time: about 20 ms.
const BLOCKS_A_SECOND: u32 = 50;
/// The sound that is still in the device when the ring has run empty.
const DEVICE_LATENCY: Duration = Duration::from_millis(100);

/// State shared by the device's thread and the replay.
#[derive(Default)]
struct Shared {
    /// The flight is running; an empty ring is an underrun.
    flowing: AtomicBool,
    underruns: AtomicU64,
    lost: AtomicBool,
}

/// A running sound device: plays the frames pushed into it.
pub struct Speaker<'a> {
    ring: Producer<i16>,
    shared: Arc<Shared>,
    interrupted: &'a AtomicBool,
    sample_rate_hz: u32,
    channels: u16,
    /// Sounds as long as it is there.
    _stream: Stream,
}

impl<'a> Speaker<'a> {
    /// Opens the default sound device for one or two `channels`, to run ahead of the ear by at most
    /// `ahead_s`.
    ///
    /// # Errors
    /// When there is none, or it accepts none of our formats; the message says what to do instead.
    pub fn open(channels: u16, ahead_s: f64, interrupted: &'a AtomicBool) -> Result<Self> {
        let device = cpal::default_host()
            .default_output_device()
            .ok_or_else(|| no_device("none was found"))?;
        let supported =
            device.default_output_config().map_err(|error| no_device(&error.to_string()))?;
        let sample_rate_hz = supported.sample_rate();
        let ears = usize::from(channels);
        let (ring, from_ring) =
            RingBuffer::new((ahead_s * f64::from(sample_rate_hz)) as usize * ears);
        let shared = Arc::new(Shared::default());
        let config = StreamConfig {
            channels: supported.channels(),
            sample_rate: sample_rate_hz,
            buffer_size: BufferSize::Fixed(sample_rate_hz / BLOCKS_A_SECOND),
        };
        let feed = Feed {
            ring: from_ring,
            shared: Arc::clone(&shared),
            ears,
            channels: usize::from(config.channels),
        };
        let stream = match supported.sample_format() {
            SampleFormat::I16 => build::<i16>(&device, config, feed),
            SampleFormat::I32 => build::<i32>(&device, config, feed),
            SampleFormat::U8 => build::<u8>(&device, config, feed),
            SampleFormat::U16 => build::<u16>(&device, config, feed),
            SampleFormat::F64 => build::<f64>(&device, config, feed),
            _ => build::<f32>(&device, config, feed),
        };
        let stream = stream.and_then(|stream| stream.play().map(|()| stream));
        let stream = stream.map_err(|error| no_device(&error.to_string()))?;
        Ok(Self { ring, shared, interrupted, sample_rate_hz, channels, _stream: stream })
    }

    /// Frames a second that the device takes.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    /// How many frames can be pushed without waiting.
    pub fn room(&self) -> usize {
        self.ring.slots() / usize::from(self.channels)
    }

    /// Pushes interleaved samples; waits while the device has enough.
    ///
    /// # Errors
    /// When the device is lost, or the user has interrupted.
    pub fn push(&mut self, samples: &[i16]) -> Result<()> {
        let mut rest = samples;
        while !rest.is_empty() {
            wait_until(&self.shared, self.interrupted, || {
                (self.ring.slots(), self.ring.slots() > 0)
            })?;
            let (now, later) = rest.split_at(self.ring.slots().min(rest.len()));
            for &sample in now {
                // There is room: this is the only producer.
                let _ = self.ring.push(sample);
            }
            rest = later;
            if self.ring.slots() == 0 {
                // Full for the first time: from here on the device must never find it empty.
                self.shared.flowing.store(true, Ordering::Relaxed);
            }
        }
        Ok(())
    }

    /// Waits until all has been heard.
    ///
    /// # Errors
    /// When the device is lost, or the user has interrupted.
    pub fn finish(self) -> Result<()> {
        self.shared.flowing.store(false, Ordering::Relaxed);
        let capacity = self.ring.buffer().capacity();
        wait_until(&self.shared, self.interrupted, || {
            (self.ring.slots(), self.ring.slots() == capacity)
        })?;
        sleep(DEVICE_LATENCY);
        Ok(())
    }

    /// How often the device found nothing to play.
    pub fn underruns(&self) -> u64 {
        self.shared.underruns.load(Ordering::Relaxed)
    }
}

/// The sound of a replay as it comes.
pub struct LiveOutput<'a> {
    renderer: Renderer,
    speaker: Speaker<'a>,
}

impl<'a> LiveOutput<'a> {
    /// Opens the default sound device.
    ///
    /// # Errors
    /// When there is none, or it accepts none of our formats; the message says what to do instead.
    pub fn open(two_ears: bool, interrupted: &'a AtomicBool) -> Result<Self> {
        let speaker = Speaker::open(if two_ears { 2 } else { 1 }, AHEAD_S, interrupted)?;
        Ok(Self { renderer: Renderer::new(speaker.sample_rate_hz, two_ears), speaker })
    }
}

fn no_device(why: &str) -> Error {
    Error::Refused(format!(
        "there is no sound device to play on ({why}); write the sound with --wav FILE instead"
    ))
}

impl Output for LiveOutput<'_> {
    fn row(&mut self, _row: &Row) -> Result<()> {
        Ok(())
    }

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) -> Result<()> {
        let Self { renderer, speaker } = self;
        renderer.render(stretch, &mut |samples| speaker.push(samples))
    }

    fn finish(self: Box<Self>) -> Result<Vec<Sealed>> {
        let Self { mut renderer, mut speaker } = *self;
        renderer.fade_out(&mut |samples| speaker.push(samples))?;
        speaker.finish()?;
        Ok(Vec::new())
    }

    fn notes(&self) -> Vec<String> {
        match self.speaker.underruns() {
            0 => Vec::new(),
            1 => vec!["the sound device ran dry once; the sound went on".into()],
            underruns => vec![format!(
                "the sound device ran dry {underruns} times; the sound went on each time"
            )],
        }
    }
}

/// Sleeps until the second of `state` is true, as long as its first keeps changing.
fn wait_until(
    shared: &Shared,
    interrupted: &AtomicBool,
    state: impl Fn() -> (usize, bool),
) -> Result<()> {
    let (mut last, mut changed) = (state().0, Instant::now());
    loop {
        let (now, done) = state();
        if done {
            return Ok(());
        }
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        if now != last {
            (last, changed) = (now, Instant::now());
        }
        if shared.lost.load(Ordering::Relaxed) || changed.elapsed() > PATIENCE {
            return Err(Error::Refused(
                "the sound device was lost; play again, or write the sound with --wav FILE".into(),
            ));
        }
        sleep(NAP);
    }
}

/// The device's side of the ring.
struct Feed {
    ring: Consumer<i16>,
    shared: Arc<Shared>,
    /// Channels in the ring.
    ears: usize,
    /// Channels of the device.
    channels: usize,
}

impl Feed {
    /// Fills the device's buffer; one ear goes to every channel, two go to the first two.
    fn fill<T: SizedSample + FromSample<i16>>(&mut self, block: &mut [T]) {
        for frame in block.chunks_exact_mut(self.channels) {
            let heard = self.next_frame();
            for (channel, sample) in frame.iter_mut().enumerate() {
                let ear = if self.ears == 1 { 0 } else { channel };
                *sample = T::from_sample(heard.get(ear).copied().unwrap_or(0));
            }
        }
    }

    fn next_frame(&mut self) -> [i16; 2] {
        let mut heard = [0; 2];
        if self.ring.slots() < self.ears {
            // Counted once each time the ring runs dry; flowing sound clears the mark.
            if self.shared.flowing.swap(false, Ordering::Relaxed) {
                self.shared.underruns.fetch_add(1, Ordering::Relaxed);
            }
            return heard;
        }
        for ear in heard.iter_mut().take(self.ears) {
            *ear = self.ring.pop().unwrap_or(0);
        }
        heard
    }
}

fn build<T: SizedSample + FromSample<i16> + Send + 'static>(
    device: &cpal::Device,
    config: StreamConfig,
    mut feed: Feed,
) -> std::result::Result<Stream, cpal::Error> {
    let shared = Arc::clone(&feed.shared);
    let on_error = move |error: cpal::Error| match error.kind() {
        // The stream continues after these; a dry ring is counted where it is found.
        ErrorKind::Xrun | ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
        _ => shared.lost.store(true, Ordering::Relaxed),
    };
    device.build_output_stream(
        config,
        move |block: &mut [T], _: &cpal::OutputCallbackInfo| feed.fill(block),
        on_error,
        None,
    )
}
