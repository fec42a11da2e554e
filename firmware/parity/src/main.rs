//! The reference of the comparison: the digests from this computer's processor, four bytes a
//! sample, on standard output; or, with a second number, that one sample and its reading, to
//! investigate a difference.

use chirrup_parity::fleet::Fleet;
use std::io::{BufWriter, Write};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut numbers = std::env::args().skip(1).map(|word| word.parse::<u32>());
    let count = numbers.next().transpose()?.ok_or("usage: chirrup-parity SAMPLES [ONE OF THEM]")?;
    let shown = numbers.next().transpose()?;
    let mut fleet = Fleet::new()?;
    let mut out = BufWriter::new(std::io::stdout().lock());
    for number in 0..count {
        let (instrument, sample, reading) = fleet.step();
        match shown {
            None => out.write_all(&fleet.digest().value().to_le_bytes())?,
            Some(shown) if shown == number => {
                writeln!(
                    out,
                    "instrument {instrument}\n{sample:#?}\n{reading:#?}\n{:08x}",
                    fleet.digest().value()
                )?;
            }
            Some(_) => {}
        }
    }
    out.flush()?;
    Ok(())
}
