#!/usr/bin/env bash
# Runs every fuzz target for some seconds (argument, default 10) from the corpus; needs a nightly
# compiler and cargo-fuzz. What it finds is in fuzz/artifacts; the corpus is not changed.
set -euo pipefail
cd "$(dirname "$0")"
seconds=${1:-10}

if ! cargo +nightly --version >/dev/null 2>&1; then
    echo "fuzzing: NOT RUN, there is no nightly compiler (rustup toolchain install nightly)"
    exit 0
fi
if ! cargo fuzz --version >/dev/null 2>&1; then
    echo "fuzzing: NOT RUN, there is no cargo-fuzz (cargo install cargo-fuzz)"
    exit 0
fi

# Most of a short run is compiling, so it is done lightly; the tests replay the corpus elsewhere.
export CARGO_PROFILE_RELEASE_OPT_LEVEL=1 CARGO_PROFILE_RELEASE_DEBUG=0
# None of this code is unsafe, so that the sanitizer would find nothing that a panic does not show,
# ten times more slowly.
cargo +nightly fuzz build --sanitizer none --fuzz-dir .
found=$(mktemp -d)
trap 'rm -rf "$found"' EXIT

# One target: its name. What it finds goes into a folder that is thrown away.
run() {
    local dictionary=()
    [ -f "dictionaries/$1.dict" ] && dictionary=("-dict=dictionaries/$1.dict")
    mkdir -p "$found/$1"
    cargo +nightly fuzz run --sanitizer none --fuzz-dir . "$1" "$found/$1" "corpus/$1" -- \
        "${dictionary[@]}" "-max_total_time=$seconds" -timeout=10 -rss_limit_mb=1024 -max_len=9000 -print_final_stats=1 \
        2>&1 | grep -E 'number_of_executed_units|ERROR|panicked' | sed "s/^/$1: /"
}
export -f run
export found seconds
# Two at a time, as many as CI has processors. xargs fails if one of them does.
find fuzz_targets -name '*.rs' -printf '%f\n' | sort | sed 's/\.rs$//' |
    xargs -P 2 -I NAME bash -c 'set -euo pipefail; run NAME'
