//! The plain C interface of the page: numbers in, addresses out, one session.
//!
//! | call | does |
//! |---|---|
//! | `start(rate, seed)` | a session at `rate` frames a second |
//! | `turn(control, value)` | turns a control, by its number in [`Control`] |
//! | `fill(frames)` | address of so many frames of left and right, 16 bits each |
//! | `report()` | address of [`report::LENGTH`] 64-bit floats |
//! | `notes()`, `note_count()` | address of [`report::notes`], 32-bit floats, and how many; fetched once |
//! | `lesson(number)`, `afresh()`, `seek(seconds)` | as the session's own |
//! | `room(bytes)` | address of a buffer of so many bytes |
//! | `load(name_bytes, all_bytes)` | the buffer holds a file's name, then the file; 1: replayed |
//! | `name_columns(bytes)` | the buffer names the columns of files to come; 1: understood |
//! | `columns(name_bytes, all_bytes)` | sets the text to the names of the columns of such a file |
//! | `profile()` | sets the text to heights and climbs of the trace, in records |
//! | `pace(times)` | a trace plays so many times as fast |
//! | `begin_drill(kind, seed, wanted)`, `end_drill()` | a drill of so many questions |
//! | `ask()` | plays a question; returns 1 while there is one |
//! | `answer(choice, late_seconds)` | sets the text to the result and the score, in records |
//! | `results()` | sets the text to every answer as CSV |
//! | `hunt_open(seed, round)`, `hunt_close()` | a round of [`hunt`] in place of the flight |
//! | `hunt_begin()`, `hunt_bank(degrees)` | begins it; sets the bank wanted |
//! | `hunt_report()`, `hunt_length()` | address and count of its numbers; no count without a round |
//! | `hunt_result()` | sets the text to score and picture, in records; 1 once it is over |
//! | `check(speaker, value)`, `end_check()` | a steady vertical speed for the sound check |
//! | `describe()` | sets the text to the lessons, controls, statuses and drills, in records |
//! | `text()`, `text_bytes()` | address and length of the last text |
//!
//! WebAssembly runs it on one thread, so the single session lives in a thread-local; the only
//! unsafe code is the exported names.

pub mod describe;
pub mod hunt;
pub mod report;

use chirrup::drill::Drill;
use chirrup::drill::question::Kind;
use chirrup::drill::sounded::SoundedDrill;
use chirrup::hunt::round::Round;
use chirrup::session::Session;
use chirrup::session::control::Control;
use chirrup::session::sound_check::SoundCheck;
use chirrup::trace::column_names;
use chirrup::trace::columns::ColumnMap;
use chirrup_core::Speaker;
use std::cell::RefCell;
use std::io::Cursor;

/// No answer.
pub const BLANK: u32 = u32::MAX;

/// The session, the present drill or round, and the data last passed to the page.
#[derive(Default)]
struct Desk {
    session: Option<Session>,
    drill: Option<SoundedDrill>,
    hunt: Option<Round>,
    frames: Vec<i16>,
    check: Option<SoundCheck>,
    report: Vec<f64>,
    notes: Vec<f32>,
    room: Vec<u8>,
    named: ColumnMap,
    text: String,
}

impl Desk {
    /// A file's name and its content, from the buffer.
    fn take_file(&mut self, name_bytes: u32, all_bytes: u32) -> (String, Vec<u8>) {
        let mut bytes = std::mem::take(&mut self.room);
        bytes.truncate(all_bytes as usize);
        let file = bytes.split_off(bytes.len().min(name_bytes as usize));
        (String::from_utf8_lossy(&bytes).into_owned(), file)
    }
}

thread_local! {
    static DESK: RefCell<Desk> = RefCell::default();
}

fn with_desk<T>(act: impl FnOnce(&mut Desk) -> T) -> T {
    DESK.with(|desk| act(&mut desk.borrow_mut()))
}

fn with_session(act: impl FnOnce(&mut Session)) {
    with_desk(|desk| desk.session.as_mut().map(act));
}

/// Begins a session.
#[unsafe(no_mangle)]
pub extern "C" fn start(rate_hz: u32, seed: u32) {
    with_desk(|desk| {
        desk.session = Some(Session::new(rate_hz, u64::from(seed)));
        (desk.drill, desk.check) = (None, None);
    });
}

/// Turns a control; a number without a control does nothing.
#[unsafe(no_mangle)]
pub extern "C" fn turn(control: u32, value: f64) {
    if let Some(control) = Control::ALL.get(control as usize) {
        with_session(|session| session.set(*control, value));
    }
}

/// Plays a lesson by number from 0; any other number ends the present one.
#[unsafe(no_mangle)]
pub extern "C" fn lesson(number: u32) {
    with_session(|session| session.play_lesson(number as usize));
}

/// Restarts the flight, in still air.
#[unsafe(no_mangle)]
pub extern "C" fn afresh() {
    with_session(Session::start_afresh);
}

/// Continues so many seconds after the start of the trace.
#[unsafe(no_mangle)]
pub extern "C" fn seek(seconds: f64) {
    with_session(|session| session.seek(seconds));
}

/// Address of the next frames of sound.
#[unsafe(no_mangle)]
pub extern "C" fn fill(frames: u32) -> *const i16 {
    with_desk(|desk| {
        desk.frames.resize(2 * frames as usize, 0);
        if let (Some(session), Some(check)) = (&mut desk.session, &mut desk.check) {
            session.fill_with(&mut desk.frames, || check.tick());
            return desk.frames.as_ptr();
        }
        match (&mut desk.session, &mut desk.drill, &mut desk.hunt) {
            (Some(session), _, Some(hunt)) => hunt.fill(session, &mut desk.frames),
            (Some(session), Some(drill), None) => drill.fill(session, &mut desk.frames),
            (Some(session), None, None) => session.fill(&mut desk.frames),
            (None, ..) => {}
        }
        desk.frames.as_ptr()
    })
}

/// Address of the report.
#[unsafe(no_mangle)]
pub extern "C" fn report() -> *const f64 {
    with_desk(|desk| {
        if let Some(session) = &desk.session {
            desk.report = report::numbers(session);
        }
        desk.report.as_ptr()
    })
}

/// Address of what has sounded since the last call.
#[unsafe(no_mangle)]
pub extern "C" fn notes() -> *const f32 {
    with_desk(|desk| {
        desk.notes = desk.session.as_mut().map(report::notes).unwrap_or_default();
        desk.notes.as_ptr()
    })
}

/// How many numbers [`notes`] has last returned.
#[unsafe(no_mangle)]
pub extern "C" fn note_count() -> u32 {
    with_desk(|desk| desk.notes.len() as u32)
}

/// Sounds `value` m/s for loudspeaker number `speaker`, at the session's volume, until
/// [`end_check`]; the flight pauses.
#[unsafe(no_mangle)]
pub extern "C" fn check(speaker: u32, value: f64) {
    with_desk(|desk| {
        let Some(session) = &desk.session else { return };
        let Some(speaker) = Speaker::ALL.get(speaker as usize) else { return };
        desk.check = SoundCheck::new(*speaker, session.controls().volume as f32, value).ok();
    });
}

/// Ends the sound check; the flight continues.
#[unsafe(no_mangle)]
pub extern "C" fn end_check() {
    with_desk(|desk| desk.check = None);
}

/// Address of a buffer of so many bytes for [`load`].
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: u32) -> *mut u8 {
    with_desk(|desk| {
        desk.room.clear();
        desk.room.resize(bytes as usize, 0);
        desk.room.as_mut_ptr()
    })
}

/// Replays the file in the buffer; the text becomes its notes, or the reason why it is refused.
#[unsafe(no_mangle)]
pub extern "C" fn load(name_bytes: u32, all_bytes: u32) -> u32 {
    with_desk(|desk| {
        let (name, file) = desk.take_file(name_bytes, all_bytes);
        let Some(session) = &mut desk.session else { return 0 };
        let loaded = session.load_trace(&name, file, &desk.named);
        let good = u32::from(loaded.is_ok());
        desk.text = loaded.map_or_else(|error| error.to_string(), |notes| notes.join("; "));
        good
    })
}

/// Names the columns of the files to come, as `time=a,static=b:hPa`; nothing: their own names. 1,
/// or 0 and the text says why not.
#[unsafe(no_mangle)]
pub extern "C" fn name_columns(bytes: u32) -> u32 {
    with_desk(|desk| {
        let mut named = std::mem::take(&mut desk.room);
        named.truncate(bytes as usize);
        match String::from_utf8_lossy(&named).parse::<ColumnMap>() {
            Ok(map) => {
                desk.named = map;
                1
            }
            Err(error) => {
                desk.text = error.to_string();
                0
            }
        }
    })
}

/// Sets the text to the names of the columns of the file in the buffer, one a line; to nothing
/// where it has none.
#[unsafe(no_mangle)]
pub extern "C" fn columns(name_bytes: u32, all_bytes: u32) {
    with_desk(|desk| {
        let (name, file) = desk.take_file(name_bytes, all_bytes);
        let names = column_names(&name, Box::new(Cursor::new(file)));
        desk.text = names.unwrap_or_default().join("\n");
    });
}

/// Sets the text to heights and climbs of the trace.
#[unsafe(no_mangle)]
pub extern "C" fn profile() {
    with_desk(|desk| {
        desk.text = desk.session.as_ref().map(describe::profile).unwrap_or_default();
    });
}

/// Plays a trace so many times as fast.
#[unsafe(no_mangle)]
pub extern "C" fn pace(times: f64) {
    with_session(|session| session.set_pace(times));
}

/// Begins a drill; an unknown kind does nothing.
#[unsafe(no_mangle)]
pub extern "C" fn begin_drill(kind: u32, seed: u32, wanted: u32) {
    let Some(kind) = Kind::ALL.get(kind as usize) else { return };
    with_desk(|desk| {
        desk.drill = desk.session.as_ref().map(|session| {
            let drill = Drill::new(*kind, u64::from(seed), wanted as usize);
            SoundedDrill::new(drill, session.sample_rate_hz())
        });
    });
}

/// Plays the next question, or the present one again: 1, or 0 once all have been answered.
#[unsafe(no_mangle)]
pub extern "C" fn ask() -> u32 {
    with_desk(|desk| u32::from(desk.drill.as_mut().and_then(SoundedDrill::ask).is_some()))
}

/// Scores an answer: 1, or 0 when no question is open. [`BLANK`] is that of whoever does not know.
#[unsafe(no_mangle)]
pub extern "C" fn answer(choice: u32, late_seconds: f64) -> u32 {
    with_desk(|desk| {
        let Some(sounded) = &mut desk.drill else { return 0 };
        let choice = (choice != BLANK).then_some(choice as usize);
        let Some(outcome) = sounded.answer(choice, late_seconds) else { return 0 };
        desk.text = describe::outcome(sounded.drill(), &outcome);
        1
    })
}

/// Sets the text to every answer as CSV.
#[unsafe(no_mangle)]
pub extern "C" fn results() {
    with_desk(|desk| {
        desk.text = match (&desk.session, &desk.drill) {
            (Some(session), Some(sounded)) => describe::results(session, sounded.drill()),
            _ => String::new(),
        };
    });
}

/// Ends the drill; the flight continues.
#[unsafe(no_mangle)]
pub extern "C" fn end_drill() {
    with_desk(|desk| desk.drill = None);
}

/// Sets the text to the lists of [`describe`].
#[unsafe(no_mangle)]
pub extern "C" fn describe() {
    with_desk(|desk| desk.text = describe::everything());
}

/// Address of the last text.
#[unsafe(no_mangle)]
pub extern "C" fn text() -> *const u8 {
    with_desk(|desk| desk.text.as_ptr())
}

/// Its length in bytes of UTF-8.
#[unsafe(no_mangle)]
pub extern "C" fn text_bytes() -> u32 {
    with_desk(|desk| desk.text.len() as u32)
}
