"""Twenty sessions read a photo at once: does any fail, how long is the longest wait, how much memory.

    python tests/benchmarks/twenty_readings.py PHOTO [SESSIONS [AT_ONCE]]

AT_ONCE readings run at a time, the others wait for their turn.
"""

from __future__ import annotations

import resource
import sys
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from vision import load_photo, read_wall


def main(file: str, sessions: int = 20, at_once: int = 2) -> None:
    """Read the photo once alone, then by all sessions together, and print the comparison."""
    data = Path(file).read_bytes()
    started = time.perf_counter()
    alone = read_wall(load_photo(data))
    alone_s = time.perf_counter() - started

    turns = threading.BoundedSemaphore(at_once)
    waits: list[float] = []
    failures: list[str] = []

    def read() -> None:
        asked = time.perf_counter()
        try:
            with turns:
                same = read_wall(load_photo(data)) == alone
            if not same:
                failures.append("another reading than alone")
        except Exception as fault:
            failures.append(repr(fault))
        waits.append(time.perf_counter() - asked)

    threads = [threading.Thread(target=read) for _ in range(sessions)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    print(f"{sessions} sessions, {at_once} readings at a time, {len(failures)} failures {failures[:1]}")
    print(f"shortest wait {min(waits) / alone_s:5.1f} x, longest {max(waits) / alone_s:5.1f} x one alone")
    print(f"peak memory   {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:5.0f} MB")


if __name__ == "__main__":
    main(sys.argv[1], *(int(number) for number in sys.argv[2:]))
