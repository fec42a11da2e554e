#!/usr/bin/env bash
# Everything that must hold of the firmware, without a board: the boards build, the core says the
# same bits on five processors, the emulated instrument does what it should, and nothing costs more
# than it did. Every command is one you can type.
#
# With rustup's targets nothing is installed but QEMU and Node's one package; else Debian's compiler
# too (see build.sh).
set -euo pipefail
cd "$(dirname "$0")/.."

step() { printf '\n== firmware: %s\n' "$*"; }
skipped=()

step "what the checks need"
wanted=()
command -v qemu-system-arm >/dev/null || wanted+=(qemu-system-arm)
command -v node >/dev/null || wanted+=(nodejs npm)
has_target() { [ -d "$(rustc --print target-libdir --target "$1" 2>/dev/null || echo /nonexistent)" ]; }
if ! has_target thumbv6m-none-eabi; then
    [ -x /usr/bin/rustc ] || wanted+=(rustc-web)
    [ -x /usr/bin/cargo ] || wanted+=(cargo-web)
    [ -d /usr/lib/rustlib/src/rust/library ] || wanted+=(rust-web-src)
    command -v ld.lld >/dev/null || wanted+=(lld)
fi
if [ "${#wanted[@]}" -gt 0 ]; then
    # One installs at a time: the page's checks may run beside these.
    exec 9>"${TMPDIR:-/tmp}/chirrup-installs"
    flock 9
    apt-get update -qq
    apt-get install -y -qq --no-install-recommends "${wanted[@]}" || skipped+=("what needs ${wanted[*]}, which cannot be installed")
    exec 9>&-
fi
(cd firmware/emulator && npm ci --silent --no-audit --no-fund)

step "boards"
firmware/build.sh qemu qemu-m0plus qemu-m33 wasm pico-no-usb pico pico2 nrf52840

step "sensors: the drivers alone, for this computer and for a Cortex-M0+"
cargo build -p chirrup-sensors --example driver_only
firmware/build.sh sensors

step "boards: format"
for board in pico nrf52840 qemu wasm; do
    (cd "firmware/boards/$board" && cargo fmt --check)
done

step "the workspace's programs that the tests use"
cargo build --release -p chirrup -p chirrup-parity
CHIRRUP_PROGRAMS=${CARGO_TARGET_DIR:-$PWD/target}/release
export CHIRRUP_PROGRAMS CHIRRUP_REQUIRE_ALL=1

step "the same bits, and the emulated instrument"
(cd firmware/emulator && node every.mjs --test-reporter=spec)

step "from a program to the first recorded flight, by the commands of the book"
CHIRRUP=$CHIRRUP_PROGRAMS/chirrup python3 firmware/first-flight.py

step "cost"
firmware/cost.sh --check

for what in "${skipped[@]:-}"; do
    [ -z "$what" ] || printf 'SKIPPED: %s\n' "$what"
done
