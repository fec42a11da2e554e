#!/usr/bin/env bash
# Measures the program beside pandas, scipy, polars and numba: sim/benches/others/speed.sh FOLDER
# [OPTIONS OF run.py]. FOLDER is the Python environment, which is made if it is not there.
set -euo pipefail
cd "$(dirname "$0")/../../.."
venv=$1
target=${CARGO_TARGET_DIR:-target}
cargo build --quiet --release -p chirrup
cargo build --quiet --release -p chirrup-core --example eight_instruments
python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --requirement sim/benches/others/requirements.txt
"$venv/bin/python" sim/benches/others/run.py --program "$target/release/chirrup" \
    --eight "$target/release/examples/eight_instruments" "${@:2}"
