//! Flies the pilots with every set of sensors.

use super::bounds::{AIRS, MUST};
use super::pilots::Pilots;
use super::report::{AirReport, CentringReport, PilotReport, ShareRow};
use crate::error::Result;
use crate::response::with::With;
use chirrup_core::{
    EnergyChoice, EnergySettings, InertialChoice, InertialSettings, Settings, SoundMode,
    ToneSettings,
};
use chirrup_flight::centring::{Day, Pilot};
use std::sync::atomic::AtomicBool;

/// Climb of every measured pilot with a perfect tone, m/s.
type PerfectMps = [f64; Pilot::MEASURED.len()];

/// Measures what the pilots climb with the filter and the tone of `settings`, in `thermals`
/// thermals of each air, 1 to 10 000, with the pressures alone, with an inertial sensor and with a
/// satellite receiver as well; `interrupted` stops it between two thermals.
///
/// Of the other settings only `inertial` counts: the simulated sensors are without fault.
///
/// # Errors
/// On an interruption.
pub fn measure(
    settings: &Settings,
    thermals: u32,
    interrupted: &AtomicBool,
) -> Result<CentringReport> {
    let flown = flown(settings);
    let pipeline = flown.build().expect("the settings were checked");
    let pilots =
        |with| Pilots { pipeline: &pipeline, tone: &flown.tone, with, thermals, interrupted };
    let mut perfect_mps = Vec::new();
    for (_, day) in AIRS {
        perfect_mps.push(perfect(&pilots(With::Pressures), day)?);
    }
    let airs = |with| airs(&pilots(with), &perfect_mps);
    let alone = airs(With::Pressures)?;
    let [inertial, satellites] = if flown.inertial.choice == InertialChoice::Off {
        [alone.clone(), alone.clone()]
    } else {
        [airs(With::Inertial)?, airs(With::Satellites)?]
    };
    let shares = (0..AIRS.len()).map(|place| {
        let [alone, inertial, satellites] =
            [&alone, &inertial, &satellites].map(|of| of[place].share);
        ShareRow::new(AIRS[place].0, [alone, inertial, satellites], MUST[place])
    });
    Ok(CentringReport { thermals, shares: shares.collect(), airs: alone, inertial, satellites })
}

fn perfect(pilots: &Pilots<'_>, day: Day) -> Result<PerfectMps> {
    let mut perfect_mps = PerfectMps::default();
    for (mps, pilot) in perfect_mps.iter_mut().zip(Pilot::MEASURED) {
        *mps = pilots.perfect_mps(pilot, day)?;
    }
    Ok(perfect_mps)
}

/// What the pilots climb in every air.
fn airs(pilots: &Pilots<'_>, perfect_mps: &[PerfectMps]) -> Result<Vec<AirReport>> {
    let mut allowances_s = Vec::new();
    for pilot in Pilot::MEASURED {
        allowances_s.push(pilots.own_allowance_s(pilot)?);
    }
    let mut airs = Vec::new();
    for ((air, day), perfect_mps) in AIRS.into_iter().zip(perfect_mps) {
        let mut reports = Vec::new();
        for (place, pilot) in Pilot::MEASURED.into_iter().enumerate() {
            reports.push(pilots.report(pilot, day, allowances_s[place], perfect_mps[place])?);
        }
        airs.push(air_report(air, day, reports));
    }
    Ok(airs)
}

/// Filter and tone of `settings`, and whether an inertial sensor is used, as they are flown here.
fn flown(settings: &Settings) -> Settings {
    let tone = ToneSettings {
        mode: SoundMode::Climb,
        silent_until_launch: false,
        ..settings.tone.clone()
    };
    let energy = EnergySettings { choice: EnergyChoice::Electronic, ..EnergySettings::default() };
    let inertial =
        InertialSettings { choice: settings.inertial.choice, ..InertialSettings::default() };
    Settings { filter: settings.filter.clone(), tone, energy, inertial, ..Settings::default() }
}

fn air_report(air: &'static str, day: Day, pilots: Vec<PilotReport>) -> AirReport {
    let mean = |share: fn(&PilotReport) -> f64| {
        pilots.iter().map(share).sum::<f64>() / pilots.len() as f64
    };
    let unchanged_share = mean(|pilot| pilot.unchanged_share);
    let own_share = mean(|pilot| pilot.own_share);
    AirReport {
        air,
        turbulence_mps: day.turbulence_mps,
        gusts_mps: day.gusts_mps,
        unchanged_share,
        own_share,
        share: unchanged_share.min(own_share),
        pilots,
    }
}
