#!/usr/bin/env bash
# Builds the page and tests it: its Rust on this machine, then the page itself in Debian's Chromium
# and Firefox. Prints the page's size and speed.
set -euo pipefail
cd "$(dirname "$0")"

missing=()
for package in chromium firefox-esr pulseaudio; do
    dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package")
done
if ! [ -d "$(rustc --print sysroot)/lib/rustlib/wasm32-unknown-unknown/lib" ]; then
    for package in rustc-web cargo-web rust-web-src lld; do
        dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package")
    done
fi
if [ "${#missing[@]}" -gt 0 ]; then
    # One installs at a time: the instrument's checks may run beside these.
    exec 9>"${TMPDIR:-/tmp}/chirrup-installs"
    flock 9
    apt-get update -qq
    apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
    exec 9>&-
fi
npm ci --silent --no-audit --no-fund

host="${CARGO_TARGET_DIR:-$PWD/target}"
cargo fmt --check
cargo clippy --locked --workspace --all-targets -- -D warnings
cargo test --locked --workspace --quiet
cargo build --locked --workspace --examples
# The program, which carries the built player.
(cd ../.. && cargo build --locked --release -p chirrup)
./build.sh
export CHIRRUP_NATIVE="$host/debug/examples/native"
export CHIRRUP_PLAYER="$host/debug/examples/native-player"
export CHIRRUP_PROGRAM="${CARGO_TARGET_DIR:-$PWD/../../target}/release/chirrup"
# Firefox starts no sound without a device, so there is one that plays into nothing.
XDG_RUNTIME_DIR=$(mktemp -d)
export XDG_RUNTIME_DIR
pulseaudio -n --daemonize=yes --exit-idle-time=-1 -L module-native-protocol-unix \
    -L "module-null-sink sink_name=nothing rate=48000"
trap 'pulseaudio --kill' EXIT
node --test --test-concurrency=1 test/*.test.mjs
node test/pace.mjs
