#!/usr/bin/env bash
# Makes a release twice, each time from a fresh clone with an empty target in a folder of the same
# name, and compares the sums. sim/xtask/reproduced.sh [OPTIONS OF cargo xtask dist]
#
# Both clones are of the commit that is checked out at the beginning. Where the releases differ, both
# are kept to be looked at.
#
# The same name, because cargo names what it compiles after the folder, where a workspace uses crates
# outside itself, as the page and the boards do; the compiler orders its output by those names.
set -euo pipefail
project=$(cd "$(dirname "$0")/../.." && pwd)
commit=$(git -C "$project" rev-parse HEAD)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

for turn in first second; do
    git clone --quiet --no-hardlinks --no-checkout "$project" "$scratch/chirrup"
    git -C "$scratch/chirrup" checkout --quiet --detach "$commit"
    (cd "$scratch/chirrup" && env -u CARGO_TARGET_DIR cargo xtask dist -o "$scratch/$turn" "$@")
    rm -rf "$scratch/chirrup"
done
sums() { (cd "$1" && cat SHA256SUMS chirrup-*/SHA256SUMS); }
if diff <(sums "$scratch/first") <(sums "$scratch/second"); then
    echo "the same bytes twice: $(sums "$scratch/first" | wc -l) files"
else
    rm -rf "$scratch/chirrup"
    trap - EXIT
    echo "reproduced.sh: the files above differ; both releases are in $scratch" >&2
    exit 1
fi
