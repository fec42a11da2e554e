"""Checks what the program that `cargo demo` builds says of a command that it does not have."""

import subprocess

RUN = "cargo run --quiet --profile first -p chirrup"
for command in ["tune", "inspect", "no-such-command"]:
    lean = f"{RUN} --no-default-features --features replay -- {command} flight.igc"
    said = subprocess.run(lean.split(), capture_output=True, text=True)
    lines = said.stderr.splitlines()
    assert said.returncode == 2 and len(lines) == 1, f"{command}: {said}"
    for words in [command, "demo, replay, tone or settings", "cargo run --release -p chirrup --"]:
        assert words in lines[0], f"{words} is not in: {lines[0]}"
print("the first build says how to get the other commands")
