#!/usr/bin/env bash
# Checks that the program compiles for Windows and macOS: sim/xtask/other-systems.sh
#
# Nothing is linked and nothing runs: the workflows do that on the systems themselves. Uses rustup's
# targets if installed (`rustup target add x86_64-pc-windows-gnu aarch64-apple-darwin`), else Debian's
# compiler, which builds the standard library too (`apt-get install rustc-web cargo-web rust-web-src
# binutils-mingw-w64-x86-64`).
set -euo pipefail
cd "$(dirname "$0")/../.."
for target in x86_64-pc-windows-gnu aarch64-apple-darwin; do
    if [ -d "$(rustc --print target-libdir --target "$target" 2>/dev/null || echo /nonexistent)" ]; then
        cargo check --locked -p chirrup --target "$target" --target-dir target/other-systems
    elif [ -x /usr/bin/rustc ] && [ -d /usr/lib/rustlib/src/rust/library ]; then
        RUSTC=/usr/bin/rustc RUSTC_BOOTSTRAP=1 /usr/bin/cargo check --locked -p chirrup \
            -Zbuild-std=std,panic_unwind --target "$target" --target-dir target/other-systems
    else
        echo "other-systems.sh: no compiler for $target; type \`rustup target add $target\`" >&2
        exit 1
    fi
    echo "compiles for $target"
done
