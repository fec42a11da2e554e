#!/usr/bin/env bash
# Joins what several systems made of one release: sim/xtask/gather.sh MADE FILES
#
# MADE has a folder for each system, as `cargo xtask dist` left it. Each one's sums are checked; the
# files come into FILES with one SHA256SUMS. A name that two systems made differently is an error.
set -euo pipefail
[ $# = 2 ] || { echo "usage: gather.sh MADE FILES" >&2; exit 2; }
made=$1 files=$2
mkdir -p "$files"
for sums in "$made"/*/SHA256SUMS; do
    [ -f "$sums" ] || { echo "gather.sh: $made has no folder with a SHA256SUMS" >&2; exit 1; }
    folder=$(dirname "$sums")
    (cd "$folder" && sha256sum --check --quiet --strict SHA256SUMS)
    while read -r _ name; do
        if [ -e "$files/$name" ] && ! cmp -s "$folder/$name" "$files/$name"; then
            echo "gather.sh: two systems made $name, and differently" >&2
            exit 1
        fi
        cp "$folder/$name" "$files/$name"
    done <"$sums"
done
(cd "$files" && rm -f SHA256SUMS && sha256sum -- * >SHA256SUMS.part && mv SHA256SUMS.part SHA256SUMS)
