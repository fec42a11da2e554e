//! A program for flash as a UF2 file: blocks of 512 bytes, each with 256 of the program and their
//! address, so that a board that acts as a USB drive can take them in any order.
//!
//! ```text
//! 0x0A324655 | 0x9E5D5157 | flags | address | 256 | block | blocks | family
//! | 476 bytes of data | 0x0AB16F30
//! ```
//!
//! All little-endian, 32 bits each. Source: Microsoft's "USB Flashing Format (UF2)" specification;
//! families: its list of family identifiers (both from memory).

use object::Endianness;
use object::elf::{FileHeader32, PT_LOAD};
use object::read::elf::{FileHeader, ProgramHeader};
use std::collections::BTreeMap;
use std::fmt;

/// Bytes of a block in the file.
pub const BLOCK: usize = 512;
/// Bytes of the program in a block; boards write their flash in pages of it.
pub const PAGE: usize = 256;

const MAGICS: [u32; 2] = [0x0A32_4655, 0x9E5D_5157];
const LAST_MAGIC: u32 = 0x0AB1_6F30;
/// A family identifier stands where the format allows a file's length instead.
const WITH_FAMILY: u32 = 0x0000_2000;
/// Where both boards see their flash: 16 MiB of it.
const FLASH: std::ops::Range<u64> = 0x1000_0000..0x1100_0000;

/// The chip that a file is for; a board accepts no other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// RP2040, as on a Pico.
    Rp2040,
    /// RP2350 with its Arm cores, as on a Pico 2.
    Rp2350,
}

impl Family {
    /// The format's identifier.
    pub fn identifier(self) -> u32 {
        match self {
            Family::Rp2040 => 0xE48B_FF56,
            Family::Rp2350 => 0xE48B_FF59,
        }
    }

    /// The family by its chip's name.
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "rp2040" => Some(Family::Rp2040),
            "rp2350" => Some(Family::Rp2350),
            _ => None,
        }
    }
}

/// Why a program cannot be made into a UF2 file.
#[derive(Debug, PartialEq, Eq)]
pub enum Unfit {
    /// Not a 32-bit ELF file, or a broken one.
    NoProgram(String),
    /// A part of it belongs outside flash.
    NotInFlash(u64),
    /// Nothing of it belongs in flash.
    Empty,
}

impl fmt::Display for Unfit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Unfit::NoProgram(what) => write!(out, "this is not a program for a board: {what}"),
            Unfit::NotInFlash(address) => {
                write!(out, "a part is for address {address:#x}, which is not in flash")
            }
            Unfit::Empty => write!(out, "nothing in it is for the flash"),
        }
    }
}

impl std::error::Error for Unfit {}

/// The UF2 file of an ELF file. Pages come in the order of their addresses; unused bytes of a page
/// are zero.
///
/// # Errors
/// The file is not a program for flash.
pub fn from_elf(elf: &[u8], family: Family) -> Result<Vec<u8>, Unfit> {
    let pages = pages(elf)?;
    let count = pages.len() as u32;
    Ok(pages
        .iter()
        .zip(0..)
        .flat_map(|((address, page), number)| block(*address, page, number, count, family))
        .collect())
}

fn pages(elf: &[u8]) -> Result<BTreeMap<u32, [u8; PAGE]>, Unfit> {
    let broken = |error: object::read::Error| Unfit::NoProgram(error.to_string());
    let header = FileHeader32::<Endianness>::parse(elf).map_err(broken)?;
    let endian = header.endian().map_err(broken)?;
    let mut pages = BTreeMap::new();
    for segment in header.program_headers(endian, elf).map_err(broken)? {
        if segment.p_type(endian) != PT_LOAD || segment.p_filesz(endian) == 0 {
            continue;
        }
        let bytes =
            segment.data(endian, elf).map_err(|()| Unfit::NoProgram("it ends too early".into()))?;
        let start = u64::from(segment.p_paddr(endian));
        if !FLASH.contains(&start) || start + bytes.len() as u64 > FLASH.end {
            return Err(Unfit::NotInFlash(start));
        }
        for (address, byte) in (start as u32..).zip(bytes) {
            let page = address - address % PAGE as u32;
            pages.entry(page).or_insert([0; PAGE])[(address - page) as usize] = *byte;
        }
    }
    if pages.is_empty() { Err(Unfit::Empty) } else { Ok(pages) }
}

fn block(address: u32, page: &[u8; PAGE], number: u32, count: u32, family: Family) -> [u8; BLOCK] {
    let head = [
        MAGICS[0],
        MAGICS[1],
        WITH_FAMILY,
        address,
        PAGE as u32,
        number,
        count,
        family.identifier(),
    ];
    let mut block = [0; BLOCK];
    for (place, word) in block.chunks_exact_mut(4).zip(head) {
        place.copy_from_slice(&word.to_le_bytes());
    }
    block[32..32 + PAGE].copy_from_slice(page);
    block[BLOCK - 4..].copy_from_slice(&LAST_MAGIC.to_le_bytes());
    block
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 32-bit little-endian ELF file with the given segments: physical address and bytes.
    fn elf(segments: &[(u32, &[u8])]) -> Vec<u8> {
        let mut file = vec![0x7F, b'E', b'L', b'F', 1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        let half = |file: &mut Vec<u8>, value: u16| file.extend(value.to_le_bytes());
        let word = |file: &mut Vec<u8>, value: u32| file.extend(value.to_le_bytes());
        half(&mut file, 2); // executable
        half(&mut file, 40); // Arm
        for value in [1, 0, 52, 0, 0] {
            word(&mut file, value); // version, entry, program headers, section headers, flags
        }
        for value in [52, 32, segments.len() as u16, 0, 0, 0] {
            half(&mut file, value);
        }
        let mut offset = 52 + 32 * segments.len() as u32;
        for (address, bytes) in segments {
            let length = bytes.len() as u32;
            for value in [1, offset, *address, *address, length, length, 5, 4] {
                word(&mut file, value);
            }
            offset += length;
        }
        segments.iter().for_each(|(_, bytes)| file.extend(*bytes));
        file
    }

    fn words(block: &[u8]) -> Vec<u32> {
        block.chunks_exact(4).map(|word| u32::from_le_bytes(word.try_into().unwrap())).collect()
    }

    #[test]
    fn a_block_has_the_layout_of_the_format() {
        let file = from_elf(&elf(&[(0x1000_0000, &[0xAA; 300])]), Family::Rp2040).unwrap();
        assert_eq!(file.len(), 2 * BLOCK);
        let second = words(&file[BLOCK..]);
        assert_eq!(
            second[..8],
            [0x0A32_4655, 0x9E5D_5157, 0x2000, 0x1000_0100, 256, 1, 2, 0xE48B_FF56]
        );
        assert_eq!(second[127], 0x0AB1_6F30);
        assert_eq!(file[BLOCK + 32..BLOCK + 32 + 44], [0xAA; 44]);
        assert!(file[BLOCK + 32 + 44..2 * BLOCK - 4].iter().all(|&byte| byte == 0));
    }

    #[test]
    fn parts_that_share_a_page_are_one_block_and_gaps_take_none() {
        let parts: [(u32, &[u8]); 3] =
            [(0x1000_0010, &[1; 16]), (0x1000_0080, &[2; 16]), (0x1001_0000, &[3; 16])];
        let file = from_elf(&elf(&parts), Family::Rp2350).unwrap();
        assert_eq!(file.len(), 2 * BLOCK);
        assert_eq!((file[32], file[32 + 0x10], file[32 + 0x80]), (0, 1, 2));
        assert_eq!(words(&file[BLOCK..])[3], 0x1001_0000);
        assert_eq!(words(&file)[7], 0xE48B_FF59);
    }

    #[test]
    fn a_file_that_is_not_for_flash_is_rejected_with_a_reason() {
        let refused = |elf: &[u8]| from_elf(elf, Family::Rp2040).unwrap_err().to_string();
        assert!(refused(b"time_s,static_pa").starts_with("this is not a program for a board"));
        assert_eq!(
            refused(&elf(&[(0x2000_0000, &[0; 4])])),
            "a part is for address 0x20000000, which is not in flash"
        );
        assert_eq!(refused(&elf(&[])), "nothing in it is for the flash");
        let mut short = elf(&[(0x1000_0000, &[0; 400])]);
        short.truncate(200);
        assert_eq!(refused(&short), "this is not a program for a board: it ends too early");
    }
}
