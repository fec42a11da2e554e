//! Every control of a session, with its range.

use super::cockpit::OFF_DB;
use crate::inject::catalogue::Kind;
use chirrup_core::{EnergyChoice, FilterChoice, Speaker};
use chirrup_flight::hand::pilot::{DEFAULT_SPEED_MPS, Phase, Wish};
use chirrup_flight::hand::{Asked, air};

/// The faults of [`Control::Fault`], in the order of its numbers.
const FAULTS: [Option<Kind>; 4] = [None, Some(Kind::Frozen), Some(Kind::Lost), Some(Kind::Swapped)];

/// The choices of [`Control::Energy`], in the order of its numbers.
const ENERGIES: [EnergyChoice; 4] =
    [EnergyChoice::None, EnergyChoice::Electronic, EnergyChoice::Probe, EnergyChoice::Auto];

/// A control, as programs number them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Control {
    /// Vertical speed of the air, m/s.
    Air,
    /// Indicated airspeed to fly, m/s.
    Speed,
    /// Bank, degrees; 0 is straight on.
    Bank,
    /// Vertical speed of the air in the middle of the thermal, m/s.
    Thermal,
    /// Distance from the centre of the thermal to that of the circle, m.
    Offset,
    /// 0 no compensation, 1 electronic, 2 probe, 3 the best that the sensors give.
    Energy,
    /// 0 fixed filter, 1 adaptive.
    Filter,
    /// Response time, s.
    Response,
    /// Sensor noise, m.
    Noise,
    /// 0 none, 1 frozen, 2 lost, 3 tubes swapped: faults of [`crate::inject`].
    Fault,
    /// 0 one instrument, 1 the uncompensated one in the right ear.
    Two,
    /// Volume, 0 to 10.
    Volume,
    /// 1 is mute.
    Mute,
    /// Cockpit noise, rms in dB below full scale; the smallest value is off.
    Cockpit,
    /// What it is played on: 0 flat, 1 small, 2 piezo, the order of [`Speaker::ALL`].
    Speaker,
}

/// Smallest and largest value, and the step of a key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest.
    pub least: f64,
    /// Largest.
    pub most: f64,
    /// Step of a key.
    pub step: f64,
}

impl Control {
    /// All, in the order of their numbers.
    pub const ALL: [Control; 15] = [
        Control::Air,
        Control::Speed,
        Control::Bank,
        Control::Thermal,
        Control::Offset,
        Control::Energy,
        Control::Filter,
        Control::Response,
        Control::Noise,
        Control::Fault,
        Control::Two,
        Control::Volume,
        Control::Mute,
        Control::Cockpit,
        Control::Speaker,
    ];

    /// Its range; values outside are clamped.
    pub fn range(self) -> Range {
        let (least, most, step) = match self {
            Control::Air => (-6.0, 8.0, 0.5),
            Control::Speed => (20.0, 50.0, 1.0),
            Control::Bank => (0.0, 50.0, 5.0),
            Control::Thermal => (0.0, 8.0, 0.5),
            Control::Offset => (0.0, 150.0, 10.0),
            Control::Energy => (0.0, 3.0, 1.0),
            Control::Speaker => (0.0, 2.0, 1.0),
            Control::Filter | Control::Two | Control::Mute => (0.0, 1.0, 1.0),
            Control::Response => (0.3, 5.0, 0.1),
            Control::Noise => (0.0, 1.0, 0.05),
            Control::Fault => (0.0, 3.0, 1.0),
            Control::Volume => (0.0, 10.0, 1.0),
            Control::Cockpit => (OFF_DB, -12.0, 3.0),
        };
        Range { least, most, step }
    }

    /// Whether turning it ends a lesson. Volume, mute and the settings of the instrument do not.
    pub fn is_of_the_flight(self) -> bool {
        matches!(
            self,
            Control::Air
                | Control::Speed
                | Control::Bank
                | Control::Thermal
                | Control::Offset
                | Control::Fault
        )
    }
}

/// What the controls are set to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Controls {
    /// Vertical speed of the air, m/s.
    pub air_mps: f64,
    /// Indicated airspeed to fly, m/s.
    pub speed_mps: f64,
    /// Bank, degrees.
    pub bank_deg: f64,
    /// Vertical speed of the air in the middle of the thermal, m/s.
    pub thermal_mps: f64,
    /// Distance from the centre of the thermal to that of the circle, m.
    pub offset_m: f64,
    /// How the glider flies.
    pub phase: Phase,
    /// Sensor noise, m.
    pub noise_m: f64,
    /// The present fault: one of those of `--inject`.
    pub fault: Option<Kind>,
    /// The source of total energy of the left instrument.
    pub energy: EnergyChoice,
    /// The filter of both.
    pub filter: FilterChoice,
    /// Response time of both, s.
    pub response_s: f64,
    /// Whether the right ear gets the uncompensated instrument.
    pub two: bool,
    /// Volume, 0 to 10.
    pub volume: f64,
    /// Nothing is heard.
    pub muted: bool,
    /// Cockpit noise, dB.
    pub cockpit_db: f64,
    /// What both are played on.
    pub speaker: Speaker,
}

impl Default for Controls {
    fn default() -> Self {
        Self {
            air_mps: 0.0,
            speed_mps: DEFAULT_SPEED_MPS,
            bank_deg: 0.0,
            thermal_mps: 0.0,
            offset_m: 0.0,
            phase: Phase::Free,
            noise_m: 0.05,
            fault: None,
            energy: EnergyChoice::Electronic,
            filter: FilterChoice::Adaptive,
            response_s: 1.0,
            two: false,
            volume: 8.0,
            muted: false,
            cockpit_db: OFF_DB,
            speaker: Speaker::default(),
        }
    }
}

impl Controls {
    /// Sets a control; a value outside its range becomes the nearest one inside.
    pub fn set(&mut self, control: Control, value: f64) {
        let Range { least, most, .. } = control.range();
        let value = if value.is_nan() { least } else { value.clamp(least, most) };
        // Choices are whole numbers.
        let chosen = libm::round(value) as usize;
        match control {
            Control::Air => self.air_mps = value,
            Control::Speed => self.speed_mps = value,
            Control::Bank => self.bank_deg = value,
            Control::Thermal => self.thermal_mps = value,
            Control::Offset => self.offset_m = value,
            Control::Energy => {
                self.energy = ENERGIES[chosen];
            }
            Control::Filter => self.filter = [FilterChoice::Fixed, FilterChoice::Adaptive][chosen],
            Control::Response => self.response_s = value,
            Control::Noise => self.noise_m = value,
            Control::Fault => {
                self.fault = FAULTS[chosen];
            }
            Control::Two => self.two = chosen == 1,
            Control::Volume => self.volume = value,
            Control::Mute => self.muted = chosen == 1,
            Control::Cockpit => self.cockpit_db = value,
            Control::Speaker => self.speaker = Speaker::ALL[chosen],
        }
    }

    /// What a control is set to.
    pub fn get(&self, control: Control) -> f64 {
        match control {
            Control::Air => self.air_mps,
            Control::Speed => self.speed_mps,
            Control::Bank => self.bank_deg,
            Control::Thermal => self.thermal_mps,
            Control::Offset => self.offset_m,
            Control::Energy => {
                ENERGIES.iter().position(|energy| *energy == self.energy).unwrap_or(0) as f64
            }
            Control::Filter => f64::from(self.filter == FilterChoice::Adaptive),
            Control::Response => self.response_s,
            Control::Noise => self.noise_m,
            Control::Fault => {
                FAULTS.iter().position(|fault| *fault == self.fault).unwrap_or(0) as f64
            }
            Control::Two => f64::from(self.two),
            Control::Volume => self.volume,
            Control::Mute => f64::from(self.muted),
            Control::Cockpit => self.cockpit_db,
            Control::Speaker => {
                Speaker::ALL.iter().position(|known| *known == self.speaker).unwrap_or(0) as f64
            }
        }
    }

    /// Still air, straight flight, nothing broken; the instruments stay as they are set.
    pub fn calm(&mut self) {
        let calm = Self::default();
        *self = Self {
            energy: self.energy,
            filter: self.filter,
            response_s: self.response_s,
            noise_m: self.noise_m,
            two: self.two,
            volume: self.volume,
            muted: self.muted,
            cockpit_db: self.cockpit_db,
            speaker: self.speaker,
            ..calm
        };
    }

    /// The inputs of the flight.
    pub fn asked(&self) -> Asked {
        Asked {
            air: air::Asked {
                rise_mps: self.air_mps,
                thermal_mps: self.thermal_mps,
                offset_m: self.offset_m,
            },
            wish: Wish { speed_mps: self.speed_mps, bank_deg: self.bank_deg, phase: self.phase },
            noise_m: self.noise_m,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_control_keeps_what_it_is_given_and_brings_the_rest_inside() {
        for control in Control::ALL {
            let mut controls = Controls::default();
            let Range { least, most, step } = control.range();
            for (value, expected) in [
                (least, least),
                (most, most),
                (least + step, least + step),
                (most + 1e9, most),
                (-1e9, least),
                (f64::NAN, least),
            ] {
                controls.set(control, value);
                assert_eq!(controls.get(control), expected, "{control:?} at {value}");
            }
        }
    }

    #[test]
    fn the_numbers_of_the_controls_are_their_places() {
        for (place, control) in Control::ALL.into_iter().enumerate() {
            assert_eq!(control as usize, place);
        }
    }
}
