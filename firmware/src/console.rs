//! Text of one port: bytes in become lines, lines out become bytes, and neither direction waits for
//! the other.
//!
//! ```text
//! answers begin with "# ", the last of each is "# ok" or "# error: .."
//! events begin with "#! ", time first
//! everything else is the log: its header and its rows
//! ```
//!
//! So a recording of everything that the port sends is a trace: its reader skips lines that begin
//! with #. A line that does not fit the buffer is dropped whole. Rows of the log leave room for
//! answers, so that commands still work on a port that nobody reads.

use crate::keys::Cursor;
use crate::log::{self, Columns, Log};
use crate::recorder::request::Asked;
use crate::recorder::row::Row;
use crate::sampler::Sampled;
use core::fmt::{self, Write};
use heapless::{Deque, String, Vec};

/// Longest line that is written, with its `# `, without its line end.
pub const LONGEST_LINE: usize = 140;
/// Longest row of the log, with an inertial sensor.
const LONGEST_ROW: usize = 240;
/// Longest line that is read: a whole tone table.
pub const LONGEST_INPUT: usize = 1_500;
/// Bytes that may arrive while an answer is being written.
const WAITING: usize = 512;
/// Bytes waiting to be sent.
const OUTPUT: usize = 1_024;
/// Kept free of the log's rows, for answers.
const FOR_ANSWERS: usize = 2 * LONGEST_LINE;

/// A line being assembled.
pub type Line = String<LONGEST_LINE>;

/// An answer of several lines, and how much of it has been written.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Answer {
    /// None.
    #[default]
    None,
    /// The answer follows later, when something is done.
    Waiting,
    /// Whoever has the recorder's flash answers, a line or a row at a time.
    Recorder(Asked),
    /// The help from this line on.
    Help(usize),
    /// Settings whose names begin with this, from a place on.
    Settings(Cursor, String<40>),
    /// The self-test's report from this line on.
    SelfTest(usize),
    /// What the inertial sensor does for the reading, from this line on.
    Inertial(usize),
    /// The greeting for whoever opens the port, from this line on.
    Greeting(usize),
}

/// One port.
#[derive(Debug, Default)]
pub struct Console {
    input: Vec<u8, LONGEST_INPUT>,
    is_overlong: bool,
    /// Bytes received while an answer was being written.
    waiting: Deque<u8, WAITING>,
    lost_input: bool,
    output: Deque<u8, OUTPUT>,
    /// The answer that is being written.
    pub answer: Answer,
    /// The log of this port.
    pub log: Log,
    /// Columns that the samples so far needed.
    seen: Columns,
    /// Those of the log's last header, and of the last one of a flight that is being sent.
    columns: Option<Columns>,
    sent_columns: Option<Columns>,
}

/// A line that was read, or why it could not be: too long, too fast, or not text.
pub type Input = Result<String<LONGEST_INPUT>, &'static str>;

impl Console {
    /// A port that is open, with a log of this many rows a second; 0 for none.
    pub fn opened(log_hz: u8) -> Self {
        let mut console = Self::default();
        console.set_log(log_hz);
        console.open();
        console
    }

    /// Takes received bytes.
    pub fn receive(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.lost_input |= self.waiting.push_back(*byte).is_err();
        }
    }

    /// The next whole line, unless an answer is being written.
    pub fn next_line(&mut self) -> Option<Input> {
        while self.answer == Answer::None {
            match self.waiting.pop_front()? {
                b'\n' | b'\r' => {
                    if let Some(input) = self.finish_line() {
                        return Some(input);
                    }
                }
                // Backspace and delete, for typing by hand.
                0x08 | 0x7F => {
                    self.input.pop();
                }
                byte => self.is_overlong |= self.input.push(byte).is_err(),
            }
        }
        None
    }

    fn finish_line(&mut self) -> Option<Input> {
        let bytes = core::mem::take(&mut self.input);
        if core::mem::take(&mut self.lost_input) {
            self.is_overlong = false;
            return Some(Err(
                "input came faster than it was read; wait for \"# ok\" after each line",
            ));
        }
        if core::mem::take(&mut self.is_overlong) {
            return Some(Err("the line is too long"));
        }
        match String::from_utf8(bytes) {
            Ok(line) if line.trim().is_empty() => None,
            Ok(line) => Some(Ok(line)),
            Err(_) => Some(Err("found bytes that are not text")),
        }
    }

    /// Takes bytes to send.
    pub fn transmit(&mut self, buffer: &mut [u8]) -> usize {
        let mut count = 0;
        for place in buffer {
            let Some(byte) = self.output.pop_front() else { break };
            *place = byte;
            count += 1;
        }
        count
    }

    /// Whether there is room for a line of any length.
    pub fn has_room(&self) -> bool {
        self.room() >= LONGEST_LINE + 2
    }

    /// Writes a line of an answer.
    pub fn say(&mut self, text: fmt::Arguments<'_>) {
        let mut line = Cut(Line::new());
        // A line that is too long is cut; nothing else can fail.
        let _ = write!(line, "# {text}");
        self.put(&line.0);
    }

    /// Writes a line about an event.
    pub fn tell(&mut self, text: &str) {
        let mut line = Cut(Line::new());
        let _ = write!(line, "#! {text}");
        self.put(&line.0);
    }

    /// Ends an answer.
    pub fn end(&mut self, result: Result<(), fmt::Arguments<'_>>) {
        match result {
            Ok(()) => self.say(format_args!("ok")),
            Err(reason) => self.say(format_args!("error: {reason}")),
        }
    }

    /// Starts a log of this many rows a second, or ends it.
    pub fn set_log(&mut self, rate_hz: u8) {
        self.begin_log(Log::new(rate_hz));
    }

    /// Writes a sample into the log, if the log is on and a row is due; a row without room is
    /// counted, and so is one while a flight is being sent.
    pub fn log(&mut self, sampled: &Sampled, vertical_speed_mmps: Option<i32>) {
        self.seen = self.seen.and_of(sampled);
        if !self.log.takes_next() {
            return;
        }
        let is_free = !matches!(self.answer, Answer::Recorder(_));
        let row = (sampled, vertical_speed_mmps, self.log.dropped);
        if is_free && self.put_row(row, self.columns, self.seen) {
            self.columns = Some(self.seen);
        } else {
            self.log.dropped = self.log.dropped.saturating_add(1);
        }
    }

    /// Begins the rows of a flight with their header.
    pub fn begin_flight(&mut self, columns: Columns) {
        self.sent_columns = self.put_all(&columns.header()).then_some(columns);
    }

    /// Writes a row of a flight, as the log does; false without room.
    pub fn send(&mut self, row: &Row, columns: Columns) -> bool {
        let is_sent =
            self.put_row((&row.sampled, row.vertical_speed_mmps, 0), self.sent_columns, columns);
        if is_sent {
            self.sent_columns = Some(columns);
        }
        is_sent
    }

    /// Writes a row with its dropped rows, and before it a header unless the last one has the same
    /// columns; false without room.
    fn put_row(
        &mut self,
        (sampled, vertical_speed_mmps, dropped): (&Sampled, Option<i32>, u32),
        before: Option<Columns>,
        columns: Columns,
    ) -> bool {
        let mut line = String::<LONGEST_ROW>::new();
        if log::row(&mut line, sampled, vertical_speed_mmps, dropped, columns).is_err() {
            return false;
        }
        let is_new = before != Some(columns);
        let header = if is_new { length_of(&columns.header()) + 1 } else { 0 };
        if self.room() < header + line.len() + 1 + FOR_ANSWERS {
            return false;
        }
        if is_new {
            self.put_all(&columns.header());
        }
        self.put(&line);
        true
    }

    /// Columns that the samples so far needed.
    pub fn columns(&self) -> Columns {
        self.seen
    }

    /// Whether a line that is not empty has come while an answer is being written.
    pub fn has_line(&self) -> bool {
        let is_end = |byte: &&u8| matches!(byte, b'\n' | b'\r');
        self.waiting.iter().skip_while(is_end).any(|byte| is_end(&byte))
    }

    /// Somebody opened the port: waiting output is dropped, and a log that is on restarts.
    pub fn open(&mut self) {
        self.output.clear();
        self.waiting.clear();
        self.input.clear();
        self.is_overlong = false;
        self.lost_input = false;
        self.answer = Answer::Greeting(0);
        self.begin_log(self.log.afresh());
    }

    fn begin_log(&mut self, log: Log) {
        self.log = log;
        if self.log.is_on() {
            // Without room the first row brings it.
            self.columns = self.put_all(&self.seen.header()).then_some(self.seen);
        }
    }

    fn room(&self) -> usize {
        self.output.capacity() - self.output.len()
    }

    /// Writes the whole line or nothing.
    fn put(&mut self, line: &str) {
        self.put_all(&[line]);
    }

    /// Writes the parts of a line, the whole line or nothing; whether it did.
    fn put_all(&mut self, parts: &[&str]) -> bool {
        let has_room = self.room() > length_of(parts);
        if has_room {
            for byte in parts.iter().flat_map(|part| part.bytes()).chain([b'\n']) {
                let _ = self.output.push_back(byte);
            }
        }
        has_room
    }
}

fn length_of(parts: &[&str]) -> usize {
    parts.iter().map(|part| part.len()).sum()
}

/// Takes as many characters as fit, in one line.
struct Cut(Line);

impl Write for Cut {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for character in text.chars() {
            let _ = self.0.push(if character.is_control() { ' ' } else { character });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inertial::average::Averaged;
    use chirrup_core::Micros;
    use std::string::String as Text;
    use std::vec;

    const SAMPLED: Sampled = Sampled {
        time: Micros(20_000),
        static_64ths_pa: 6_080_000,
        dynamic_64ths_pa: None,
        te_64ths_pa: None,
        inertial: None,
        ground: None,
    };

    fn sent(console: &mut Console) -> Text {
        let mut buffer = vec![0; 4_096];
        let length = console.transmit(&mut buffer);
        Text::from_utf8(buffer[..length].to_vec()).unwrap()
    }

    fn line(text: &str) -> Option<Input> {
        Some(Ok(text.try_into().unwrap()))
    }

    #[test]
    fn lines_may_end_with_cr_or_lf_and_arrive_in_pieces() {
        let mut console = Console::default();
        console.receive(b"he");
        assert_eq!(console.next_line(), None);
        console.receive(b"lp\r\n\n  \nsavx\x7Fe\r");
        assert_eq!(console.next_line(), line("help"));
        assert_eq!(console.next_line(), line("save"));
        assert_eq!(console.next_line(), None);
    }

    #[test]
    fn a_line_too_long_or_not_text_gets_one_error_and_costs_no_other_line() {
        let mut console = Console::default();
        for _ in 0..30 {
            console.receive(&[b'x'; 64]);
            assert_eq!(console.next_line(), None);
        }
        console.receive(b"\nsave\n\xFF\xFE\nhelp\n");
        assert_eq!(console.next_line(), Some(Err("the line is too long")));
        assert_eq!(console.next_line(), line("save"));
        assert_eq!(console.next_line(), Some(Err("found bytes that are not text")));
        assert_eq!(console.next_line(), line("help"));
    }

    #[test]
    fn lines_wait_while_an_answer_is_written() {
        let mut console = Console { answer: Answer::Help(3), ..Console::default() };
        console.receive(b"save\n");
        assert_eq!(console.next_line(), None);
        console.answer = Answer::None;
        assert_eq!(console.next_line(), line("save"));
    }

    #[test]
    fn input_too_fast_is_reported_and_not_partly_executed() {
        let mut console = Console { answer: Answer::Help(3), ..Console::default() };
        console.receive(&[b'x'; WAITING + 1]);
        console.answer = Answer::None;
        assert_eq!(console.next_line(), None);
        console.receive(b"\nsave\n");
        assert!(
            matches!(console.next_line(), Some(Err(why)) if why.starts_with("input came faster"))
        );
        assert_eq!(console.next_line(), line("save"));
    }

    #[test]
    fn a_port_that_nobody_reads_drops_rows_counts_them_and_still_answers() {
        let mut console = Console::default();
        console.set_log(50);
        (0..100).for_each(|_| console.log(&SAMPLED, None));
        assert!(console.log.dropped > 50);
        assert!(console.has_room());
        console.say(format_args!("ok"));
        let text = sent(&mut console);
        assert!(text.starts_with("time_us,static_pa,"));
        assert!(text.ends_with("\n# ok\n"));
        let dropped = console.log.dropped;
        console.log(&SAMPLED, Some(12));
        assert_eq!(sent(&mut console), std::format!("20000,95000,,,12,{dropped}\n"));
        assert_eq!(
            text.lines().count() as u32 - 2 + dropped,
            100,
            "every row is written or counted"
        );
    }

    #[test]
    fn an_inertial_sensor_brings_a_header_of_its_own_once() {
        let mut console = Console::default();
        console.set_log(50);
        console.log(&SAMPLED, None);
        let axes = [1, -2, 3];
        let inertial = Averaged { force: axes, turn: axes, spread: None };
        let with = Sampled { inertial: Some(inertial), ..SAMPLED };
        [with, SAMPLED, with].iter().for_each(|sampled| console.log(sampled, None));
        let text = sent(&mut console);
        let long = std::format!("{}{}", log::HEADER, log::INERTIAL_HEADER);
        let headers = text.lines().filter(|line| line.starts_with("time_us"));
        assert_eq!(headers.collect::<vec::Vec<_>>(), [log::HEADER, &long]);
        let fields = text.lines().map(|line| line.split(',').count()).collect::<vec::Vec<_>>();
        assert_eq!(fields, [6, 6, 16, 16, 16, 16]);
        console.open();
        assert!(sent(&mut console).starts_with(&long), "whoever opens the port gets it at once");
    }

    #[test]
    fn a_port_without_room_for_the_longer_header_counts_the_row_and_tries_again() {
        let mut console = Console::default();
        console.set_log(50);
        (0..100).for_each(|_| console.log(&SAMPLED, None));
        let inertial = Averaged { force: [0; 3], turn: [0; 3], spread: None };
        let with = Sampled { inertial: Some(inertial), ..SAMPLED };
        let dropped = console.log.dropped;
        console.log(&with, None);
        assert_eq!(console.log.dropped, dropped + 1);
        let _ = sent(&mut console);
        console.log(&with, None);
        let text = sent(&mut console);
        assert_eq!((text.lines().count(), text.starts_with("time_us")), (2, true), "{text}");
    }

    #[test]
    fn whoever_opens_the_port_gets_a_header_before_the_first_row() {
        let mut console = Console::default();
        console.set_log(50);
        // Nobody was reading for a while.
        (0..100).for_each(|_| console.log(&SAMPLED, None));
        assert!(console.log.dropped > 0);
        let _ = console.transmit(&mut [0; 7]);
        console.open();
        console.log(&SAMPLED, None);
        let text = sent(&mut console);
        assert_eq!(text.lines().next(), Some(log::HEADER));
        assert_eq!(text.lines().nth(1), Some("20000,95000,,,,0"));
        assert_eq!(text.lines().count(), 2);
    }

    #[test]
    fn an_answer_line_that_is_too_long_is_cut_and_stays_one_line() {
        let mut console = Console::default();
        console.say(format_args!("{}\n{}", "x".repeat(100), "y".repeat(100)));
        let text = sent(&mut console);
        assert_eq!((text.lines().count(), text.len()), (1, LONGEST_LINE + 1));
    }
}
