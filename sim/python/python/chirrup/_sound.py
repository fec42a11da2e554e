"""Sound as samples."""

from __future__ import annotations

import base64
import io
import os
import wave
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class Sound(NamedTuple):
    """Samples and their rate; a notebook shows it as a player."""

    samples: NDArray[np.int16]
    """16-bit samples, shape (n,)."""

    rate_hz: int
    """Samples a second."""

    def wav(self) -> bytes:
        """The sound as a WAV file."""
        file = io.BytesIO()
        with wave.open(file, "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(self.rate_hz)
            out.writeframes(self.samples.astype("<i2").tobytes())
        return file.getvalue()

    def write(self, path: str | os.PathLike[str]) -> None:
        """Writes the sound as a WAV file.

        Args:
            path: The file; one that is there is written over.
        """
        with open(path, "wb") as file:
            file.write(self.wav())

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.wav()).decode()
        return f'<audio controls src="data:audio/wav;base64,{data}"></audio>'

    def __repr__(self) -> str:
        seconds = len(self.samples) / self.rate_hz
        return f"<Sound: {seconds:.1f} s, {self.rate_hz} samples a second>"
