//! A program that was killed while it fetched a flight leaves the instrument in the middle of it.

use super::Terminal;
use crate::support::{folder, run};
use std::io::{ErrorKind, Read, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// An instrument that is sending a flight that nobody reads: the next line ends that and is
/// answered so, as the firmware's own test has it.
fn sending(mut terminal: Terminal, stop: &AtomicBool) {
    let (mut is_sending, mut typed) = (true, String::new());
    while !stop.load(Ordering::Relaxed) {
        let mut buffer = [0; 64];
        match terminal.ours.read(&mut buffer) {
            Ok(length) => typed.push_str(&String::from_utf8_lossy(&buffer[..length])),
            Err(error) => assert_eq!(error.kind(), ErrorKind::WouldBlock),
        }
        while let Some((line, rest)) = typed.split_once('\n') {
            let said = match line {
                "" => "",
                "version" if is_sending => "# error: ended by the next command\n",
                "version" => "# chirrup 0.1.0 on bench\n# ok\n",
                "flights" => "# flight,utc,begin_s,seconds,rows,bytes,state\n# ok\n",
                _ => "# ok\n",
            };
            is_sending &= line.is_empty();
            terminal.ours.write_all(said.as_bytes()).expect("it has room");
            typed = rest.to_owned();
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

#[test]
fn after_a_fetch_that_was_killed_the_next_command_works() {
    let folder = folder();
    let name = folder.path().join("port");
    let terminal = Terminal::at(&name);
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| sending(terminal, &stop));
        let said = std::panic::catch_unwind(|| {
            run(&["device", name.to_str().expect("it is text"), "flights"])
        });
        stop.store(true, Ordering::Relaxed);
        assert_eq!(said.expect("it succeeds"), "no flights are recorded\n");
    });
}
