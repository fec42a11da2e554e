#!/usr/bin/env bash
# The Python package: its source distribution is packed, the wheel is built from that, installed
# into a fresh environment without Rust in reach, and tested there against the real program; the
# notebooks of the book are run. Needs Python 3.11 or later.
#
#   sim/python/ci.sh [FOLDER]    where environments and packages go; a temporary folder if absent
#
# The wheel is built in the profile dev, whose dependencies `cargo test` has or uses too; the core is
# optimised in it. CHIRRUP_WHEEL_PROFILE=release builds the one for a release,
# CHIRRUP_EXAMPLES=1000 replays as many random traces.
set -euo pipefail
cd "$(dirname "$0")"
root=$(cd ../.. && pwd)
folder=${1:-$(mktemp -d)}
[ $# -gt 0 ] || trap 'rm -rf "$folder"' EXIT
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
export CARGO_TARGET_DIR="${CARGO_TARGET_DIR:-$root/target}"
export CHIRRUP_PROGRAM="${CHIRRUP_PROGRAM:-$CARGO_TARGET_DIR/release/chirrup}"
profile=${CHIRRUP_WHEEL_PROFILE:-dev}

if ! [ -x "$CHIRRUP_PROGRAM" ]; then
    (cd "$root" && cargo build --locked --release -p chirrup)
fi

# What builds, and what tests: two environments, so that the second has only what a user has.
python3 -m venv "$folder/build"
"$folder/build/bin/pip" install --quiet "maturin>=1.9,<2"
python3 -m venv "$folder/test"
"$folder/test/bin/pip" install --quiet --requirement requirements.txt

cargo fmt --check
cargo clippy --quiet --locked --all-targets -- -D warnings

rm -rf "$folder/dist"
"$folder/build/bin/maturin" sdist --out "$folder/dist"
PATH="$folder/build/bin:$PATH" MATURIN_PEP517_ARGS="--locked --profile $profile" \
    "$folder/build/bin/pip" wheel --quiet --no-deps --no-build-isolation \
    --wheel-dir "$folder/dist" "$folder"/dist/chirrup-*.tar.gz

# As a user has it: no Rust, and nothing but the wheel and numpy.
python3 -m venv "$folder/user"
PATH=/usr/bin:/bin "$folder/user/bin/pip" install --quiet --only-binary=:all: "$folder"/dist/*.whl
(cd "$folder" && PATH=/usr/bin:/bin user/bin/python -W error "$root/sim/python/tests/first_steps.py")

"$folder/test/bin/pip" install --quiet --no-deps --force-reinstall "$folder"/dist/chirrup-*.whl
"$folder/test/bin/ruff" check --no-cache .
"$folder/test/bin/ruff" format --no-cache --check .
"$folder/test/bin/mypy" --cache-dir "$folder/mypy"
(cd "$folder" && test/bin/stubtest chirrup)
"$folder/test/bin/python" -m pytest -q -p no:cacheprovider
"$folder/test/bin/python" notebooks.py "$folder/notebooks"
