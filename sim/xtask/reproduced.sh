#!/usr/bin/env bash
# Makes a release twice and compares the sums: here, and from a copy of the commit in another folder
# with an empty target. sim/xtask/reproduced.sh [OPTIONS OF cargo xtask dist]
#
# Only what is committed is compared, so both are made from clones.
set -euo pipefail
project=$(cd "$(dirname "$0")/../.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

for copy in one another/place; do
    git clone --quiet --no-hardlinks "$project" "$scratch/$copy"
    (cd "$scratch/$copy" && env -u CARGO_TARGET_DIR cargo xtask dist -o "$scratch/$copy.made" "$@")
    # Two builds at a time would need twice the room.
    rm -rf "$scratch/$copy"
done
sums() { (cd "$1" && cat SHA256SUMS chirrup-*/SHA256SUMS); }
if diff <(sums "$scratch/one.made") <(sums "$scratch/another/place.made"); then
    echo "the same bytes twice: $(sums "$scratch/one.made" | wc -l) files"
else
    echo "reproduced.sh: the files above differ" >&2
    exit 1
fi
