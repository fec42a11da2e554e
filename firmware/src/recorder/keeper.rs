//! Whoever has the flash: keeps the recorder's pages when the bus is quiet, and answers what the
//! ports want of it.

use super::flights::{Flight, Reading, Step, Survey};
use super::page::{FIRST, LAST};
use super::request::{Asked, Request};
use super::ring::Ring;
use super::row::Row;
use super::taking::Taking;
use super::utc::Utc;
use crate::console::Line;
use crate::instrument::{Instrument, Port, ResetCause};
use crate::log::Decimal;
use chirrup_core::Micros;
use core::fmt::Write;
use core::ops::Range;
use embedded_storage_async::nor_flash::NorFlash;

/// Programming takes 0.4 ms and 3 ms at most (W25Q16JV data sheet, tPP; from memory): with less
/// time before the next transaction it waits.
const QUIET: Micros = Micros(3_500);
/// Rows sent before others get their turn.
const AT_ONCE: usize = 2;
/// Sectors erased after a restart without power where there is no page: 0.9 s at 45 ms.
const WITHOUT_PAGES: u32 = 20;

/// The recorder with its flash.
pub struct Keeper<F> {
    flash: F,
    ring: Ring,
    taking: Taking,
    /// Why nothing is kept any more.
    is_full: bool,
    sending: Option<(Asked, Sending)>,
}

/// An answer under way.
#[expect(clippy::large_enum_variant, reason = "there is one, and no heap")]
enum Sending {
    Flights(Survey),
    Search(u16, Survey),
    /// A row that found no room comes again.
    Rows(Reading, Option<Row>),
}

impl<F: NorFlash> Keeper<F> {
    /// Opens the recorder in `range` of `flash`, whole erase sectors. When power has just come it
    /// erases ahead: if less than half is free, until three quarters are, but nothing of the newest
    /// flight. After another restart, which may be in flight, it erases a second's worth where it
    /// finds no page, as in a flash that something else had, and otherwise nothing.
    pub async fn open(mut flash: F, range: Range<u32>, reset: ResetCause) -> Self {
        let mut ring = Ring::open(&mut flash, range).await;
        let (least, wanted) = (ring.places() / 2, ring.places() / 4 * 3);
        let sectors = match reset {
            ResetCause::Power => u32::MAX,
            _ if ring.next() == 0 => WITHOUT_PAGES,
            _ => 0,
        };
        if ring.erased(&mut flash, least).await < least {
            for _ in 0..sectors {
                let is_enough = ring.erased(&mut flash, wanted).await >= wanted;
                if is_enough || ring.erase_ahead(&mut flash).await.is_err() {
                    break;
                }
            }
        }
        Self { flash, ring, taking: Taking::default(), is_full: false, sending: None }
    }

    /// The flash, for the settings.
    pub fn flash(&mut self) -> &mut F {
        &mut self.flash
    }

    /// Takes the sample that the instrument has just worked out, and writes one page if there is
    /// time until the bus is needed.
    pub async fn serve(&mut self, instrument: &mut Instrument, now: Micros, until: Micros) {
        if let Some(row) = instrument.take_row() {
            self.taking.take(&row, instrument.record_from(), instrument.clock_us());
        }
        if until.since(now) < QUIET {
            return;
        }
        let Some(mut ready) = self.taking.next_page() else { return };
        if self.is_full && ready.flags & FIRST == 0 {
            return;
        }
        let flight = self.ring.flight().wrapping_add(u16::from(ready.flags & FIRST != 0)).max(1);
        let kept = self.ring.keep(&mut self.flash, &mut ready.bytes, flight, ready.flags).await;
        if kept.is_err() && !self.is_full {
            instrument.recorder_stopped();
        }
        self.is_full = kept.is_err();
    }

    /// Goes on with what a port wants; whether there is more to do at once.
    pub async fn answer(&mut self, instrument: &mut Instrument) -> bool {
        let Some((port, asked)) = instrument.wanted_of_recorder() else {
            self.sending = None;
            return false;
        };
        // What is left of an answer that the next command ended is not the answer to that.
        let sending = self.sending.take().filter(|(before, _)| *before == asked);
        let sending = sending.map(|(_, sending)| sending);
        let sending =
            sending.unwrap_or_else(|| Sending::begin(port, asked.request, &self.ring, instrument));
        let sending = self.go_on(port, sending, instrument).await;
        self.sending = sending.map(|sending| (asked, sending));
        self.sending.is_some()
    }

    async fn go_on(
        &mut self,
        port: Port,
        sending: Sending,
        instrument: &mut Instrument,
    ) -> Option<Sending> {
        match sending {
            Sending::Flights(mut survey) => {
                if !instrument.has_room(port) {
                    return Some(Sending::Flights(survey));
                }
                match survey.step(&mut self.flash, &self.ring).await {
                    Step::More => {}
                    Step::Flight(flight) => instrument.say_line(port, &self.line(&flight)),
                    Step::End => {
                        instrument.end_request(port, Ok(()));
                        return None;
                    }
                }
                Some(Sending::Flights(survey))
            }
            Sending::Search(number, mut survey) => {
                match survey.step(&mut self.flash, &self.ring).await {
                    Step::Flight(flight) if flight.number == number => {
                        let reading = Reading::of(&flight);
                        instrument.begin_rows(port, flight.clock_us);
                        return Some(Sending::Rows(reading, None));
                    }
                    Step::End => {
                        instrument.end_request(port, Err("no such flight; flights lists them"));
                        return None;
                    }
                    _ => {}
                }
                Some(Sending::Search(number, survey))
            }
            Sending::Rows(mut reading, mut row) => {
                for _ in 0..AT_ONCE {
                    if row.is_none() {
                        row = reading.next(&mut self.flash, &self.ring).await;
                    }
                    let Some(next) = &row else {
                        instrument.end_request(port, Ok(()));
                        return None;
                    };
                    if !instrument.send_row(port, next) {
                        break;
                    }
                    row = None;
                }
                Some(Sending::Rows(reading, row))
            }
        }
    }

    /// A flight as a line.
    fn line(&self, flight: &Flight) -> Line {
        let Flight { number, rows, bytes, time_us: (begin, end), clock_us, flags, .. } = flight;
        let mut line = Line::new();
        let is_running = self.taking.is_keeping() && *number == self.ring.flight();
        let state = match (flags & LAST != 0, is_running) {
            (true, _) => "ended",
            (false, true) if self.is_full => "stopped, no room",
            (false, true) => "running",
            (false, false) => "cut off",
        };
        let beginning = if flags & FIRST != 0 { "" } else { ", its beginning is gone" };
        // It fits.
        let _ = write!(line, "{number},");
        if let Some(clock) = clock_us {
            let _ = write!(line, "{}", Utc(begin.saturating_add(*clock)));
        }
        let seconds = |us: i64| Decimal((us / 100_000) as i32, 10);
        let _ = write!(line, ",{},{}", seconds(*begin), seconds(end.saturating_sub(*begin)));
        let _ = write!(line, ",{rows},{bytes},{state}{beginning}");
        line
    }
}

impl Sending {
    fn begin(port: Port, request: Request, ring: &Ring, instrument: &mut Instrument) -> Self {
        match request {
            Request::Flights => {
                let mut header = Line::new();
                let _ = header.push_str("flight,utc,begin_s,seconds,rows,bytes,state");
                instrument.say_line(port, &header);
                Self::Flights(Survey::of(ring))
            }
            Request::Fetch(number) => Self::Search(number, Survey::of(ring)),
        }
    }
}
