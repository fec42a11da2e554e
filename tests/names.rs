//! Names from outside cannot touch a terminal, and what is written replaces a file as a user
//! expects: its mode and the links to it stay, and what killed runs have left is removed.

use crate::support::{chirrup, complaint, folder, path, run, shared, trace_of, write};
use std::fs;
use std::path::Path;
use std::process::Output;

/// What moves the cursor, colours, changes the title of the window, or turns the text round.
const NASTY: &str =
    "\u{1b}[2J\u{1b}]0;owned\u{7}\u{7f}\u{9b}31m\u{202e}gpj\u{2066}\u{200b}\u{feff}";

fn is_harmless(character: char) -> bool {
    match character {
        '\n' | '\t' => true,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{feff}' => false,
        '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' => false,
        other => !other.is_control(),
    }
}

/// What the program prints with `args` on both streams, all of it harmless.
fn printed(args: &[&str]) -> String {
    let Output { stdout, stderr, .. } = chirrup().args(args).output().expect("it runs");
    let all = String::from_utf8([stdout, stderr].concat()).expect("it is text");
    let bad: Vec<char> = all.chars().filter(|character| !is_harmless(*character)).collect();
    assert!(bad.is_empty(), "{args:?} prints {bad:?} in {all:?}");
    assert!(!all.is_empty() && all.lines().all(|line| line.len() < 6_000), "{args:?}");
    all
}

/// Every command that reads `trace`, with everything that it prints.
fn every_command(trace: &str, folder: &tempfile::TempDir) {
    let at = |name: &str| path(folder, name);
    let (csv, svg, html, toml) = (at("o.csv"), at("o.svg"), at("o.html"), at("o.toml"));
    for args in [
        &["replay", trace][..],
        &["replay", trace, "--json"],
        &["replay", trace, "--plot", &svg, "--csv", &csv],
        &["replay", trace, "--csv", "-"],
        &["replay", trace, "--columns", "static=nothing"],
        &["replay", trace, "--inject", "frozen@1,1"],
        &["inspect", trace],
        &["inspect", trace, "--json"],
        &["inspect", trace, "--plot", &svg],
        &["tune", trace, "-o", &toml],
        &["tune", trace, "--json"],
        &["compare", "response_s=1", "response_s=2", trace],
        &["compare", "response_s=1", "response_s=2", trace, "--json"],
        &["report", trace, "-o", &html],
        &["abx", "response_s=1", "response_s=2", trace, "--wav", &at("blind"), "--seed", "1"],
        &["watch", &(trace.to_owned() + "gone"), trace],
        &["settings", "--settings", trace],
        &["fly", trace, "-o", &csv],
        &["listen", "--trace", trace],
        &["drill", "--csv", trace],
    ] {
        printed(args);
        for file in [&svg, &html, &toml] {
            let Ok(text) = fs::read_to_string(file) else { continue };
            let bad: Vec<char> = text.chars().filter(|one| !is_harmless(*one)).collect();
            assert!(bad.is_empty(), "{args:?} writes {bad:?} into {file}");
        }
    }
}

#[test]
fn the_headers_of_a_logger_that_hold_escapes_are_printed_harmless() {
    for name in ["esc.csv", "esc2.csv"] {
        let Some(trace) = shared(&format!("loggers/{name}")) else { return };
        every_command(trace.to_str().expect("its name is text"), &folder());
    }
}

#[test]
#[cfg(unix)]
fn names_of_files_headers_cells_and_settings_are_printed_harmless() {
    let folder = folder();
    let good = trace_of(20.0, 30.0, |time_s| 1_000.0 + time_s);
    let trace = write(&folder, &format!("{NASTY}\nforged: line.csv"), &good);
    every_command(&trace, &folder);
    let text = printed(&["replay", &trace]);
    assert!(text.contains(r"\u{1b}[2J") && text.contains(r"\u{202e}gpj"), "{text}");
    assert!(text.contains(r"\u{a}forged: line.csv"), "a name is on one line: {text}");
    let cells = format!("time_s,static_pa,{NASTY}\n0,90000,1\n1,{NASTY},1\n2,90000,1\n{NASTY}\n");
    every_command(&write(&folder, "cells.csv", cells), &folder);
    let settings = write(&folder, "s.toml", format!("\"{NASTY}\" = 1\n"));
    printed(&["replay", &trace, "--settings", &settings]);
    printed(&["replay", &trace, "--settings", &format!("{NASTY}=1")]);
    printed(&["replay", &trace, "--settings", &format!("tone.mode={NASTY}")]);
    printed(&["fly", NASTY, "-o", "-"]);
    printed(&["fly", &write(&folder, "f.toml", format!("name = \"{NASTY}\"\n")), "-o", "-"]);
}

#[test]
fn what_is_typed_wrong_is_printed_harmless() {
    let option = format!("--{NASTY}");
    let value = format!("replay={NASTY}");
    for args in [
        &[NASTY][..],
        &["replay", &option],
        &["replay", "a.csv", "--plot", NASTY],
        &["replay", "a.csv", "--from", NASTY],
        &["replay", "a.csv", "--inject", NASTY],
        &["replay", "a.csv", "--columns", NASTY],
        &["replay", "a.csv", "--energy", NASTY],
        &["tone", "--at", NASTY],
        &[&value],
    ] {
        printed(args);
    }
    let long = "x".repeat(100_000);
    assert!(printed(&["replay", &long]).len() < 1_000);
}

#[test]
#[cfg(unix)]
fn settings_and_scenarios_without_an_end_are_refused_at_once() {
    let folder = folder();
    let trace = write(&folder, "a.csv", trace_of(20.0, 5.0, |_| 1_000.0));
    let line = complaint(&["replay", &trace, "--settings", "/dev/zero"], 2);
    let expected = "chirrup: /dev/zero: found more than 1 MB, expected a settings file in TOML";
    assert_eq!(line, expected);
    let line = complaint(&["fly", "/dev/zero", "-o", "-"], 2);
    assert!(line.contains("/dev/zero: found more than 1 MB, expected a scenario"), "{line}");
    let large = path(&folder, "large.toml");
    let file = fs::File::create(&large).expect("the folder is ours");
    file.set_len(10_000_000_000).expect("holes need no room");
    let line = complaint(&["replay", &trace, "--settings", &large], 2);
    assert!(line.contains("found more than 1 MB"), "{line}");
    let abx = ["abx", "response_s=1", "response_s=2", &trace, "--seed", "1"];
    printed(&[&abx[..], &["--answers", "/dev/zero"]].concat());
}

#[cfg(unix)]
fn mode(path: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt;
    fs::metadata(path).expect("it is there").permissions().mode() & 0o777
}

#[test]
#[cfg(unix)]
fn a_file_that_is_replaced_keeps_its_mode_and_a_link_stays_a_link() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder();
    let trace = write(&folder, "a.csv", trace_of(20.0, 5.0, |_| 1_000.0));
    let at = |name: &str| folder.path().join(name);
    let replay = |csv: &Path| run(&["replay", &trace, "--csv", csv.to_str().expect("it is text")]);
    fs::create_dir(at("far")).expect("the folder is ours");
    fs::write(at("far/kept.csv"), "old").expect("the folder is ours");
    for bits in [0o600, 0o640, 0o444] {
        let permissions = fs::Permissions::from_mode(bits);
        fs::set_permissions(at("far/kept.csv"), permissions).expect("it is ours");
        replay(&at("far/kept.csv"));
        assert_eq!(mode(&at("far/kept.csv")), bits);
    }
    symlink("far/kept.csv", at("link.csv")).expect("the folder is ours");
    symlink("link.csv", at("link-to-link.csv")).expect("the folder is ours");
    fs::write(at("far/kept.csv"), "old").unwrap_or_default();
    replay(&at("link-to-link.csv"));
    let is_link = |name: &str| at(name).symlink_metadata().expect("it is there").is_symlink();
    assert!(is_link("link.csv") && is_link("link-to-link.csv"));
    assert!(fs::read_to_string(at("far/kept.csv")).expect("it is there").starts_with("time_s"));
    assert_eq!(mode(&at("far/kept.csv")), 0o444);
    symlink("far/new.csv", at("to-nothing.csv")).expect("the folder is ours");
    replay(&at("to-nothing.csv"));
    assert!(is_link("to-nothing.csv") && at("far/new.csv").exists());
    symlink("b", at("circle")).expect("the folder is ours");
    symlink("circle", at("b")).expect("the folder is ours");
    let circle = path(&folder, "circle");
    let line = complaint(&["replay", &trace, "--csv", &circle], 1);
    assert!(line.contains("its links lead in a circle"), "{line}");
}

#[test]
fn what_a_killed_run_has_left_is_removed_and_told_by_the_next() {
    let folder = folder();
    let trace = write(&folder, "a.csv", trace_of(20.0, 5.0, |_| 1_000.0));
    let outputs = folder.path().join("out");
    fs::create_dir(&outputs).expect("the folder is ours");
    let csv = outputs.join("a.csv");
    let mut killed = std::process::Command::new(assert_cmd::cargo::cargo_bin!("chirrup"))
        .args(["replay", "-", "--csv"])
        .arg(&csv)
        .stdin(std::process::Stdio::piped())
        .spawn()
        .expect("it can be started");
    let input = killed.stdin.take();
    fs::write(outputs.join("mine.part"), "not ours").expect("the folder is ours");
    // Units and clock are found from the first rows, before any file is begun.
    let rows = trace_of(20.0, 200.0, |_| 1_000.0);
    std::io::Write::write_all(&mut input.as_ref().expect("it has one"), rows.as_bytes())
        .expect("it reads");
    let parts = || {
        let names = fs::read_dir(&outputs).expect("it is there").flatten();
        let names = names.map(|entry| entry.file_name().to_string_lossy().into_owned());
        names.filter(|name| name.starts_with(".chirrup-")).collect::<Vec<_>>()
    };
    while parts().is_empty() {
        assert!(killed.try_wait().expect("it is ours").is_none(), "it waits for rows");
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    let left = outputs.join(&parts()[0]);
    let hour_ago = std::time::SystemTime::now() - std::time::Duration::from_secs(3_600);
    let file = fs::File::options().append(true).open(&left).expect("it is there");
    file.set_modified(hour_ago).expect("it is ours");
    let next = || {
        let mut next = chirrup();
        let next = next.args(["replay", &trace, "--csv"]).arg(&csv).output().expect("it runs");
        String::from_utf8(next.stderr).expect("it is text")
    };
    assert_eq!(next(), "", "the other run still holds it");
    assert!(left.exists());
    killed.kill().expect("it is ours");
    killed.wait().expect("it is ours");
    let told = next();
    assert!(told.starts_with("note: removed ") && told.contains(".part, which a run"), "{told}");
    assert!(parts().is_empty() && outputs.join("mine.part").exists());
}
