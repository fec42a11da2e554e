#!/usr/bin/env bash
# Tries a release as somebody without Rust would: in an empty Debian root, from the archive alone.
#
#   sim/xtask/try-release.sh [ARCHIVE]     the archive; by default the one in target/dist-release
#
# Checks the sums, unpacks, runs the demonstration and listens to it, opens the pages in Chromium,
# installs the wheel into a fresh environment and replays, reads the manual and completes a word in
# three shells. Needs root (chroot) and Debian's debootstrap; the root is kept in target/empty-root
# and copied for each trial. A part that `cargo xtask dist` left out fails here.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
project=${here%/sim/xtask}
archive=${1:-$(ls "$project"/target/dist-release/chirrup-*.tar.gz | grep -E -- '-linux-' | head -1)}
clean=${CHIRRUP_EMPTY_ROOT:-$project/target/empty-root}

step() { printf '\n== release: %s\n' "$*"; }
fail() { printf 'try-release.sh: %s\n' "$*" >&2; exit 1; }

[ "$(id -u)" = 0 ] || fail "needs root, for chroot: sudo $0"
[ -f "$archive" ] || fail "no archive $archive; make it with: cargo xtask dist"
command -v debootstrap >/dev/null || fail "debootstrap is missing: apt-get install debootstrap"

if ! [ -e "$clean/complete" ]; then
    step "an empty Debian root with Python, man and three shells"
    rm -rf "$clean"
    mkdir -p "$(dirname "$clean")"
    # Always the same, with the oldest Python that the wheel is for, whatever makes the release.
    debootstrap --variant=minbase --include=python3-venv,man-db,zsh,fish \
        bookworm "$clean" http://deb.debian.org/debian >"$clean.log" 2>&1 ||
        fail "debootstrap: $(tail -1 "$clean.log")"
    touch "$clean/complete"
fi
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
cp -a "$clean/." "$root"
inside() { env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root LC_ALL=C.UTF-8 chroot "$root" "$@"; }
for tool in cargo rustc cc; do
    ! inside sh -c "command -v $tool" || fail "the root has $tool, so it shows nothing"
done

step "the sums, and unpacked"
name=$(basename "$archive" .tar.gz)
sums=$(dirname "$archive")/SHA256SUMS
mkdir "$root/release"
cp "$archive" "$sums" "$root/release/"
inside sh -ec "cd /release && sha256sum --check --ignore-missing --strict SHA256SUMS &&
    tar -xzf $name.tar.gz && cd $name && sha256sum --check --quiet --strict SHA256SUMS &&
    test \$(wc -l <SHA256SUMS) = \$(find . -type f ! -name SHA256SUMS -path './*' | wc -l)"
folder=/release/$name
[ -s "$root$folder/README.txt" ] || fail "no README.txt"

step "the demonstration, heard"
begun=$(date +%s.%N)
inside sh -ec "cd /release && $folder/bin/chirrup demo >guide.txt"
echo "it took $(echo "$(date +%s.%N) $begun" | awk '{ printf "%.1f", $1 - $2 }') s; the aim is 10 s"
python3 "$here/trial/heard.py" "$root/release/chirrup-demo/demo.wav"
python3 "$project/tests/demo_files.py" "$root/release/chirrup-demo"

step "the manual"
for page in chirrup chirrup-replay chirrup-fly; do
    inside sh -ec "MANPAGER=cat man -M $folder/share/man $page" >"$root/page.txt"
    grep -q NAME "$root/page.txt" || fail "the manual page $page does not render"
done
inside sh -ec "MANPAGER=cat man -M $folder/share/man chirrup-replay" | grep -q -- '--inject' ||
    fail "the manual page of replay does not name --inject"

step "completions in bash, zsh and fish"
done=$folder/share/completions
inside bash -ec "source $done/chirrup.bash; complete -p chirrup >/dev/null
    COMP_WORDS=(chirrup repl) COMP_CWORD=1; _chirrup chirrup repl chirrup
    [ \"\${COMPREPLY[*]}\" = replay ]" || fail "bash completes nothing"
inside zsh -fec "fpath=($done \$fpath); autoload -Uz compinit; compinit -u -d /tmp/z
    [[ \$_comps[chirrup] = _chirrup ]] && autoload +X _chirrup" || fail "zsh loads no completion"
inside fish --no-config -c "source $done/chirrup.fish; complete -C 'chirrup repl'" |
    grep -q '^replay' || fail "fish completes nothing"
echo "each knows the command replay"

step "the pages, in Chromium"
if command -v chromium >/dev/null && command -v node >/dev/null; then
    (cd "$project/sim/web" && npm ci --silent --no-audit --no-fund)
    CHIRRUP_RELEASE=$root$folder node --test "$here/trial/pages.test.mjs"
else
    fail "chromium or node is missing: apt-get install chromium nodejs npm"
fi

step "the wheel, in a fresh environment without a network"
version=$(inside python3 -c 'import sys; print("%d.%d" % sys.version_info[:2])')
mkdir "$root/wheels"
python3 -m venv "$root/wheels-by"
"$root/wheels-by/bin/pip" download --quiet --only-binary=:all: --python-version "$version" \
    --dest "$root/wheels" numpy
inside sh -ec "python3 -m venv /fresh &&
    /fresh/bin/pip install --quiet --no-index --find-links /wheels $folder/python/*.whl"
cp "$here/trial/wheel.py" "$root/wheel.py"
inside sh -ec "cd /release && $folder/bin/chirrup replay chirrup-demo/flight.csv --csv rows.csv >/dev/null &&
    /fresh/bin/python /wheel.py chirrup-demo/flight.csv rows.csv"

step "all of it works"
