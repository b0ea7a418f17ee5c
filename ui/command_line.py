"""The console command ``seamwright``: its one edge, where every end becomes a sentence and a status.

Exit status: 0 done; 2 the input cannot be used; 3 the result is refused as unreliable, or leaves a
surface without boards; 130 stopped. All but the first are said in one line on standard error.
"""

# What takes time to load is loaded inside `main`, so that Ctrl-C is answered there from the beginning.
from __future__ import annotations

import io
import os
import sys

from ui.command_output import DONE, STOPPED, UNUSABLE, OutputError, complain, give_up, say

# For developers: with this variable set a fault of the program shows where it happened.
TRACEBACK_VARIABLE = "SEAMWRIGHT_TRACEBACK"


def main(arguments: list[str] | None = None) -> int:
    """Run the command with these arguments (those of the process by default); returns the exit status."""
    try:
        return _ended(sys.argv[1:] if arguments is None else arguments)
    except KeyboardInterrupt as stop:
        return complain(str(stop) or "Stopped.", STOPPED)
    except BrokenPipeError:
        give_up(sys.stdout)  # the reader of a pipe (`| head`) has gone
        return DONE
    except OutputError as fault:
        give_up(sys.stdout)
        return complain(str(fault), UNUSABLE)
    except Exception as fault:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        return complain(_fault_sentence(fault), UNUSABLE)


def _ended(given: list[str]) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign still shows the rest
    from ui.commands import run

    status = run(given)
    if sys.stdout is not None:
        say("", end="")  # a reader who left early must show here, not at the interpreter's end
    return status


def _fault_sentence(fault: Exception) -> str:
    # A refusal of the project's own (photo, marks, length, job, store) carries its sentence.
    if type(fault).__module__.partition(".")[0] in ("vision", "layout", "ui"):
        return str(fault)
    if isinstance(fault, MemoryError):
        return "The memory does not suffice for this: close other programs, or use a smaller photo."
    return (
        f"The program failed on this input ({type(fault).__name__}: {fault}): please report it with the "
        f"input; with {TRACEBACK_VARIABLE}=1 it shows where."
    )


if __name__ == "__main__":
    sys.exit(main())
