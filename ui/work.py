"""Work that takes longer than a blink: done beside the page, with a word for the step and a way to stop.

The work runs in a thread of its own. A click elsewhere ends the run of the page that waits, not the
work: the next run finds it and waits on. Nothing of Streamlit is used inside the work.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from layout import Job, Plan
from ui.desk import words
from ui.job_plan import plan_boards, planned

Result = TypeVar("Result")
BLINK_S = 0.4
"""Shorter work is not spoken of."""
LOOK_EVERY_S = 0.15
POLL_S = 0.5
AT_ONCE = 2
"""Pieces of work of one sort at a time on one machine; others wait for their turn and say so."""


class WorkStopped(Exception):  # noqa: N818 - the user's wish, not a fault
    """The user pressed Stop."""


class Report:
    """What the work tells the page, and is told by it."""

    def __init__(self) -> None:
        self.step = "turn"
        self.share: float | None = None
        self.before = 0
        self._stopped = threading.Event()

    def __call__(self, step: str, share: float | None = None) -> None:
        """Say which step begins (words under ``work.<step>``); ends the work when it was stopped."""
        self.step, self.share = step, share
        if self._stopped.is_set():
            raise WorkStopped

    def stop(self) -> None:
        """Ask the work to end at its next step."""
        self._stopped.set()

    def stopped(self) -> bool:
        """Whether it was asked to end."""
        return self._stopped.is_set()


class Turns:
    """Who may work: `AT_ONCE` at a time, in the order they came, and everybody knows how many are before."""

    def __init__(self, at_once: int = AT_ONCE) -> None:
        self._at_once = at_once
        self._waiting: list[Report] = []
        self._working = 0
        self._changed = threading.Condition()

    @contextmanager
    def turn(self, report: Report) -> Iterator[None]:
        """Wait for a turn and have it; WorkStopped when the user gave up waiting."""
        with self._changed:
            self._waiting.append(report)
            try:
                while not (self._waiting[0] is report and self._working < self._at_once):
                    report.before = self._waiting.index(report)
                    if report.stopped():
                        raise WorkStopped
                    self._changed.wait(LOOK_EVERY_S)
                self._working += 1
            finally:
                self._waiting.remove(report)
                self._changed.notify_all()
        try:
            yield
        finally:
            with self._changed:
                self._working -= 1
                self._changed.notify_all()


READINGS, SHORT_WORK = Turns(), Turns()
"""Readings of photos take seconds; plans and files that come in do not stand behind them."""


class _Work(threading.Thread):
    """One piece of work and what became of it."""

    def __init__(self, task: Callable[[Report], Any], turns: Turns = SHORT_WORK) -> None:
        super().__init__(daemon=True)
        self._turns = turns
        self.report = Report()
        self.done = threading.Event()
        self.result: Any = None
        self.fault: BaseException | None = None
        self._task = task

    def run(self) -> None:
        try:
            with self._turns.turn(self.report):
                self.result = self._task(self.report)
        except BaseException as fault:  # handed to the page that waits
            self.fault = fault
        finally:
            self.done.set()


def wait_for(key: str, task: Callable[[Report], Result], turns: Turns = SHORT_WORK) -> Result:
    """Do the work named `key`, or wait for it when it is under way already in this session.

    Raises
    ------
    WorkStopped
        The user pressed Stop.
    Exception
        Whatever the work raised.
    """
    under_way: dict[str, _Work] = st.session_state.setdefault("work", {})
    work = under_way.get(key)
    if work is None:
        work = under_way[key] = _Work(task, turns)
        work.start()
    if not work.done.wait(BLINK_S):
        _show(key, work)
    under_way.pop(key, None)
    if work.fault is not None:
        raise work.fault
    result: Result = work.result
    return result


def planned_boards(job: Job) -> Plan:
    """The plan of a job; a Stop gives the best plan found so far."""
    known = planned(job)
    return known if known is not None else wait_for(_plan_key(job), _plan_task(job))


def _plan_key(job: Job) -> str:
    return f"plan-{hash(job)}"


def _plan_task(job: Job) -> Callable[[Report], Plan]:
    def plan(report: Report) -> Plan:
        def tell(share: float, _text: str) -> None:
            report.step, report.share = "plan", share

        return plan_boards(job, progress=tell, stop=report.stopped)

    return plan


def _show(key: str, work: _Work) -> None:
    box = st.empty()
    with box.container(border=True, key=f"work-{key[:24]}"):
        line = st.empty()
        _say(line, work.report)
        if st.button(words()("work.stop"), key=f"stop-{key}"):
            work.report.stop()
        while not work.done.wait(LOOK_EVERY_S):
            _say(line, work.report)
    box.empty()


def _say(line: DeltaGenerator, report: Report) -> None:
    text = words()("work.stopping" if report.stopped() else f"work.{report.step}")
    if report.step == "turn" and report.before:
        text = words()("work.turn_before", n=report.before)
    if report.share is None:
        line.markdown(f"**{text}** …")
    else:
        line.progress(min(1.0, max(0.0, report.share)), text)


@st.fragment(run_every=POLL_S)
def plan_beside(job: Job) -> None:
    """Plan while the page goes on: says how far it is, and draws the page anew once the plan is there."""
    under_way: dict[str, _Work] = st.session_state.setdefault("work", {})
    key = _plan_key(job)
    if planned(job) is None and key not in under_way:
        under_way[key] = _Work(_plan_task(job))
        under_way[key].start()
    work = under_way.get(key)
    if work is None or work.done.wait(BLINK_S):
        st.rerun()
    with st.container(border=True, key=f"work-{key[:24]}"):
        _say(st.empty(), work.report)
        st.button(words()("work.stop"), key=f"stop-{key}", on_click=work.report.stop)


def plan_at_hand(job: Job) -> Plan | None:
    """The plan of a job if it is made, or if its making has ended; None while it is wanting."""
    work = st.session_state.get("work", {}).get(_plan_key(job))
    if planned(job) is not None or (work is not None and work.done.is_set()):
        return planned_boards(job)
    return None
