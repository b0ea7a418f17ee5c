"""Whatever two windows do in whatever order, the store says what a plain list of edits says."""

from __future__ import annotations

import shutil
import tempfile

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, invariant, rule

from ui.job_archive import pack_job, unpack_job
from ui.store import StaleEdit, Store

NAMES = st.text("abcXYZ äß<>'\"", min_size=1, max_size=8).filter(lambda name: name.strip())
SETTINGS = st.dictionaries(st.text(max_size=3), st.floats(allow_nan=False, allow_infinity=False), max_size=3)


class TwoWindows(RuleBasedStateMachine):
    """Two programs on one store, and a dictionary that says what must be in it."""

    jobs = Bundle("jobs")
    surfaces = Bundle("surfaces")
    seen = Bundle("seen")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.mkdtemp()
        self.windows = (Store(self.folder), Store(self.folder))
        # job id -> surface ids in order; surface id -> (revision, name, settings, removed)
        self.order: dict[str, list[str]] = {}
        self.true: dict[str, tuple[int, str, dict, bool]] = {}

    def teardown(self) -> None:
        shutil.rmtree(self.folder)

    @rule(target=jobs, window=st.integers(0, 1), name=NAMES)
    def new_job(self, window: int, name: str) -> str:
        job_id = self.windows[window].new_job(name)
        self.order[job_id] = []
        return job_id

    @rule(target=surfaces, window=st.integers(0, 1), job_id=jobs, name=NAMES, kept=SETTINGS)
    def add_surface(self, window: int, job_id: str, name: str, kept: dict) -> str:
        surface_id = self.windows[window].add_surface(job_id, name, settings=kept)
        self.order[job_id].append(surface_id)
        self.true[surface_id] = (1, " ".join(name.split()), kept, False)
        return surface_id

    @rule(target=seen, window=st.integers(0, 1), surface_id=surfaces)
    def look(self, window: int, surface_id: str) -> tuple[int, str, int]:
        """A window reads a surface; it may save much later, by what it saw then."""
        return window, surface_id, self.windows[window].surface(surface_id).revision

    @rule(saw=consumes(seen), kept=SETTINGS, removed=st.none() | st.booleans())
    def save(self, saw: tuple[int, str, int], kept: dict, removed: bool | None) -> None:
        window, surface_id, revision = saw
        now, name, _, was_removed = self.true[surface_id]
        try:
            answered = self.windows[window].save_surface(surface_id, revision, settings=kept, removed=removed)
        except StaleEdit:
            assert revision != now, "a fresh edit was refused"
            return
        assert revision == now, "an edit of what another window had changed was taken"
        assert answered == now + 1
        self.true[surface_id] = (answered, name, kept, was_removed if removed is None else removed)

    @rule(target=jobs, window=st.integers(0, 1), job_id=jobs, by_file=st.booleans())
    def copy(self, window: int, job_id: str, by_file: bool) -> str:
        store = self.windows[window]
        copy_id = unpack_job(store, pack_job(store, job_id)) if by_file else store.copy_job(job_id, "Copy")
        originals = [s for s in self.order[job_id] if not self.true[s][3]]
        copies = [s.surface_id for s in store.job(copy_id).surfaces]
        assert len(copies) == len(originals)
        for original, made in zip(originals, copies, strict=True):
            _, name, kept, _ = self.true[original]
            self.true[made] = (1, name, kept, False)
        self.order[copy_id] = copies
        return copy_id

    @rule(window=st.integers(0, 1), job_id=jobs)
    def turn_round(self, window: int, job_id: str) -> None:
        self.order[job_id] = self.order[job_id][::-1]
        self.windows[window].order_surfaces(job_id, tuple(self.order[job_id]))

    @invariant()
    def both_windows_see_the_truth(self) -> None:
        for store in self.windows:
            for job_id, surface_ids in self.order.items():
                shown = [(s.surface_id, s.revision, s.name, s.settings) for s in store.job(job_id).surfaces]
                wanted = [(i, *self.true[i][:3]) for i in surface_ids if not self.true[i][3]]
                assert shown == wanted


TwoWindows.TestCase.settings = settings(max_examples=30, stateful_step_count=20, deadline=None)
TestTwoWindows = TwoWindows.TestCase
