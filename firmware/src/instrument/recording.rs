//! The instrument's side of the recorder: rows out, requests of the ports out, answers in, and UTC.

use super::changes::Refusal;
use super::{Instrument, Port, mmps};
use crate::console::Answer;
use crate::gnss::pvt;
use crate::recorder::request::{Asked, Request};
use crate::recorder::row::Row;
use crate::recorder::utc::Utc;
use chirrup_core::RecordFrom;

impl Instrument {
    /// The sample that was worked out last, once.
    pub fn take_row(&mut self) -> Option<Row> {
        self.has_recorder = true;
        let sampled = self.sampler.take_worked_out()?;
        // The reading is the one of this sample.
        let vertical_speed_mmps = self.reading.as_ref().and_then(mmps);
        Some(Row { sampled, vertical_speed_mmps })
    }

    /// When a flight begins that is recorded.
    pub fn record_from(&self) -> RecordFrom {
        self.settings.device.record
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

    /// Whether the port takes another line.
    pub fn has_room(&mut self, port: Port) -> bool {
        self.console(port).has_room()
    }

    /// A line of an answer of the recorder.
    pub fn say_line(&mut self, port: Port, line: &str) {
        self.console(port).say(format_args!("{line}"));
    }

    /// Begins the rows of a flight: its UTC, then the header.
    pub fn begin_rows(&mut self, port: Port, clock_us: Option<i64>) {
        let console = self.console(port);
        if let Some(clock) = clock_us {
            console.say(format_args!("time_us 0 is {}", Utc(clock)));
        }
        console.begin_flight();
    }

    /// A row of a flight; false without room.
    pub fn send_row(&mut self, port: Port, row: &Row) -> bool {
        self.console(port).send(row)
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

    /// The recorder has no room or its flash refuses; said once.
    pub fn recorder_stopped(&mut self) {
        self.tell(format_args!(
            "recorder: no room is left that may be erased now; it goes on after the next start"
        ));
    }

    pub(super) fn ask_recorder(&mut self, port: Port, request: Request) {
        if !self.has_recorder {
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
