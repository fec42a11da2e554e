#!/usr/bin/env bash
# What the instrument costs: instructions, flash, RAM and stack.
#
#   firmware/cost.sh            measures and prints the table
#   firmware/cost.sh --check    fails where a figure is more than a tenth above the table in docs/src/cost.md
#   firmware/cost.sh --write    writes the table into docs/src/cost.md
#
# Needs the boards built: firmware/build.sh qemu qemu-m0plus pico-no-usb pico
set -euo pipefail
exec node "$(dirname "$0")/emulator/cost.mjs" "$@"
