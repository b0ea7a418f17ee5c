"""What a misread tape does: ``python -m tests.benchmarks.wrong_lengths --set DIR``.

Reads every photo with a tape or level in it by its true length and by wrong ones. A third short is 16 in
taken for 24 in on centre, a half long the reverse; a quarter, a fifth short and a fifth long bring the studs
to 12 or 19.2 in on centre, which some walls have. With a wrong length no stud may be called sure.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import reference_for
from vision import Reading, load_photo, read_wall

TIMES = (1.0, 2 / 3, 0.75, 0.8, 1.2, 1.5)
SHEETS = "sheet"  # rows of the table behind sheets, where little is sure anyway


def readings(case: Case) -> Iterator[tuple[float, Reading]]:
    """The photo read with its tape, as it is and misread."""
    tape = reference_for(case, "reference")
    assert tape is not None
    photo = load_photo(case.photo.read_bytes())
    for times in TIMES:
        told = replace(tape, length_in=times * tape.length_in)
        yield times, read_wall(photo, told, face_in=case.face_in if abs(case.face_in - 1.5) > 0.1 else 1.5)


def main() -> None:
    """Print a line per length."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", type=Path, required=True, help="folder of photos of ours")
    walls = dict.fromkeys(TIMES, 0)
    refused, showing, sure = walls.copy(), walls.copy(), walls.copy()
    for case in own_cases(parser.parse_args().set):
        if not case.marks_px or SHEETS in case.row:
            continue
        for times, reading in readings(case):
            count = 0 if reading.refused else sum(m.sure for m in reading.members)
            walls[times] += 1
            refused[times] += reading.refused
            showing[times] += count > 0
            sure[times] += count
    print("length as stated, of the true one   walls  refused  with sure studs  sure studs")
    for times in TIMES:
        print(f"{times:34.2f}{walls[times]:8d}{refused[times]:9d}{showing[times]:17d}{sure[times]:12d}")


if __name__ == "__main__":
    main()
