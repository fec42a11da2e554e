//! Settings of the hardware of an instrument. The core and the bench only carry these settings
//! along; the firmware uses them.

use crate::rows::Kind;

setting_words! {
    /// What a second barometer is connected to.
    pub enum SecondBarometer {
        #[default]
        None = "none", "there is none; the static barometer may have either address";
        Probe = "probe", "a total-energy probe; the static barometer is the one at 0x77";
        Pitot = "pitot", "the pitot, whose difference from the static barometer is the dynamic \
            pressure; the static barometer is the one at 0x77";
    }
}

setting_words! {
    /// Output type of the differential sensor: the share of its counts that spans its range.
    pub enum DifferentialOutput {
        #[default]
        A = "a", "10 % to 90 % of the counts";
        B = "b", "5 % to 95 % of the counts";
    }
}

setting_words! {
    /// When a flight begins that an instrument records.
    pub enum RecordFrom {
        Off = "off", "never";
        #[default]
        Launch = "launch", "when the glider leaves the ground, with what came just before";
        Power = "power", "when power comes";
        PowerInputs = "power_inputs", "as power, without the vertical speed, which a replay works \
            out again";
    }
}

impl RecordFrom {
    /// Whether the vertical speed that sounded is recorded beside what it was worked out from.
    pub fn has_speed(self) -> bool {
        self != Self::PowerInputs
    }
}

setting_words! {
    /// What the speaker's pin puts out.
    pub enum SpeakerOutput {
        #[default]
        Dac = "dac", "the samples that the bench plays, on a carrier of 125 kHz: for an amplifier \
            behind a low-pass";
        Pulse = "pulse", "pulses of the tone's pitch, as loud as the pin can: for a bare piezo \
            disc between the pin and ground";
    }
}

setting_group! {
    /// What is soldered to an instrument.
    pub struct DeviceSettings = "device.",
        "What is soldered to an instrument. The bench keeps these and uses none of them." {
        output: SpeakerOutput = SpeakerOutput::Dac, "", SpeakerOutput::KIND,
            "What the speaker's pin puts out.";
        second_barometer: SecondBarometer = SecondBarometer::None, "", SecondBarometer::KIND,
            "What a second barometer, at the other address, is plumbed to.";
        differential_range_pa: f32 = 6895.0, "Pa", Kind::number(500.0, 40_000.0),
            "Full scale of the differential pressure sensor. The default is 1 psi.";
        differential_output: DifferentialOutput = DifferentialOutput::A, "",
            DifferentialOutput::KIND,
            "Output type of the differential pressure sensor.";
        dynamic_zero_pa: f32 = 0.0, "Pa", Kind::number(-2_000.0, 2_000.0),
            "What the dynamic pressure reads with the glider at rest out of the wind; it is taken \
            off. `zero` on the console measures it.";
        battery_low_v: f32 = 3.5, "V", Kind::number(0.0, 30.0),
            "Below this the battery is low; 0 is never. The default is for one lithium cell.";
        log_hz: u8 = 0, "Hz", Kind::whole(0, 50),
            "Rows a second of the log from the start on; 0 is none.";
        record: RecordFrom = RecordFrom::Launch, "", RecordFrom::KIND,
            "When an instrument begins to record a flight in its flash.";
    }
}
