//! `chirrup-uf2 rp2040 PROGRAM OUT.uf2`: see the library. The file appears whole or not at all.

use chirrup_uf2::{Family, from_elf};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const USAGE: &str = "usage: chirrup-uf2 rp2040|rp2350 PROGRAM OUT.uf2";

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // A command line program: it prints one line of error.
            #[expect(clippy::print_stderr)]
            {
                eprintln!("chirrup-uf2: {error}");
            }
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [family, program, out] = arguments.as_slice() else {
        return Err(USAGE.into());
    };
    let family = Family::named(family).ok_or_else(|| format!("no chip '{family}'; {USAGE}"))?;
    let elf = std::fs::read(program).map_err(|error| format!("{program}: {error}"))?;
    let uf2 = from_elf(&elf, family).map_err(|error| format!("{program}: {error}"))?;
    write_whole(Path::new(out), &uf2).map_err(|error| format!("{out}: {error}").into())
}

fn write_whole(out: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut partial = PathBuf::from(out);
    partial.add_extension("part");
    std::fs::write(&partial, bytes)?;
    std::fs::rename(&partial, out)
}
