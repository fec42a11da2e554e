//! The instrument's side of the recorder: rows out, requests of the ports out, answers in, and UTC.

use super::changes::Refusal;
use super::{Instrument, Port, Save, mmps};
use crate::console::Answer;
use crate::gnss::pvt;
use crate::log::Columns;
use crate::recorder::flights::Read;
use crate::recorder::motion::Motion;
use crate::recorder::request::{Asked, Request};
use crate::recorder::row::Row;
use crate::recorder::state::State;
use crate::recorder::utc::Utc;
use chirrup_core::{Micros, RecordFrom};

/// Ticks without a sound after which it is silent, a second: no two beeps are further apart.
const SILENT_TICKS: u16 = 500;
/// So many after what was typed, two seconds, nothing stands still: a port might lose what follows.
const UNTOUCHED_TICKS: u16 = 1_000;

impl Instrument {
    /// The sample that was worked out last, once.
    pub fn take_row(&mut self) -> Option<Row> {
        self.recorder.get_or_insert_default();
        let sampled = self.sampler.take_worked_out()?;
        // The reading is the one of this sample.
        let reading = self.reading.as_ref().filter(|_| self.settings.device.record.has_speed());
        let vertical_speed_mmps = reading.and_then(mmps);
        Some(Row { sampled, vertical_speed_mmps })
    }

    /// When a flight begins that is recorded.
    pub fn record_from(&self) -> RecordFrom {
        self.settings.device.record
    }

    /// The columns that the log has from the last sample on.
    pub fn columns(&self) -> Columns {
        self.usb.columns()
    }

    /// What is known of the glider's motion.
    pub fn motion(&self) -> &Motion {
        &self.motion
    }

    /// The time of the last call.
    pub fn now(&self) -> Micros {
        self.now
    }

    /// Whether a port has its log on.
    pub fn is_logging(&self) -> bool {
        self.usb.log.is_on() || self.uart.log.is_on()
    }

    /// Whether flash may be erased now for what will be recorded, which stops everything for 45 to
    /// 400 ms: on the ground, where nothing sounds, and nobody types or is answered.
    pub fn may_stand_still(&self) -> bool {
        let is_idle = [&self.usb, &self.uart]
            .iter()
            .all(|port| !matches!(port.answer, Answer::Recorder(_) | Answer::Waiting));
        self.is_on_the_ground()
            && self.silent_ticks >= SILENT_TICKS
            && self.save == Save::None
            && self.zeroing.is_none()
            && is_idle
            && self.untouched_ticks >= UNTOUCHED_TICKS
    }

    /// Everything has stood still, which is not the sensors' fault.
    pub fn stood_still(&mut self) {
        self.sampler.stood_still();
    }

    /// UTC less the time of samples, in microseconds, once known.
    pub fn clock_us(&self) -> Option<i64> {
        self.clock_us
    }

    /// What a port wants of the recorder now; of two ports the one that asked first, to its end.
    pub fn wanted_of_recorder(&self) -> Option<(Port, Asked)> {
        let wanted = [(Port::Usb, &self.usb), (Port::Uart, &self.uart)];
        let wanted = wanted.into_iter().filter_map(|(port, console)| match console.answer {
            Answer::Recorder(asked) => Some((port, asked)),
            _ => None,
        });
        wanted.min_by_key(|(_, asked)| asked.turn)
    }

    /// Whether the other port wants something of the recorder, too.
    pub fn does_another_ask(&self, port: Port) -> bool {
        let other = if port == Port::Usb { &self.uart } else { &self.usb };
        matches!(other.answer, Answer::Recorder(_))
    }

    /// Whether the port takes another line.
    pub fn has_room(&mut self, port: Port) -> bool {
        self.console(port).has_room()
    }

    /// A line of an answer of the recorder.
    pub fn say_line(&mut self, port: Port, line: &str) {
        self.console(port).say(format_args!("{line}"));
    }

    /// Begins the rows of a flight: its UTC, then the header.
    pub fn begin_rows(&mut self, port: Port, clock_us: Option<i64>, columns: Columns) {
        let console = self.console(port);
        if let Some(clock) = clock_us {
            console.say(format_args!("time_us 0 is {}", Utc(clock)));
        }
        console.begin_flight(columns);
    }

    /// A row of a flight; false without room, and then `read` is what is left to be sent.
    pub fn send_row(&mut self, port: Port, read: &mut Read) -> bool {
        let console = self.console(port);
        if read.is_behind_gap {
            if !console.has_room() {
                return false;
            }
            read.is_behind_gap = false;
            console.say(format_args!("gap: rows are lost here, flash did not take them"));
        }
        console.send(&read.row, read.columns)
    }

    /// Ends an answer of the recorder.
    pub fn end_request(&mut self, port: Port, result: Result<(), &'static str>) {
        let console = self.console(port);
        console.answer = Answer::None;
        match result {
            Ok(()) => console.end(Ok(())),
            Err(why) => console.end(Err(format_args!("{why}"))),
        }
    }

    /// Takes the recorder's state; what is new and bad is said.
    pub fn recorder_is(&mut self, state: State) {
        let before = self.recorder.replace(state).unwrap_or_default();
        if state.is_full && !before.is_full {
            self.tell(format_args!(
                "recorder: no room is left that may be erased now; it goes on after the next start"
            ));
        } else if state.lost > 0 && before.lost == 0 {
            self.tell(format_args!("recorder: a page is lost; selftest counts them"));
        }
        let bad = |state: State| state.bad_places.saturating_add(state.bad_sectors);
        if bad(state) > 0 && bad(before) == 0 {
            self.tell(format_args!("recorder: flash failed and that place is skipped"));
        }
    }

    pub(super) fn ask_recorder(&mut self, port: Port, request: Request) {
        if self.recorder.is_none() {
            return self.console(port).end(Err(format_args!("this board has no recorder")));
        }
        self.asked_of_recorder = self.asked_of_recorder.wrapping_add(1);
        let turn = self.asked_of_recorder;
        self.console(port).answer = Answer::Recorder(Asked { turn, request });
    }

    /// Sets UTC, or tells it.
    pub(super) fn clock(&mut self, port: Port, utc: Option<Utc>) -> Result<(), Refusal> {
        if let Some(Utc(utc_us)) = utc {
            self.clock_us = Some(utc_us.saturating_sub(self.now.0));
            return Ok(());
        }
        let clock = self.clock_us.ok_or(Refusal::Words("UTC is not known; clock TIME sets it"))?;
        let utc = Utc(clock.saturating_add(self.now.0));
        self.console(port).say(format_args!("{utc}"));
        Ok(())
    }

    /// Takes the time of a satellite receiver, which is a moment old.
    pub(super) fn know_time(&mut self, utc: &pvt::Utc) {
        let known = Utc::of(utc.year, utc.month, utc.day, utc.time);
        self.clock_us = known.map(|Utc(utc_us)| utc_us.saturating_sub(self.now.0));
    }
}
