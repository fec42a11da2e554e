//! The pilots. Each circles to the right and wants a bank, by what he heard.

use super::harmonic::{Harmonic, over_last_turn};
use super::hearing::{EVERY, Hearing};
use std::collections::VecDeque;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Change of bank of who flattens and steepens, rad: about 10 degrees.
const FLATTENED_RAD: f64 = 0.175;
/// He compares with what he heard so long before.
const COMPARED_S: f64 = 1.5;
/// Change of what is heard that makes him use all of it, m/s (a guess).
const FULL_CHANGE_MPS: f64 = 2.5;
/// Bank of who rolls out towards the best heading, rad: 10 degrees.
const ROLLED_OUT_RAD: f64 = 0.175;
/// Best and worst are what sounded for so long (a guess).
const SUSTAINED_S: f64 = 1.0;
/// He rolls out for 1 to 3 s, longer where best and worst differ more, m/s (a guess).
const ROLLED_OUT_S: (f64, f64) = (1.0, 3.0);
const DIFFERENCES_MPS: (f64, f64) = (1.0, 6.0);
/// The glider follows so much later: he begins so much earlier.
const ROLLING_S: f64 = 0.3;
/// Greatest change of bank of the expert, rad, and the amplitude from which he uses all of it.
const EXPERT_RAD: f64 = 0.26;
const EXPERT_FULL_MPS: f64 = 3.0;
/// He begins to roll so much before the heading comes.
const EXPERT_LEAD_S: f64 = 0.3;

/// The expert thinks anew every so many steps: a quarter of a second.
const MAPPED_EVERY: usize = 12;

/// Who flies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pilot {
    /// Keeps the bank, whatever he hears.
    NeverCorrects,
    /// Steepens while it improves: the wrong way round.
    Tightens,
    /// Flattens while it improves, steepens while it worsens.
    Flattens,
    /// Remembers the best heading and rolls out a quarter circle before it comes again.
    BestHeading,
    /// Does both.
    Both,
    /// Keeps a map of the last turn in the head, and moves the circle all the time.
    Expert,
}

impl Pilot {
    /// Those whose climb is the measure of what they hear.
    pub const MEASURED: [Pilot; 4] =
        [Pilot::Flattens, Pilot::BestHeading, Pilot::Both, Pilot::Expert];

    /// Whether he allows for the lateness of what he hears.
    pub fn allows_for_lag(self) -> bool {
        matches!(self, Pilot::BestHeading | Pilot::Both | Pilot::Expert)
    }
}

/// A pilot at work.
#[derive(Clone, Debug)]
pub(super) struct AtWork {
    pilot: Pilot,
    allowance_s: f64,
    circle_rad: f64,
    reaction_steps: usize,
    /// What he has heard and not grasped yet.
    under_way: VecDeque<Option<f64>>,
    grasped_mps: Option<f64>,
    hearing: Hearing,
    map: Option<Harmonic>,
    plan: Plan,
    steps: usize,
}

/// What who rolls out is about to do.
#[derive(Clone, Copy, Debug)]
enum Plan {
    /// Listens for a whole turn, from this heading on.
    Listen { from_rad: f64 },
    /// Rolls out from this heading on, for so long.
    Wait { at_rad: f64, for_s: f64 },
    /// Rolls out until this step.
    RollOut { until: usize },
}

/// Turn rate a pilot counts with, rad/s: a circle in 18 s or so.
const TURN_RADPS: f64 = 0.33;

impl AtWork {
    pub(super) fn new(
        pilot: Pilot,
        allowance_s: f64,
        circle_rad: f64,
        reaction_s: f64,
        step_s: f64,
    ) -> Self {
        let hearing = Hearing::new(step_s);
        Self {
            pilot,
            allowance_s,
            circle_rad,
            reaction_steps: hearing.steps(reaction_s),
            under_way: VecDeque::new(),
            grasped_mps: None,
            hearing,
            map: None,
            plan: Plan::Listen { from_rad: f64::NEG_INFINITY },
            steps: 0,
        }
    }

    /// Takes what sounds now on the heading he believes to fly.
    pub(super) fn note(&mut self, heard_mps: Option<f64>, heading_rad: f64) {
        if self.steps == 0 {
            self.plan = Plan::Listen { from_rad: heading_rad };
        }
        self.under_way.push_back(heard_mps);
        if self.under_way.len() > self.reaction_steps {
            self.grasped_mps = self.under_way.pop_front().flatten();
        }
        self.hearing.note(self.grasped_mps, heading_rad);
        self.steps += 1;
    }

    /// The bank he wants.
    pub(super) fn bank_rad(&mut self) -> f64 {
        match self.pilot {
            Pilot::NeverCorrects => self.circle_rad,
            Pilot::Tightens => self.circle_rad - self.flattened_rad(),
            Pilot::Flattens => self.circle_rad + self.flattened_rad(),
            Pilot::BestHeading => self.rolled_out_rad().unwrap_or(self.circle_rad),
            Pilot::Both => {
                let flattened = self.circle_rad + self.flattened_rad();
                self.rolled_out_rad().unwrap_or(flattened)
            }
            Pilot::Expert => self.circle_rad + self.shifting_rad(),
        }
    }

    /// Less bank while it improves, more while it worsens.
    fn flattened_rad(&self) -> f64 {
        let (now, _) = self.hearing.ago(0.0);
        let (before, _) = self.hearing.ago(COMPARED_S);
        -FLATTENED_RAD * ((now - before) / FULL_CHANGE_MPS).clamp(-1.0, 1.0)
    }

    /// The bank of rolling out, while he does.
    fn rolled_out_rad(&mut self) -> Option<f64> {
        let (_, heading_rad) = self.hearing.ago(0.0);
        match self.plan {
            Plan::Listen { from_rad } if heading_rad - from_rad > TAU => {
                self.plan = self.planned(heading_rad);
                None
            }
            Plan::Wait { at_rad, for_s } if heading_rad >= at_rad => {
                self.plan = Plan::RollOut { until: self.steps + self.hearing.steps(for_s) };
                None
            }
            Plan::RollOut { until } if self.steps < until => Some(ROLLED_OUT_RAD),
            Plan::RollOut { .. } => {
                self.plan = Plan::Listen { from_rad: heading_rad };
                None
            }
            _ => None,
        }
    }

    /// What follows from the last turn.
    fn planned(&self, heading_rad: f64) -> Plan {
        let (mut best, mut worst) = ((f64::MIN, 0.0), f64::MAX);
        let sustained = self.hearing.steps(SUSTAINED_S);
        let late = self.hearing.steps(self.allowance_s - 0.5 * SUSTAINED_S);
        for steps in (0..self.hearing.oldest()).step_by(EVERY) {
            let (_, then_rad) = self.hearing.steps_ago(steps);
            let climb_mps = self.hearing.mean_mps(steps, sustained);
            if heading_rad - then_rad > TAU {
                break;
            }
            worst = climb_mps.min(worst);
            if climb_mps > best.0 {
                best = (climb_mps, self.hearing.steps_ago(steps + late).1);
            }
        }
        let (least, most) = DIFFERENCES_MPS;
        let difference = best.0 - worst;
        if difference < least {
            return Plan::Listen { from_rad: heading_rad };
        }
        let share = ((difference - least) / (most - least)).min(1.0);
        let for_s = ROLLED_OUT_S.0 + share * (ROLLED_OUT_S.1 - ROLLED_OUT_S.0);
        // The middle of rolling out is a quarter circle before the best heading.
        let early_rad = FRAC_PI_2 + TURN_RADPS * (ROLLING_S + 0.5 * for_s);
        let ahead_rad = (best.1 - early_rad - heading_rad).rem_euclid(TAU);
        Plan::Wait { at_rad: heading_rad + ahead_rad, for_s }
    }

    /// The expert's change of bank: that of who flattens until he has heard a whole turn; then
    /// flatter on the heading to the better side, steeper on the opposite one, so that the circle
    /// moves there.
    fn shifting_rad(&mut self) -> f64 {
        if self.steps.is_multiple_of(MAPPED_EVERY) {
            self.map = over_last_turn(&self.hearing, self.allowance_s);
        }
        let Some(map) = self.map else {
            return self.flattened_rad();
        };
        let (_, heading_rad) = self.hearing.ago(0.0);
        let soon_rad = heading_rad + TURN_RADPS * EXPERT_LEAD_S;
        let towards = libm::cos(soon_rad - (map.best_rad - 0.5 * PI));
        -EXPERT_RAD * (map.amplitude_mps / EXPERT_FULL_MPS).min(1.0) * towards
    }
}
