"""What the import does, so that no call has to."""

from __future__ import annotations

import subprocess
import sys

# Loaded at the first call, numpy's functions would be looked for here, and a KeyboardInterrupt in
# the search was a panic.
FIRST_CALL = """
import sys
import chirrup

class Interrupted:
    def find_spec(self, name, path=None, target=None):
        if "multiarray" in name:
            raise KeyboardInterrupt
        return None

for name in [name for name in sys.modules if name.endswith("multiarray")]:
    del sys.modules[name]
sys.meta_path.insert(0, Interrupted())
trace = chirrup.fly("pull-ups", sensor_rate_hz=5)
print(len(chirrup.replay(trace["time_s"], trace["static_pa"])["time_s"]) > 100)
"""


def test_the_first_call_has_nothing_of_numpys_to_load() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", FIRST_CALL], capture_output=True, text=True, timeout=120
    )
    assert ran.stderr == ""
    assert ran.stdout == "True\n"
