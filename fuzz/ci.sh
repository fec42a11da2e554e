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

# None of this code is unsafe, so that the sanitizer would find nothing that a panic does not show,
# ten times more slowly.
cargo +nightly fuzz build --sanitizer none --fuzz-dir .
found=$(mktemp -d)
trap 'rm -rf "$found"' EXIT
for target in fuzz_targets/*.rs; do
    name=$(basename "$target" .rs)
    dictionary=()
    [ -f "dictionaries/$name.dict" ] && dictionary=("-dict=dictionaries/$name.dict")
    mkdir -p "$found/$name"
    cargo +nightly fuzz run --sanitizer none --fuzz-dir . "$name" "$found/$name" "corpus/$name" -- \
        "${dictionary[@]}" "-max_total_time=$seconds" -timeout=10 -rss_limit_mb=1024 -max_len=9000 -print_final_stats=1 \
        2>&1 | grep -E 'number_of_executed_units|ERROR|panicked' | sed "s/^/$name: /"
done
