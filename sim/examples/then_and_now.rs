//! The picture in README.md: one minute straight on in gusts, as a former filter was heard and as
//! the present one is.
//!
//! ```text
//! cargo run -p chirrup --example then_and_now -- docs/src/gusts-before.csv docs/src/gusts.png
//! cargo run -p chirrup --example then_and_now -- --inertial docs/src/inertial-gusts.png
//! cargo run -p chirrup --example then_and_now -- --store before.csv
//! ```
//!
//! The first draws it, from what is stored of the former filter. The second draws the same minute
//! without and with an inertial sensor, for the book. The third stores what is heard of
//! the present one, before it is changed.

use chirrup::error::{Error, Result};
use chirrup::then_and_now::{draw, draw_inertial, store};
use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let typed: Vec<String> = std::env::args().skip(1).collect();
    let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
    match run(&typed) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            complain(&error);
            ExitCode::from(error.exit_code())
        }
    }
}

fn run(typed: &[&str]) -> Result<()> {
    match typed {
        ["--store", table] => store(Path::new(table)),
        ["--inertial", picture] => draw_inertial(Path::new(picture)),
        [table, picture] => draw(Path::new(table), Path::new(picture)),
        _ => Err(Error::Usage(
            "expected TABLE.csv PICTURE.png, --inertial PICTURE.png or --store TABLE.csv".into(),
        )),
    }
}

#[allow(clippy::print_stderr, reason = "it is a program")]
fn complain(error: &Error) {
    eprintln!("then_and_now: {error}");
}
