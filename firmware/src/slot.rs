//! One sensor's place in the instrument: which kinds are possible, which one is there, whether it
//! works, and its figures.
//!
//! ```text
//! SEEKING: candidate 1 -> 2 -> .. -> none found, rest half a second -> 1 ..
//!    | one is ready                                   ^
//!    v                                                | 10 failures in a row (0.2 s): lost
//!  LIVE --------------------------------------------->+
//!    | one value for a second, where values used to change: frozen;
//!    | restarted every five seconds until they change
//! ```
//!
//! A fault ends with the first good measurement.

use crate::meter::Meter;
use crate::quality::QualityMeter;
use chirrup_core::Micros;
use chirrup_sensors::bmp390::driver::Bmp390;
use chirrup_sensors::bmp581::driver::Bmp581;
use chirrup_sensors::bus::BusFault;
use chirrup_sensors::dps310::driver::Dps310;
use chirrup_sensors::ms4525::driver::Ms4525;
use chirrup_sensors::ms5611::driver::Ms5611;
use chirrup_sensors::sdp3x::driver::Sdp3x;
use chirrup_sensors::sensor::{
    Driver, Fault, Measured, Measurement, Outcome, Wanted, after, frame_of,
};

/// Sensors that a place can look for.
pub const MOST_CANDIDATES: usize = 8;
/// Failures in a row after which a sensor is lost.
const LOST_AFTER: u8 = 10;
/// Between two searches of all candidates.
const REST: Micros = Micros(500_000);
/// This many changes of value show that a sensor works; as in the core's `sensing::repeats`.
const CHANGES_TO_KNOW: u16 = 32;
/// A frozen sensor is restarted each time it has repeated its value this often.
const REPEATS_TO_RESTART: u16 = 250;

/// A sensor at an address, which a slot may look for.
pub trait Sought: Copy {
    /// What it measures.
    type Measurement: Measured;
    /// The driver of any of its kind.
    type Device: Clone;
    /// What gathers its figures.
    type Meter: Meter<Self::Measurement>;

    /// Its driver at the start.
    fn device(self) -> Self::Device;
    /// The driver, to be asked.
    fn driver(device: &Self::Device) -> &dyn Driver<Self::Measurement>;
    /// The driver, to be served.
    fn driver_mut(device: &mut Self::Device) -> &mut dyn Driver<Self::Measurement>;
}

/// A pressure sensor at an address.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Candidate {
    /// MS5611 at this address.
    Ms5611(u8),
    /// BMP390 at this address.
    Bmp390(u8),
    /// BMP581, BMP580 or BMP585 at this address.
    Bmp581(u8),
    /// DPS310 or SPL06 at this address.
    Dps310(u8),
    /// MS4525DO.
    Ms4525(chirrup_sensors::ms4525::Scale),
    /// SDP31, SDP32 or SDP33 at this address.
    Sdp3x(u8),
}

/// The driver of any of them.
#[derive(Clone, Debug)]
pub enum Device {
    /// Of an MS5611.
    Ms5611(Ms5611),
    /// Of a BMP390.
    Bmp390(Bmp390),
    /// Of a BMP581.
    Bmp581(Bmp581),
    /// Of a DPS310.
    Dps310(Dps310),
    /// Of an MS4525DO.
    Ms4525(Ms4525),
    /// Of an SDP31, SDP32 or SDP33.
    Sdp3x(Sdp3x),
}

/// The condition of a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Condition {
    /// The search is not finished.
    Seeking,
    /// It measures.
    Live,
    /// It was never found; the most informative fault of the candidates.
    Absent(Fault),
    /// It was there, and now has this fault.
    Lost(Fault),
}

/// A place for one sensor.
#[derive(Clone, Debug)]
pub struct Slot<C: Sought = Candidate> {
    candidates: heapless::Vec<C, MOST_CANDIDATES>,
    place: usize,
    device: C::Device,
    is_ready: bool,
    /// The one that has measured.
    known: Option<(&'static str, u8)>,
    fault: Option<Fault>,
    /// The most informative fault of the search under way.
    search: Fault,
    failures: u8,
    rests_until: Micros,
    /// Searches of all candidates that are left while none has been found; `None` without end.
    searches: Option<u8>,
    latest: Option<C::Measurement>,
    repeats: u16,
    changes: u16,
    frozen_after: u16,
    quality: C::Meter,
    last_failed_frame: i64,
}

impl Sought for Candidate {
    type Measurement = Measurement;
    type Device = Device;
    type Meter = QualityMeter;

    fn device(self) -> Device {
        match self {
            Candidate::Ms5611(address) => Device::Ms5611(Ms5611::new(address)),
            Candidate::Bmp390(address) => Device::Bmp390(Bmp390::new(address)),
            Candidate::Bmp581(address) => Device::Bmp581(Bmp581::new(address)),
            Candidate::Dps310(address) => Device::Dps310(Dps310::new(address)),
            Candidate::Ms4525(scale) => Device::Ms4525(Ms4525::new(scale)),
            Candidate::Sdp3x(address) => Device::Sdp3x(Sdp3x::new(address)),
        }
    }

    fn driver(device: &Device) -> &dyn Driver {
        match device {
            Device::Ms5611(driver) => driver,
            Device::Bmp390(driver) => driver,
            Device::Bmp581(driver) => driver,
            Device::Dps310(driver) => driver,
            Device::Ms4525(driver) => driver,
            Device::Sdp3x(driver) => driver,
        }
    }

    fn driver_mut(device: &mut Device) -> &mut dyn Driver {
        match device {
            Device::Ms5611(driver) => driver,
            Device::Bmp390(driver) => driver,
            Device::Bmp581(driver) => driver,
            Device::Dps310(driver) => driver,
            Device::Ms4525(driver) => driver,
            Device::Sdp3x(driver) => driver,
        }
    }
}

impl Slot {
    /// Whether its readings must be corrected by the static pressure, as those of a flow; see
    /// [`chirrup_sensors::sdp3x`].
    pub fn measures_a_flow(&self) -> bool {
        matches!(self.device, Device::Sdp3x(_))
    }
}

impl<C: Sought> Slot<C> {
    /// A place for the first of `first` and `others` that is found, [`MOST_CANDIDATES`] in all,
    /// which counts as frozen after this many equal values.
    pub fn new(first: C, others: &[C], frozen_after: u16) -> Self {
        let all = core::iter::once(first).chain(others.iter().copied());
        let candidates = all.take(MOST_CANDIDATES).collect();
        Self {
            candidates,
            place: 0,
            device: first.device(),
            is_ready: false,
            known: None,
            fault: None,
            search: Fault::NoAnswer,
            failures: 0,
            rests_until: Micros(i64::MIN),
            searches: None,
            latest: None,
            repeats: 0,
            changes: 0,
            frozen_after,
            quality: C::Meter::default(),
            last_failed_frame: i64::MIN,
        }
    }

    /// The same, but not looked for any more where so many searches found none.
    pub fn of_the_start(first: C, others: &[C], frozen_after: u16, searches: u8) -> Self {
        Self { searches: Some(searches), ..Self::new(first, others, frozen_after) }
    }

    /// Its request for the bus.
    pub fn wanted(&mut self, now: Micros) -> Wanted {
        if now < self.rests_until {
            return Wanted::Nothing(self.rests_until);
        }
        C::driver_mut(&mut self.device).wanted(now)
    }

    /// Takes the answer to its request; returns a measurement, if it is one.
    pub fn answer(
        &mut self,
        now: Micros,
        answer: Result<&[u8], BusFault>,
    ) -> Option<C::Measurement> {
        match C::driver_mut(&mut self.device).answer(now, answer) {
            Outcome::Going => None,
            Outcome::Ready => {
                self.is_ready = true;
                self.failures = 0;
                None
            }
            Outcome::Measured(measurement) => {
                self.measured(measurement);
                Some(measurement)
            }
            Outcome::Failed(fault) => {
                self.last_failed_frame = frame_of(now);
                self.failed(now, fault);
                None
            }
        }
    }

    /// Its condition.
    pub fn condition(&self) -> Condition {
        match self.fault {
            Some(fault) if self.known.is_some() => Condition::Lost(fault),
            Some(fault) => Condition::Absent(fault),
            None if self.known.is_some() => Condition::Live,
            None => Condition::Seeking,
        }
    }

    /// Its last measurement, of any age.
    pub fn latest(&self) -> Option<C::Measurement> {
        self.latest
    }

    /// Its measurement in a frame.
    pub fn measured_in(&self, frame: i64) -> Option<C::Measurement> {
        self.latest.filter(|latest| self.is_ready && frame_of(latest.time()) == frame)
    }

    /// Whether a measurement in this frame may still come.
    pub fn may_measure_in(&self, frame: i64) -> bool {
        self.is_ready
            && self.failures == 0
            && self.last_failed_frame != frame
            && self.measured_in(frame).is_none()
    }

    /// Kind and address of the one that has measured, or of the one that is looked for now.
    pub fn identity(&self) -> (&'static str, u8) {
        self.known.unwrap_or((self.driver().name(), self.driver().address()))
    }

    /// Its figures.
    pub fn quality(&self) -> Option<<C::Meter as Meter<C::Measurement>>::Figures> {
        self.quality.latest()
    }

    /// The processor has stood still: what the sensor then missed is not its fault.
    pub fn stood_still(&mut self) {
        self.quality.restart();
    }

    fn driver(&self) -> &dyn Driver<C::Measurement> {
        C::driver(&self.device)
    }

    fn measured(&mut self, measurement: C::Measurement) {
        self.failures = 0;
        self.known = Some((self.driver().name(), self.driver().address()));
        let is_repeated = self.latest.is_some_and(|latest| latest.counts() == measurement.counts());
        self.latest = Some(measurement);
        self.quality.step(measurement);
        if !is_repeated {
            self.repeats = 0;
            self.changes = self.changes.saturating_add(1);
            self.fault = None;
            return;
        }
        self.repeats = self.repeats.saturating_add(1);
        if self.changes < CHANGES_TO_KNOW {
            self.fault = None;
        } else if self.repeats >= self.frozen_after {
            self.fault = Some(Fault::Frozen);
            if self.repeats.is_multiple_of(REPEATS_TO_RESTART) {
                self.begin_again();
            }
        }
    }

    fn failed(&mut self, now: Micros, fault: Fault) {
        if self.is_ready {
            self.failures = self.failures.saturating_add(1);
            if self.failures >= LOST_AFTER {
                self.fault = Some(fault);
                self.search = fault;
                self.begin_again();
            }
            return;
        }
        if how_telling(fault) >= how_telling(self.search) {
            self.search = fault;
        }
        self.place += 1;
        if self.place >= self.candidates.len() {
            self.place = 0;
            self.rests_until = self.next_search(now);
            if self.fault != Some(Fault::Frozen) {
                self.fault = Some(self.search);
            }
            self.search = Fault::NoAnswer;
        }
        self.begin_again();
    }

    /// When to search again after a search without result.
    fn next_search(&mut self, now: Micros) -> Micros {
        match self.searches.as_mut().filter(|_| self.known.is_none()) {
            Some(left @ 2..) => *left -= 1,
            Some(_) => return Micros(i64::MAX),
            None => {}
        }
        after(now, REST)
    }

    /// Restarts with the same candidate as if it had never been seen.
    fn begin_again(&mut self) {
        self.is_ready = false;
        self.failures = 0;
        if let Some(candidate) = self.candidates.get(self.place) {
            self.device = candidate.device();
        }
    }
}

/// Of several candidates' faults, the one to report: a device's own report is worth more than
/// silence, and of equals the later, since what answers at another kind's identity may be anything.
fn how_telling(fault: Fault) -> u8 {
    match fault {
        Fault::NoAnswer => 0,
        // An MS5611 answers this when asked for an identity, which it does not have.
        Fault::WrongIdentity(0x00 | 0xFF) => 1,
        Fault::Broken | Fault::NoResult | Fault::Frozen | Fault::Overrun => 2,
        Fault::BusStuck | Fault::SaysFaulty | Fault::BeyondRange | Fault::Restarted => 3,
        // A device of another kind has no valid calibration either.
        Fault::BadCalibration => 4,
        Fault::WrongIdentity(_) => 5,
        // It is known what is there, whatever another kind finds at it later.
        Fault::Spl07OrSpa06 => 6,
    }
}
