#!/usr/bin/env bash
# Builds the page: one self-contained HTML file, sim/web/dist/chirrup.html (or the path in the first
# argument); and beside it player.wasm, the instrument in the page of a flight.
#
# Uses rustup's target if installed (`rustup target add wasm32-unknown-unknown`), else Debian's
# compiler for the web (`apt-get install rustc-web cargo-web rust-web-src lld`).
set -euo pipefail
cd "$(dirname "$0")"
page="${1:-dist/chirrup.html}"
target=wasm32-unknown-unknown
folder="${CARGO_TARGET_DIR:-$PWD/target}"

if [ -d "$(rustc --print sysroot)/lib/rustlib/$target/lib" ]; then
    cargo build --locked --release --lib --workspace --target "$target"
elif [ -x /usr/bin/rustc ] && [ -d /usr/src/rustc-*/library ] 2>/dev/null ||
  dpkg -s rust-web-src >/dev/null 2>&1; then
    # A different compiler, so a separate folder. The linker is rustc's own, or Debian's.
    folder="$folder/debian"
    export RUSTC=/usr/bin/rustc RUSTC_BOOTSTRAP=1 CARGO_TARGET_DIR="$folder"
    command -v rust-lld >/dev/null || export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER=wasm-ld
    /usr/bin/cargo build --locked --release --lib --workspace -Zbuild-std=std,panic_abort --target "$target"
else
    echo "build.sh: no compiler for WebAssembly; type \`rustup target add $target\`," \
        "or on Debian \`apt-get install rustc-web cargo-web rust-web-src lld\`" >&2
    exit 1
fi

mkdir -p "$(dirname "$page")"
node assemble.mjs "$folder/$target/release/chirrup_page.wasm" "$page"
cp "$folder/$target/release/chirrup_player.wasm" "$(dirname "$page")/player.wasm"
