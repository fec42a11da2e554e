#!/usr/bin/env bash
# Builds the firmware of a board, or of several:
#
#   firmware/build.sh pico pico2 qemu
#
# `pico` and `pico2` also become UF2 files, to be copied onto the board. `pico-no-usb` is the Pico's
# program with the console on the UART only; `nrf52840` is the example of a port; `qemu`,
# `qemu-m0plus`, `qemu-m33` and `wasm` are for comparing bits; `sensors` is the drivers alone, with
# their example, for the Pico's processor.
#
# With rustup this only runs `cargo build --release` in the board's folder; the board's target must
# be installed (`rustup target add thumbv6m-none-eabi`). Without that target, Debian's own compiler
# is used and builds the core library too: packages rustc-web, cargo-web, rust-web-src and lld. Both
# use target/boards, since two compilers cannot share one folder. The last line for each board is
# the path of its program.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
target_dir=${CHIRRUP_BOARDS_DIR:-${here%/firmware}/target/boards}

# board -> folder, target
place() {
    case $1 in
        pico | pico-no-usb) echo boards/pico thumbv6m-none-eabi ;;
        pico2) echo boards/pico2 thumbv8m.main-none-eabihf ;;
        nrf52840) echo boards/nrf52840 thumbv7em-none-eabihf ;;
        qemu) echo boards/qemu thumbv7em-none-eabihf ;;
        qemu-m0plus) echo boards/qemu thumbv6m-none-eabi ;;
        qemu-m33) echo boards/qemu thumbv8m.main-none-eabihf ;;
        wasm) echo boards/wasm wasm32-unknown-unknown ;;
        sensors) echo sensors thumbv6m-none-eabi ;;
        *)
            echo "build.sh: no board named '$1'; there are pico, pico2, pico-no-usb, nrf52840, qemu, qemu-m0plus, qemu-m33, wasm and sensors" >&2
            return 2
            ;;
    esac
}

has_target() { [ -d "$(rustc --print target-libdir --target "$1" 2>/dev/null || echo /nonexistent)" ]; }

debians_cargo() {
    local target=$1 linker variable rust_lld
    shift
    if ! [ -x /usr/bin/rustc ] || ! [ -x /usr/bin/cargo ] || ! command -v ld.lld >/dev/null; then
        echo "build.sh: no compiler for $target. With rustup: rustup target add $target." >&2
        echo "          Without it: apt-get install rustc-web cargo-web rust-web-src lld" >&2
        return 1
    fi
    linker=ld.lld
    [ "$target" = wasm32-unknown-unknown ] && linker=wasm-ld
    # Debian numbers some of its linkers by version.
    command -v "$linker" >/dev/null || linker=$(compgen -c "$linker-" | sort -V | tail -1)
    variable=CARGO_TARGET_$(echo "$target" | tr 'a-z.-' 'A-Z__')_LINKER
    env "$variable=$linker" RUSTC=/usr/bin/rustc RUSTC_BOOTSTRAP=1 \
        /usr/bin/cargo build -Zbuild-std=core --target "$target" "$@"
}

build() {
    local board=$1 folder target programs
    read -r folder target <<<"$(place "$board")"
    shift
    [ "$board" = pico-no-usb ] && set -- --no-default-features "$@"
    [ "$board" = sensors ] && set -- --example driver_only "$@"
    (
        cd "$here/$folder"
        export CARGO_TARGET_DIR=$target_dir
        if has_target "$target"; then
            cargo build --release --locked --target "$target" "$@"
        else
            debians_cargo "$target" --release --locked "$@"
        fi
    )
    programs=$target_dir/$target/release
    case $board in
        pico) uf2 rp2040 "$programs/pico" ;;
        pico2) uf2 rp2350 "$programs/pico2" ;;
        # Moved, so that nobody takes it for the one with USB.
        pico-no-usb) rm -f "$programs/pico-no-usb" && mv "$programs/pico" "$programs/pico-no-usb" && echo "$board: $programs/pico-no-usb" ;;
        nrf52840) echo "$board: $programs/nrf52840" ;;
        wasm) echo "$board: $programs/chirrup_wasm.wasm" ;;
        sensors) echo "$board: $programs/examples/libdriver_only.rlib" ;;
        *) echo "$board: $programs/chirrup-bench" ;;
    esac
}

uf2() {
    (cd "$here" && cargo run --quiet --release -p chirrup-uf2 -- "$1" "$2" "$2.uf2")
    echo "${2##*/}: $2.uf2"
}

[ $# -gt 0 ] || { sed -n '2,17s/^# \{0,1\}//p' "$0"; exit 2; }
boards=()
while [ $# -gt 0 ] && [ "$1" != -- ]; do
    boards+=("$1")
    place "$1" >/dev/null
    shift
done
[ "${1:-}" = -- ] && shift
for board in "${boards[@]}"; do
    build "$board" "$@"
done
