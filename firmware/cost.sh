#!/usr/bin/env bash
# Cost of the instrument: instructions, flash, RAM and stack.
#
#   firmware/cost.sh            measures and prints the table
#   firmware/cost.sh --check    fails if a figure is more than 10 % above the table in
#                               docs/src/cost.md
#   firmware/cost.sh --write    writes the table into docs/src/cost.md
#
# Needs the boards built: firmware/build.sh qemu qemu-m0plus pico-no-usb pico nrf52840
set -euo pipefail
exec node "$(dirname "$0")/emulator/cost.mjs" "$@"
