//! Whoever has the flash: keeps the recorder's pages when the bus is quiet, and answers what the
//! ports want of it.

use super::flights::{Flight, Read, Reading, Step, Survey};
use super::page::{CONTINUES, FIRST, GAP, LAST};
use super::request::{Asked, Request};
use super::ring::{KeepError, Ring};
use super::room::Erasing;
use super::state::State;
use super::taking::{Ready, Taking};
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
/// Places tried for one page before it is lost.
const MOST_FAILURES: u32 = 64;
/// A port that takes nothing for so long loses its turn to another that asks (a guess: a computer
/// that is busy takes some within a second).
const UNREAD: Micros = Micros(3_000_000);

/// The recorder with its flash.
pub struct Keeper<F> {
    flash: F,
    ring: Ring,
    taking: Taking,
    erasing: Erasing,
    /// A page that flash did not hold, and how often.
    refused: Option<(Ready, u32)>,
    /// Whether there is no erased place.
    is_full: bool,
    sending: Option<(Asked, Sending)>,
    /// When something was last sent, or asked.
    sent: Micros,
}

/// An answer under way.
#[expect(clippy::large_enum_variant, reason = "there is one, and no heap")]
enum Sending {
    Flights(Survey),
    Search(u16, Survey),
    /// A row that found no room comes again.
    Rows(Reading, Option<Read>),
}

impl<F: NorFlash> Keeper<F> {
    /// Opens the recorder in `range` of `flash`, whole erase sectors, and erases a little ahead;
    /// see [`super::room`]. `clock` is the time now.
    pub async fn open(
        mut flash: F,
        range: Range<u32>,
        reset: ResetCause,
        clock: impl Fn() -> Micros,
    ) -> Self {
        let mut ring = Ring::open(&mut flash, range).await;
        let erasing = Erasing::begin(&mut flash, &mut ring, reset, clock).await;
        Self {
            flash,
            ring,
            taking: Taking::default(),
            erasing,
            refused: None,
            is_full: false,
            sending: None,
            sent: Micros(0),
        }
    }

    /// The flash, for the settings.
    pub fn flash(&mut self) -> &mut F {
        &mut self.flash
    }

    /// Takes the sample that the instrument has just worked out. Writes one page, if there is time
    /// until the bus is needed; or erases one sector, where the instrument may stand still.
    pub async fn serve(&mut self, instrument: &mut Instrument, now: Micros, until: Micros) {
        if let Some(row) = instrument.take_row() {
            let (columns, clock_us) = (instrument.columns(), instrument.clock_us());
            let (motion, from) = (instrument.motion(), instrument.record_from());
            self.taking.take(&row, columns, motion, from, clock_us);
            instrument.recorder_is(self.state());
        }
        if until.since(now) < QUIET {
            return;
        }
        let refused = self.refused.take();
        if let Some((ready, failures)) =
            refused.or_else(|| self.taking.next_page().map(|ready| (ready, 0)))
        {
            self.keep(ready, failures, instrument).await;
        } else {
            self.erasing.step(&mut self.flash, &mut self.ring, instrument, now).await;
        }
    }

    async fn keep(&mut self, mut ready: Ready, failures: u32, instrument: &mut Instrument) {
        let flight = self.ring.flight().wrapping_add(u16::from(ready.flags & FIRST != 0)).max(1);
        let kept = self.ring.keep(&mut self.flash, &mut ready.bytes, flight, ready.flags).await;
        match kept {
            Ok(_) => {}
            Err(KeepError::Flash) if failures < MOST_FAILURES => {
                self.refused = Some((ready, failures + 1));
            }
            Err(_) => self.taking.lose(&ready),
        }
        self.is_full = kept == Err(KeepError::Full);
        instrument.recorder_is(self.state());
    }

    fn state(&self) -> State {
        let (bad_places, bad_sectors) = self.ring.bad();
        State {
            pages: self.ring.ready::<F>(),
            rows_a_page: self.taking.rows_a_page(),
            lost: self.taking.lost(),
            bad_places,
            bad_sectors,
            is_full: self.is_full,
        }
    }

    /// Goes on with what a port wants; whether there is more to do at once.
    pub async fn answer(&mut self, instrument: &mut Instrument) -> bool {
        let Some((port, asked)) = instrument.wanted_of_recorder() else {
            self.sending = None;
            return false;
        };
        if self.sending.as_ref().is_none_or(|(before, _)| *before != asked) {
            self.sent = instrument.now();
        } else if instrument.now().since(self.sent) > UNREAD && instrument.does_another_ask(port) {
            self.sending = None;
            instrument.end_request(port, Err("nobody read it, and the other port asked"));
            return true;
        }
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
                self.sent = instrument.now();
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
                self.sent = instrument.now();
                match survey.step(&mut self.flash, &self.ring).await {
                    Step::Flight(flight) if flight.number == number => {
                        let reading = Reading::of(&flight);
                        instrument.begin_rows(port, flight.clock_us, flight.columns);
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
                    let Some(next) = &mut row else {
                        instrument.end_request(port, Ok(()));
                        return None;
                    };
                    if !instrument.send_row(port, next) {
                        break;
                    }
                    self.sent = instrument.now();
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
        let words = [
            (flags & FIRST == 0, ", its beginning is gone"),
            (flags & CONTINUES != 0, ", begun in the air"),
            (flags & GAP != 0, ", with gaps"),
        ];
        // It fits.
        let _ = write!(line, "{number},");
        if let Some(clock) = clock_us {
            let _ = write!(line, "{}", Utc(begin.saturating_add(*clock)));
        }
        let seconds = |us: i64| Decimal((us / 100_000) as i32, 10);
        let _ = write!(line, ",{},{}", seconds(*begin), seconds(end.saturating_sub(*begin)));
        let _ = write!(line, ",{rows},{bytes},{state}");
        for (_, words) in words.iter().filter(|(is_so, _)| *is_so) {
            let _ = line.push_str(words);
        }
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
