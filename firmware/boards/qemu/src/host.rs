//! The computer behind the debugger: its console and files by Arm's semihosting calls.
//!
//! Source: Arm, "Semihosting for AArch32 and AArch64": SYS_OPEN's modes are 5 "wb" and 4 "w", and
//! the name ":tt" is the console.

use core::fmt;
use cortex_m_semihosting::{debug, nr, syscall, syscall1};

const WRITE_BINARY: usize = 5;

/// A file on the host.
pub struct File(usize);

impl File {
    /// Makes a file; `name` ends with a NUL.
    pub fn create(name: &[u8]) -> Option<Self> {
        // SAFETY: the block holds what SYS_OPEN asks for, and both pointers are alive until it
        // returns.
        let handle =
            unsafe { syscall(nr::OPEN, &[name.as_ptr() as usize, WRITE_BINARY, name.len() - 1]) };
        (handle != usize::MAX).then_some(Self(handle))
    }

    /// Whether all of `bytes` were written.
    pub fn write(&mut self, bytes: &[u8]) -> bool {
        // SAFETY: as above, for SYS_WRITE, which returns how many bytes it did not write.
        unsafe { syscall(nr::WRITE, &[self.0, bytes.as_ptr() as usize, bytes.len()]) == 0 }
    }

    /// Closes the file.
    pub fn close(self) {
        // SAFETY: SYS_CLOSE takes the handle alone.
        unsafe { syscall(nr::CLOSE, &[self.0]) };
    }
}

/// The host's console.
pub struct Console;

impl fmt::Write for Console {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        // Each piece on its own: what runs here need not be quick.
        let mut console = File::create(b":tt\0").ok_or(fmt::Error)?;
        let written = console.write(text.as_bytes());
        console.close();
        if written { Ok(()) } else { Err(fmt::Error) }
    }
}

/// The command line, the program's name first.
pub fn command_line(words: &mut [u8]) -> Option<&str> {
    let mut block = [words.as_mut_ptr() as usize, words.len()];
    // SAFETY: SYS_GET_CMDLINE writes at most the length given, and then how much it wrote into the
    // block.
    let failed = unsafe { syscall1(nr::GET_CMDLINE, block.as_mut_ptr() as usize) };
    if failed != 0 {
        return None;
    }
    core::str::from_utf8(words.get(..block[1])?).ok()
}

/// Ends the run.
pub fn exit(good: bool) -> ! {
    loop {
        debug::exit(if good { debug::EXIT_SUCCESS } else { debug::EXIT_FAILURE });
    }
}
