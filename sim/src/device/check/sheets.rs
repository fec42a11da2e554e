//! What the data sheets promise of each kind of sensor, in one table.

use chirrup_core::Pascal;

/// A kind of pressure sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// The name by which the instrument's self-test calls it.
    pub kind: &'static str,
    /// How the sheet writes it.
    pub name: &'static str,
    /// How far its pressure may be from the true one at room temperature, Pa; of a differential
    /// sensor, how far its zero may be off.
    pub accuracy_pa: f64,
    /// Noise of one measurement as the instrument takes it, Pa rms.
    pub noise_pa: f64,
    /// Full scale of a differential sensor, Pa, where the kind alone says it.
    pub range_pa: Option<f64>,
    /// Whether air flows through it from pitot to static: lines on it cannot be tested for leaks.
    pub lets_air_through: bool,
}

/// Accuracy and noise of each kind. All are typed from memory of the data sheets, except the
/// BMP581's noise, which is that of its table "oversampling settings".
pub const SHEETS: &[Sheet] = &[
    // MS5611-01BA03: accuracy at 25 degrees and 750 mbar; resolution rms at oversampling 4096.
    barometer("ms5611", "MS5611", 150.0, 1.2),
    // BMP390: absolute accuracy, typical; noise at oversampling 4 (a guess: about its resolution
    // there, since the sheet's 0.02 Pa are those of the slowest setting).
    barometer("bmp390", "BMP390", 50.0, 0.65),
    // BMP581 and its kin: absolute accuracy; noise at oversampling 16.
    barometer("bmp581", "BMP581", 50.0, 0.21),
    barometer("bmp585", "BMP585", 50.0, 0.21),
    // DPS310 and SPL06 cannot be told apart. Absolute accuracy; noise at oversampling 4 is 0.5 Pa
    // of a DPS310, and about 2.4 of an SPL06 (twice its 1.2 at 16): between them.
    barometer("dps310", "DPS310 or SPL06", 100.0, 1.2),
    // MS4525DO: total error band 1 % of the span of two full scales; noise is about one of its
    // 14-bit counts. Both for 1 psi; `Sheet::scaled` gives those of other ranges.
    Sheet {
        kind: "ms4525do",
        name: "MS4525DO",
        accuracy_pa: 138.0,
        noise_pa: 1.05,
        range_pa: None,
        lets_air_through: false,
    },
    // SDP31, SDP32 and SDP33: zero accuracy (0.1 Pa of the SDP31); noise of a 20 ms average (a
    // guess).
    flow_sensor("sdp31", "SDP31", 500.0),
    flow_sensor("sdp32", "SDP32", 125.0),
    flow_sensor("sdp33", "SDP33", 1_500.0),
];

/// One psi, the range for which the MS4525DO's row is written.
const PSI_PA: f64 = 6_895.0;

const fn barometer(
    kind: &'static str,
    name: &'static str,
    accuracy_pa: f64,
    noise_pa: f64,
) -> Sheet {
    Sheet { kind, name, accuracy_pa, noise_pa, range_pa: None, lets_air_through: false }
}

/// A differential sensor that measures the flow which its pressure drives through it.
const fn flow_sensor(kind: &'static str, name: &'static str, range_pa: f64) -> Sheet {
    Sheet {
        kind,
        name,
        accuracy_pa: 0.2,
        noise_pa: 0.2,
        range_pa: Some(range_pa),
        lets_air_through: true,
    }
}

/// The sheet of the kind that the self-test names; `None` for one that is not in the table.
pub fn of(kind: &str) -> Option<&'static Sheet> {
    SHEETS.iter().find(|sheet| sheet.kind == kind)
}

impl Sheet {
    /// The same of a differential sensor whose full scale is set to `range_pa`; kinds with a scale
    /// of their own stay as they are.
    pub fn scaled(&self, range_pa: Pascal) -> Self {
        let factor = f64::from(range_pa.0) / PSI_PA;
        match self.range_pa {
            Some(_) => *self,
            None => Self {
                accuracy_pa: self.accuracy_pa * factor,
                noise_pa: self.noise_pa * factor,
                range_pa: Some(f64::from(range_pa.0)),
                ..*self
            },
        }
    }
}
