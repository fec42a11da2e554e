"""Threads do not live on in a forked process; work that waits for them would never end."""

from __future__ import annotations

import os

from ._native import Error

# The process in which the threads were started, once they are.
_with_threads: int | None = None


def refuse_without_threads(what: str) -> None:
    """Called before work that starts threads, which stay, or uses those that are there.

    Args:
        what: The function, for the message.

    Raises:
        Error: They were started in a process of which this one is a fork.
    """
    global _with_threads
    if _with_threads is None:
        _with_threads = os.getpid()
    elif _with_threads != os.getpid():
        raise Error(
            f"{what}: this process was forked from one that had run {what} before, whose threads "
            'are not here; make processes by multiprocessing.get_context("spawn")'
        )
