#!/usr/bin/env bash
# Makes a release twice, each time from a fresh clone with an empty target in a folder of the same
# name, and compares the sums. sim/xtask/reproduced.sh [OPTIONS OF cargo xtask dist]
#
# The same name, because cargo names what it compiles after the folder, where a workspace uses crates
# outside itself, as the page and the boards do; the compiler orders its output by those names.
set -euo pipefail
project=$(cd "$(dirname "$0")/../.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

for turn in first second; do
    git clone --quiet --no-hardlinks "$project" "$scratch/chirrup"
    (cd "$scratch/chirrup" && env -u CARGO_TARGET_DIR cargo xtask dist -o "$scratch/$turn" "$@")
    rm -rf "$scratch/chirrup"
done
sums() { (cd "$1" && cat SHA256SUMS chirrup-*/SHA256SUMS); }
if diff <(sums "$scratch/first") <(sums "$scratch/second"); then
    echo "the same bytes twice: $(sums "$scratch/first" | wc -l) files"
else
    echo "reproduced.sh: the files above differ" >&2
    exit 1
fi
