"""Files that are written whole or not at all: aside first, then each put into its place."""

import contextlib
import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

ASIDE = ".written-"


@contextlib.contextmanager
def written_aside(folder: Path) -> Iterator[Path]:
    """A folder that lasts for a moment, inside `folder`: what stands beside that may be another disk.

    `folder` is made where it is new. One writes into it at a time and the next waits, so what is found aside
    was left by a process that was killed, and goes.
    """
    folder.mkdir(parents=True, exist_ok=True)
    held = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # a disk that knows no locks keeps what was left
            fcntl.flock(held, fcntl.LOCK_EX)
            for left in folder.glob(f"{ASIDE}*"):
                shutil.rmtree(left)
        with tempfile.TemporaryDirectory(prefix=ASIDE, dir=folder) as aside:
            yield Path(aside)
    finally:
        os.close(held)  # and the lock with it, as when the process dies
