//! Lessons: flights that fly themselves, with a caption for each moment.
//!
//! A lesson is a list of cues: when, the caption, and which controls turn. The thermals and the
//! speeds are invented to give the readings in the captions; a test compares the sound of every
//! lesson with its captions.

use super::control::Controls;
use crate::inject::catalogue::Kind;
use chirrup_core::EnergyChoice;
use chirrup_flight::hand::pilot::Phase;

/// A lesson.
#[derive(Debug)]
pub struct Lesson {
    /// A word by which translations find it.
    pub key: &'static str,
    /// Its name.
    pub title: &'static str,
    /// What to ask the class.
    pub question: &'static str,
    /// Height at which it begins, m.
    pub start_m: f64,
    /// How long it lasts, s.
    pub length_s: f64,
    /// What happens, in the order of time; the first at 0.
    pub cues: &'static [Cue],
}

/// A moment of a lesson.
#[derive(Debug)]
pub struct Cue {
    /// When, in seconds from the lesson's start.
    pub at_s: f64,
    /// The caption.
    pub caption: &'static str,
    /// Turns the controls.
    pub change: fn(&mut Controls),
}

const fn cue(at_s: f64, caption: &'static str, change: fn(&mut Controls)) -> Cue {
    Cue { at_s, caption, change }
}

/// Every lesson.
pub static LESSONS: [Lesson; 6] = [
    Lesson {
        key: "thermal",
        title: "The first thermal",
        question: "When did the air begin to rise faster than the glider sinks? Which part was \
            best?",
        start_m: 800.0,
        length_s: 62.0,
        cues: &[
            cue(
                0.0,
                "Still air. The glider sinks slowly, as it always does. Silence: nothing to \
                 report.",
                |_| (),
            ),
            cue(
                9.0,
                "This air rises a little faster than the glider sinks: listen for slow, low beeps.",
                |c| c.air_mps = 1.2,
            ),
            cue(20.0, "A better climb: higher and quicker. No need to look.", |c| c.air_mps = 2.8),
            cue(31.0, "Strong lift: higher and quicker again.", |c| c.air_mps = 5.0),
            cue(42.0, "Still climbing, but less: lower and slower.", |c| c.air_mps = 1.8),
            cue(52.0, "The lift is behind us: silence follows.", |c| c.air_mps = 0.0),
        ],
    },
    Lesson {
        key: "stick",
        title: "The stick in still air",
        question: "Which ear follows the air? What would you do if you trusted the other?",
        start_m: 1000.0,
        length_s: 76.0,
        cues: &[
            cue(
                0.0,
                "Headphones on. Left: a compensated instrument. Right: the same one, \
                 uncompensated. Still air.",
                |c| (c.two, c.speed_mps, c.energy) = (true, 25.0, EnergyChoice::Electronic),
            ),
            cue(
                9.0,
                "Push: height turns into speed. The right ear will sound sink. The left stays \
                 silent: no energy is lost.",
                |c| {
                    c.speed_mps = 33.0;
                },
            ),
            cue(
                23.0,
                "Pull: speed turns into height. The right ear will sound lift where there is \
                 none. The left stays silent.",
                |c| {
                    c.speed_mps = 24.0;
                },
            ),
            cue(37.0, "Now the air rises: both ears will beep. This is lift.", |c| c.air_mps = 3.0),
            cue(
                47.0,
                "Push in the lift. The left ear goes on climbing. The right one stops.",
                |c| c.speed_mps = 34.0,
            ),
            cue(
                60.0,
                "Pull in the lift. The left ear hardly changes. The right goes far too high.",
                |c| c.speed_mps = 25.0,
            ),
        ],
    },
    Lesson {
        key: "sink",
        title: "Steep sink",
        question: "What should you do when you hear the steady tone, and when can you stop?",
        start_m: 1200.0,
        length_s: 50.0,
        cues: &[
            cue(0.0, "Still air, straight on.", |_| ()),
            cue(
                7.0,
                "The air goes down, and the glider with it: listen for a low, steady tone.",
                |c| c.air_mps = -2.5,
            ),
            cue(17.0, "Steeper sink: lower still.", |c| c.air_mps = -5.0),
            cue(27.0, "Speed up and leave it. That costs some height, but not for long.", |c| {
                c.speed_mps = 38.0
            }),
            cue(37.0, "The sink is behind us: the tone ends. Ease back to best glide.", |c| {
                (c.air_mps, c.speed_mps) = (0.0, 27.0);
            }),
        ],
    },
    Lesson {
        key: "centring",
        title: "Centring by ear",
        question: "While it improved, was it right to flatten or to tighten, and why? Which \
            heading would you remember?",
        start_m: 700.0,
        length_s: 132.0,
        cues: &[
            cue(
                0.0,
                "Circling, but off the centre of the thermal. The beeps rise and fall once in \
                 each circle. Remember the heading of the best ones.",
                |c| {
                    (c.bank_deg, c.speed_mps, c.thermal_mps, c.offset_m) = (40.0, 24.0, 5.5, 90.0);
                },
            ),
            cue(
                46.0,
                "While it improves, flatten by about 10 degrees; while it worsens, steepen: the \
                 circle moves to the better side.",
                |c| c.offset_m = 50.0,
            ),
            cue(
                74.0,
                "And again. To tighten while it improves is the wrong way round: the circle walks \
                 away from the core.",
                |c| c.offset_m = 20.0,
            ),
            cue(
                102.0,
                "Even all the way round: centred, by ear, eyes outside. Now keep the circle.",
                |c| c.offset_m = 0.0,
            ),
        ],
    },
    Lesson {
        key: "winch",
        title: "Winch launch",
        question: "Why do the beeps slow down before the release, and why is that not a fault?",
        start_m: 100.0,
        length_s: 56.0,
        cues: &[
            cue(0.0, "On the ground. Silence.", |c| c.phase = Phase::Ground),
            cue(5.0, "The cable pulls: a short roll, then the steepest climb of the day.", |c| {
                c.phase = Phase::Cable
            }),
            cue(22.0, "Flatter towards the top: lower and slower.", |_| ()),
            cue(36.0, "Released. Free flight in still air: silence follows.", |_| ()),
        ],
    },
    Lesson {
        key: "fault",
        title: "A fault",
        question: "How do you know that this silence is not still air? What would you fly by now?",
        start_m: 900.0,
        length_s: 58.0,
        cues: &[
            cue(0.0, "A steady climb.", |c| c.air_mps = 3.0),
            cue(
                12.0,
                "The pressure sensor sticks. A wrong reading would be worse than none: it \
                 falls silent.",
                |c| {
                    c.fault = Some(Kind::Frozen);
                },
            ),
            cue(
                18.0,
                "It still has no valid reading, and calls it out: three falling notes, which \
                 never sound like lift.",
                |_| (),
            ),
            cue(42.0, "The sensor is back. The instrument settles, then sounds again.", |c| {
                c.fault = None
            }),
        ],
    },
];

/// A lesson being played.
#[derive(Clone, Copy, Debug)]
pub struct Playing {
    lesson: &'static Lesson,
    next: usize,
}

impl Playing {
    /// From its start.
    pub fn new(lesson: &'static Lesson) -> Self {
        Self { lesson, next: 0 }
    }

    /// Turns the controls that are due at `seconds`.
    pub fn cue(&mut self, seconds: f64, controls: &mut Controls) {
        while let Some(cue) = self.lesson.cues.get(self.next).filter(|cue| cue.at_s <= seconds) {
            (cue.change)(controls);
            self.next += 1;
        }
    }

    /// Whether it is over at `seconds`.
    pub fn has_ended(&self, seconds: f64) -> bool {
        seconds >= self.lesson.length_s
    }

    /// The number of the present caption, from 0.
    pub fn caption(&self) -> i32 {
        self.next as i32 - 1
    }

    /// The lesson.
    pub fn lesson(&self) -> &'static Lesson {
        self.lesson
    }
}
