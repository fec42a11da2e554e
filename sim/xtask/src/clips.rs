//! The six clips of the listening folder: which flight, from when, what is heard, what it means.
//!
//! A clip is cut from the sound of a whole flight, since a replay that begins in its middle is
//! silent while it settles, and knows nothing yet of the noise.

use std::ops::RangeInclusive;

/// How long each is, s.
pub const SECONDS: u32 = 15;

/// One clip.
pub struct Clip {
    /// Name of its file, without the ending.
    pub file: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// Scenario of `chirrup fly`, and its seed.
    pub flight: (&'static str, u32),
    /// Where it begins in that flight, s.
    pub from_s: u32,
    /// `--inject` of the replay, if something breaks.
    pub fault: Option<&'static str>,
    /// What is heard.
    pub heard: &'static str,
    /// What it means in flight.
    pub means: &'static str,
    /// How many separate sounds it must have; another number is another clip than its words say.
    pub sounds: RangeInclusive<usize>,
}

/// In the order in which they teach.
pub const CLIPS: [Clip; 6] = [
    Clip {
        file: "weak-climb",
        title: "A weak climb",
        flight: ("demo-flight", 1),
        from_s: 150,
        fault: None,
        heard: "Single even beeps, low and unhurried, a little under two a second.",
        means: "About 1.1 m/s up. Single beeps that go on mean climb.",
        sounds: 23..=28,
    },
    Clip {
        file: "good-climb",
        title: "A good climb",
        flight: ("demo-flight", 1),
        from_s: 245,
        fault: None,
        heard: "The same beeps, higher and faster: between two and three a second, and even.",
        means: "About 3.1 m/s up, the whole circle long: the core is in the middle of it.",
        sounds: 35..=41,
    },
    Clip {
        file: "centring",
        title: "Centring a thermal",
        flight: ("demo-flight", 1),
        from_s: 222,
        fault: None,
        heard: "Beeps that swell to high and fast, fade to low and slow, and then hold still.",
        means: "The circle has its core on one side: 6 m/s there, 1.5 m/s opposite. The pilot \
                moves it; from the thirteenth second on it is centred. The eyes stay outside \
                throughout.",
        sounds: 40..=52,
    },
    Clip {
        file: "steep-sink",
        title: "Steep sink",
        flight: ("demo-flight", 1),
        from_s: 345,
        fault: None,
        heard: "One low tone that does not pause.",
        means: "More than 5 m/s down. Leave: no beep will come here.",
        sounds: 1..=1,
    },
    Clip {
        file: "gust",
        title: "A gust that is no climb",
        flight: ("rough-glide", 5),
        from_s: 76,
        fault: None,
        heard: "Silence in rough air; a short low tone after five seconds, one single beep after \
                eight, and silence again.",
        means: "The air here never rises. A lone beep that no second one follows is a gust: do not \
                turn for it.",
        sounds: 2..=2,
    },
    Clip {
        file: "fault",
        title: "The instrument fails",
        flight: ("demo-flight", 1),
        from_s: 148,
        fault: Some("lost@2:35,40"),
        heard: "Beeps of a climb until the ninth second, three seconds of silence, then three low \
                falling notes.",
        means: "The barometer says nothing from the seventh second on. The last climb sounds a \
                little longer, silence means nothing yet, and the falling notes say that there is \
                no reading: fly by the approved instruments.",
        sounds: 16..=22,
    },
];
