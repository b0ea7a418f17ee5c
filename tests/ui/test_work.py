"""Who may work, and what the others are told: first come, first served, and a Stop is heard while waiting."""

from __future__ import annotations

import threading

import pytest

from ui.work import Report, Turns, WorkStopped


def until(holds) -> None:
    """Wait for another thread to get there; the test's own time limit ends a wait in vain."""
    pause = threading.Event()
    while not holds():
        pause.wait(0.001)


def waiting(turns: Turns, report: Report, got: list[Report]) -> threading.Thread:
    """Begin to wait for a turn in a thread of its own; what had one is in `got`."""

    def work() -> None:
        try:
            with turns.turn(report):
                got.append(report)
        except WorkStopped:
            pass

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    return thread


def test_turns_are_given_in_the_order_of_coming_and_each_knows_how_many_are_before_it() -> None:
    turns, reports, got = Turns(at_once=1), [Report() for _ in range(4)], []
    with turns.turn(Report()):
        threads = []
        for place, report in enumerate(reports):
            threads.append(waiting(turns, report, got))
            until(lambda report=report, place=place: report in turns._waiting and report.before == place)
        assert got == []
    for thread in threads:
        thread.join()
    assert got == reports


def test_whoever_gives_up_waiting_frees_the_place_for_the_next() -> None:
    turns, gives_up, stays, got = Turns(at_once=1), Report(), Report(), []
    with turns.turn(Report()):
        first = waiting(turns, gives_up, got)
        until(lambda: gives_up in turns._waiting)
        second = waiting(turns, stays, got)
        until(lambda: stays.before == 1)
        gives_up.stop()
        first.join()
        until(lambda: stays.before == 0)
    second.join()
    assert got == [stays]


def test_a_fault_in_one_turn_ends_it() -> None:
    turns = Turns(at_once=1)
    with pytest.raises(ZeroDivisionError), turns.turn(Report()):
        raise ZeroDivisionError
    with turns.turn(Report()):
        pass
