//! Cost of a sample and of a control tick, by kind of flight, mean and worst.
//!
//! A line is `machine flight what unit mean worst`; `firmware/cost.sh` makes the table of them.

use crate::machine::{self, Work};
use crate::{host, stack};
use chirrup_core::{Pipeline, PipelineState, PolarSettings, Sample, Settings, SettingsError, TICK};
use chirrup_parity::air::{Air, Equipment};
use core::fmt::Write;
use core::hint::black_box;

/// Samples before measuring begins, so that the filter has settled.
const BEFORE: u32 = machine::MEASURED / 4;
/// Samples measured.
const MEASURED: u32 = machine::MEASURED;
const TICKS_A_SAMPLE: u32 = 20_000 / TICK.0 as u32;

/// Many measurements of one quantity.
#[derive(Default)]
struct Tally {
    count: u32,
    instructions: u64,
    cycles: u64,
    most: Work,
}

impl Tally {
    fn add(&mut self, work: Work) {
        self.count += 1;
        self.instructions += u64::from(work.instructions);
        self.cycles += u64::from(work.cycles);
        self.most.instructions = self.most.instructions.max(work.instructions);
        self.most.cycles = self.most.cycles.max(work.cycles);
    }

    /// Writes the result less the cost of reading the clock.
    fn lines(&self, flight: &str, what: &str, looking: &Tally) {
        let mean = |sum: u64, empty: u64| {
            (sum / u64::from(self.count)).saturating_sub(empty / u64::from(looking.count))
        };
        let instructions = mean(self.instructions, looking.instructions);
        let _ = writeln!(
            host::Console,
            "{} {flight} {what} instructions {instructions} {}",
            machine::NAME,
            self.most.instructions
        );
        if self.cycles > 0 {
            let cycles = mean(self.cycles, looking.cycles);
            let _ = writeln!(
                host::Console,
                "{} {flight} {what} cycles {cycles} {}",
                machine::NAME,
                self.most.cycles
            );
        }
    }
}

fn measure(tally: &mut Tally, run: impl FnOnce()) {
    let before = machine::now();
    run();
    tally.add(machine::now().since(before));
}

/// An instrument under measurement.
struct Subject {
    pipeline: Pipeline,
    state: PipelineState,
}

impl Subject {
    #[inline(never)]
    fn step(&mut self, sample: &Sample) {
        black_box(self.pipeline.step(&mut self.state, black_box(sample)));
    }

    #[inline(never)]
    fn tick(&mut self) {
        black_box(self.pipeline.tick(&mut self.state));
    }
}

/// Measures and writes everything.
pub fn report() -> Result<(), SettingsError> {
    machine::start();
    let mut looking = Tally::default();
    for _ in 0..MEASURED {
        measure(&mut looking, || {});
    }
    let netto = Settings { polar: Some(PolarSettings::default()), ..Settings::default() };
    fly("static", &Settings::default(), Equipment::Static, &looking)?;
    fly("pitot_netto", &netto, Equipment::Pitot, &looking)?;
    fly("probe", &Settings::default(), Equipment::Probe, &looking)?;
    fly("inertial", &netto, Equipment::Inertial, &looking)
}

fn fly(
    name: &str,
    settings: &Settings,
    equipment: Equipment,
    looking: &Tally,
) -> Result<(), SettingsError> {
    let mut air = Air::new(20, equipment).fair();
    let mut subject = Subject { pipeline: settings.build()?, state: PipelineState::default() };
    let (mut samples, mut ticks, mut deepest) = (Tally::default(), Tally::default(), 0);
    for _ in 0..BEFORE {
        let sample = air.next_sample();
        deepest = deepest.max(stack::depth(|| subject.step(&sample)));
        deepest = deepest.max(stack::depth(|| subject.tick()));
    }
    for _ in 0..MEASURED {
        let sample = air.next_sample();
        measure(&mut samples, || subject.step(&sample));
        for _ in 0..TICKS_A_SAMPLE {
            measure(&mut ticks, || subject.tick());
        }
    }
    samples.lines(name, "sample", looking);
    ticks.lines(name, "tick", looking);
    let _ = writeln!(host::Console, "{} {name} stack bytes {deepest} {deepest}", machine::NAME);
    Ok(())
}
