//! What the sound is played on.

setting_words! {
    /// What the sound is played on.
    pub enum Speaker {
        Flat = "flat", "headphones, or a loudspeaker that carries 300 Hz: sink is a pure tone";
        #[default]
        Small = "small",
            "a loudspeaker of a few centimetres, which carries little below 700 Hz: sink and the \
             fault call sound in the timbre octave, where timbre is pure";
        Piezo = "piezo",
            "a bare piezo disc, which carries little below 1 kHz: everything sounds a fifth \
             higher, and in the timbre reed, where timbre is pure";
    }
}
