//! Settings of the sound, and their ranges.

use crate::rows::{EntryRow, Kind};
use crate::sound::speaker::Speaker;
use crate::sound::timbre::Timbre;
use crate::sound::volume::LOUDEST;
use heapless::Vec;

/// The most entries in a tone table: as many as fit a console line of an instrument and, four times
/// over, its 14 KiB of memory.
pub(crate) const MOST_TONE_ENTRIES: usize = 15;

setting_words! {
    /// What the sound shows.
    pub enum SoundMode {
        #[default]
        Climb = "climb", "the vertical speed: beeps for climb, the steady tone for sink";
        Netto = "netto",
            "in cruise, the air's own vertical speed: pairs of notes, rising where the air rises";
        Speed = "speed",
            "in cruise, the speed to fly: pairs of notes, rising where more speed is wanted";
    }
}

setting_entry! {
    /// An entry of the climb table; each is above the one before in speed, pitch and cadence.
    pub struct ClimbPoint {
        climb_mps: "m/s", -1.0..=60.0, "vertical speed";
        pitch_hz: "Hz", 200.0..=4000.0, "pitch of the beep";
        cadence_hz: "Hz", 0.5..=14.0, "beeps a second";
        beep_ms: "ms", 40.0..=1970.0, "length of a beep";
    }
}

setting_entry! {
    /// An entry of the sink table; each is below the one before in speed and pitch.
    pub struct SinkPoint {
        sink_mps: "m/s", -60.0..=-0.3, "vertical speed";
        pitch_hz: "Hz", 80.0..=2000.0, "pitch of the steady tone";
    }
}

setting_group! {
    /// What climb and sink sound like.
    pub struct ToneSettings = "tone.", "The sound." {
        mode: SoundMode = SoundMode::Climb, "", SoundMode::KIND,
            "What the sound is about. Where a cruise mode lacks what it needs (a polar, an \
             airspeed), climb sounds.";
        volume: f32 = 8.0, "", Kind::number(0.0, LOUDEST),
            "How loud: each step is 3 dB, 0 is silence, 10 full scale. The default leaves two \
             steps for a noisier cockpit.";
        softer_when_slow_db: f32 = 7.0, "dB", Kind::number(0.0, 18.0),
            "How much softer it is at 80 km/h and below than at 160 km/h, where the air is loud. \
             It is never louder than the volume; 0 turns it off. Without an airspeed it has no \
             effect.";
        even_loudness: bool = true, "", Kind::Flag,
            "Every sound as loud to the ear as the others, by ISO 532-1: by its pitch, its timbre \
             and its length. False plays all at full level.";
        speaker: Speaker = Speaker::Small, "", Speaker::KIND,
            "What the sound is played on.";
        timbre: Timbre = Timbre::Pure, "", Timbre::KIND,
            "Colour of every tone.";
        silent_until_launch: bool = false, "", Kind::Flag,
            "Nothing but a fault sounds until the glider has been launched. For an instrument, \
             not for recordings that begin in flight.";
        fault_every_s: f32 = 15.0, "s", Kind::number_or_zero(5.0, 120.0),
            "Time from one fault call (three falling notes) to the next while the instrument does \
             not know what the air does; 0 is never.";
        netto_band_mps: f32 = 0.5, "m/s", Kind::number(0.2, 3.0),
            "In mode netto, nothing sounds while the air moves by less than this.";
        speed_band_mps: f32 = 2.0, "m/s", Kind::number(0.5, 10.0),
            "In mode speed, nothing sounds while the airspeed is this close to the speed to fly. \
             The default is about what a pilot holds without looking (a guess).";
        climb_from_mps: f32 = 0.2, "m/s", Kind::number(-1.0, 2.0),
            "Beeps begin at this vertical speed.";
        sink_from_mps: f32 = -1.6, "m/s", Kind::number(-10.0, -0.3),
            "The steady sink tone begins at this vertical speed.";
        hysteresis_mps: f32 = 0.1, "m/s", Kind::number(0.0, 0.5),
            "A sound that has begun ends only this far back inside the silent band.";
        climb: Vec<ClimbPoint, MOST_TONE_ENTRIES> = climb_table(), "",
            Kind::list::<ClimbPoint>(1, MOST_TONE_ENTRIES),
            "The beeps by vertical speed, each entry higher and quicker than the one before; \
             between entries pitch, cadence and length follow in equal ratios. No beep is shorter \
             than 40 ms, no gap shorter than 30 ms.";
        sink: Vec<SinkPoint, MOST_TONE_ENTRIES> = sink_table(), "",
            Kind::list::<SinkPoint>(1, MOST_TONE_ENTRIES),
            "The steady sink tone by vertical speed, each entry lower than the one before, all at \
             least a musical fifth (a ratio of 1.5) below the lowest beep.";
    }
}

impl ToneSettings {
    /// The timbre of climb and of the cruise sounds: on a piezo one that it carries, where none has
    /// been chosen.
    pub(crate) fn high_timbre(&self) -> Timbre {
        match (self.speaker, self.timbre) {
            (Speaker::Piezo, Timbre::Pure) => Timbre::Reed,
            (_, timbre) => timbre,
        }
    }

    /// The timbre of the low sounds, sink and the fault call: on a small loudspeaker or a piezo one
    /// that it carries, where none has been chosen for all.
    pub(crate) fn low_timbre(&self) -> Timbre {
        match (self.speaker, self.timbre) {
            (Speaker::Small, Timbre::Pure) => Timbre::Octave,
            (Speaker::Piezo, Timbre::Pure) => Timbre::Reed,
            (_, timbre) => timbre,
        }
    }
}

/// Our own tone law. Four m/s are an octave: 650 Hz at 0.2 m/s, 1300 Hz at 4.2; from 5 to 10 m/s
/// ten are, and above about twenty. Each m/s shortens the time from beep to beep by 0.1 s, from
/// 0.7 s at 0.2 m/s to 0.22 s at 5, and hardly any more above: beyond four beeps a second the ear
/// tells quicker ones apart no better, and a beep shorter than 100 ms is lost in noise. Beeps and
/// gaps are of equal length.
fn climb_table() -> Vec<ClimbPoint, MOST_TONE_ENTRIES> {
    [
        [0.2, 650.0, 1.43, 349.6],
        [1.0, 747.0, 1.61, 310.5],
        [2.0, 888.0, 1.92, 260.4],
        [3.0, 1056.0, 2.38, 210.0],
        [4.0, 1256.0, 3.12, 160.2],
        [4.5, 1369.0, 3.7, 135.1],
        [5.0, 1493.0, 4.55, 109.8],
        [10.0, 2112.0, 4.7, 106.3],
        [15.0, 2500.0, 4.9, 102.0],
    ]
    .iter()
    .map(ClimbPoint::from_entry)
    .collect()
}

/// Above 300 Hz, below which a small loudspeaker carries nothing of it.
fn sink_table() -> Vec<SinkPoint, MOST_TONE_ENTRIES> {
    [[-1.6, 433.0], [-4.0, 385.0], [-10.0, 310.0]]
        .map(|[sink_mps, pitch_hz]| SinkPoint { sink_mps, pitch_hz })
        .into_iter()
        .collect()
}
