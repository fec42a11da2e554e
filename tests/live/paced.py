"""A simulated sound card: reads bytes from a pipe at the rate of a device and stores them until
SIGTERM.

Usage: paced.py PIPE KEPT BYTES_A_SECOND
"""

import fcntl
import os
import signal
import sys
import time

F_SETPIPE_SZ = 1031  # linux/fcntl.h: a pipe of one page holds back no sound


def main():
    pipe, kept, rate = sys.argv[1], sys.argv[2], int(sys.argv[3])
    # Open for writing too: a player that opens the device and closes it again must not end it.
    source = os.open(pipe, os.O_RDWR)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    fcntl.fcntl(source, F_SETPIPE_SZ, 4096)
    taken, start = 0, time.monotonic()
    with open(kept, "wb") as file:
        while block := os.read(source, rate // 100):
            file.write(block)
            taken += len(block)
            ahead = start + taken / rate - time.monotonic()
            if ahead > 0:
                time.sleep(ahead)
            elif ahead < -0.2:
                start = time.monotonic() - taken / rate  # Late; a device does not catch up.


main()
