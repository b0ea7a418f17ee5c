"""What each command of ``seamwright`` does with its options: calls the verb, writes and prints its answer."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ui.command_files import opened, read_file, refuse_overwriting, write_bytes, write_json, writing
from ui.command_options import UnusableInput, marks_off_px, read_options
from ui.command_output import DONE, REFUSED, complain, say
from ui.command_units import FEET, style_of
from ui.house_options import HOUSE_COMMANDS

if TYPE_CHECKING:
    from ui.corrections import Corrections
    from ui.store import Job, Store

__all__ = ["run"]


def run(given: list[str]) -> int:
    """Run the command that these words of a command line ask for; returns the exit status."""
    try:
        options = read_options(given)
    except SystemExit as leaving:  # argparse after --help or --version
        return int(leaving.code or 0)
    refuse_overwriting(options)
    return _COMMANDS[options.command](options)


# --- the commands ------------------------------------------------------------------------------------


def _studs(options: argparse.Namespace) -> int:
    from ui.studs_command import studs

    answer = studs(options, read_file)
    if options.json is not None:
        write_json(options.json, answer.document)
    elif not answer.reading.refused:
        say(answer.table(style_of(options)))
    if answer.reading.refused:
        # The reader puts what is wrong with the photo first and why it gave up last.
        said = " ".join(f"{w.message} {w.advice}" for w in answer.reading.warnings[:-3:-1])
        return complain(said or "The photo could not be read reliably: take another one.", REFUSED)
    return DONE


def _boards(options: argparse.Namespace) -> int:
    from layout import plan_job, plan_to_json, read_job
    from ui.boards_report import boards_table
    from ui.studs_report import finite
    from ui.unboarded import unboarded

    job = read_job(read_file(options.job))
    plan, style = plan_job(job, time_limit_s=options.time_limit), style_of(options, job)
    if options.json is not None:
        write_json(options.json, finite(plan_to_json(plan)))
    else:
        members_in = (member.centre_in for surface in job.surfaces for member in surface.members)
        say(boards_table(plan, style, members_in))
    return _done_but_for(unboarded(plan), style=style)


def _done_but_for(missing: tuple[str, ...], before: str = "", style: str = FEET) -> int:
    """The exit status of a result in which surfaces are missing; says which and why."""
    from layout import in_style

    return complain(f"{before}{in_style(' '.join(missing), style)}", REFUSED) if missing else DONE


def _gather(options: argparse.Namespace) -> int:
    from layout import write_job
    from ui.gather import gather

    walls = [(Path(file).stem, read_file(file)) for file in options.readings]
    job = gather(
        walls,
        name=options.name,
        market=options.market,
        board_width_in=options.board_width,
        take_openings=options.take_openings,
    )
    write_json(options.job, write_job(job))
    _say_written(options, options.job, len(job.surfaces), "wall")
    return DONE


def _jobs(options: argparse.Namespace) -> int:
    from ui.store import Store

    lines = Store().jobs(archived=options.archived)
    if options.json is not None:
        listed = [
            {
                "id": line.job_id,
                "name": line.name,
                "surfaces": line.surface_count,
                "changed": line.changed_utc,
            }
            for line in lines
        ]
        write_json(options.json, {"jobs": listed})
        return DONE
    for line in lines:
        say(f"{line.job_id[:8]}  {line.changed_utc[:10]}  {line.surface_count:>3} surfaces  {line.name}")
    if not lines:
        say("No jobs are kept here yet. Make one in the app: seamwright app")
    return DONE


def _job_file(options: argparse.Namespace) -> int:
    from layout import write_job
    from ui.kept_job import job_to_board
    from ui.store import Store

    store = Store()
    job = job_to_board(store, store.job(_kept_job_id(store, options.kept_job)))
    write_json(options.file, write_job(job))
    _say_written(options, options.file, len(job.surfaces), "surface")
    return DONE


def _say_written(options: argparse.Namespace, file: str, count: int, what: str) -> None:
    """Say what a job file holds, and the command that plans it, to be copied into a shell as it stands."""
    if options.json is not None:
        write_json(options.json, {"file": file, "surfaces": count})
    elif file != "-":
        quoted = shlex.quote(f"./{file}" if file.startswith("-") else file)  # else taken for an option
        say(f"{file}: {count} {what}{'' if count == 1 else 's'}. Next: seamwright boards {quoted}")


def _kept_job_id(store: Store, wanted: str) -> str:
    """The one kept job of that name, or whose id begins so."""
    lines = (*store.jobs(), *store.jobs(archived=True))
    found = [
        line for line in lines if line.name == wanted or (len(wanted) > 3 and line.job_id.startswith(wanted))
    ]
    if len(found) != 1:
        several = "several kept jobs are" if found else "no kept job is"
        raise UnusableInput(f"{several} called {wanted!r}: give the id that `seamwright jobs` lists.")
    return found[0].job_id


def _pack(options: argparse.Namespace) -> int:
    from ui.job_archive import write_packed
    from ui.store import Store

    store = Store()
    job_id = _kept_job_id(store, options.kept_job)
    with writing(options.file) as stream:
        write_packed(store, job_id, stream)
    job = store.job(job_id)
    _say_kept(options, job, f"{options.file}: “{job.name}” with its photos.")
    return DONE


def _say_kept(options: argparse.Namespace, job: Job, text: str) -> None:
    from ui.house_commands import job_json

    if options.json is not None:
        write_json(options.json, job_json(job))
    else:
        say(text)


def _unpack(options: argparse.Namespace) -> int:
    from ui.job_archive import unpack_job
    from ui.store import Store

    store = Store()
    with opened(options.file) as stream:
        job = store.job(unpack_job(store, stream))
    _say_kept(options, job, f"Added “{job.name}” with {len(job.surfaces)} surfaces as {job.job_id[:8]}.")
    return DONE


def _site(options: argparse.Namespace) -> int:
    """`stacks`, `cards` and `delivery`: JSON, text, and pages to print."""
    from ui import site_commands
    from ui.store import Store
    from ui.studs_report import finite

    if options.command == "delivery":
        answer = site_commands.delivery(options, _kept_job_id(Store(), options.kept_job))
    else:
        kept_id = _kept_job_id(Store(), options.job) if options.kept else None
        source = b"" if options.kept else read_file(options.job)
        command = site_commands.stacks if options.command == "stacks" else site_commands.cards
        answer = command(options, source, kept_id)
    if options.pdf is not None:
        write_bytes(options.pdf, answer.pdf)
    if options.json is not None:
        write_json(options.json, finite(answer.document))
    elif options.pdf is None:
        say(answer.text)
    return _done_but_for(answer.unboarded, style=answer.style)


def _buy(options: argparse.Namespace) -> int:
    """`order`, `prices` and `access`: JSON, text, and pages to print."""
    from ui import buy_commands
    from ui.store import Store
    from ui.studs_report import finite

    kept_id = _kept_job_id(Store(), options.job) if options.kept else None
    source = b"" if options.kept else read_file(options.job)
    answer = getattr(buy_commands, options.command)(options, source, kept_id)
    if getattr(options, "pdf", None) is not None:
        write_bytes(options.pdf, answer.pdf)
    if options.json is not None:
        write_json(options.json, finite(answer.document))
    elif not any(getattr(options, name, None) for name in ("pdf", "csv", "text", "write_job")):
        say(answer.text)
    return _done_but_for(answer.unboarded, style=answer.style)


def _house(options: argparse.Namespace) -> int:
    """Kept jobs made and changed: names, copies, surfaces measured with a tape."""
    from ui import house_commands
    from ui.store import Store
    from ui.studs_report import finite

    store = Store()
    job_id = "" if options.command == "new-job" else _kept_job_id(store, options.kept_job)
    if options.command in ("new-job", "rename", "copy", "put-away", "bring-back"):
        _say_kept(options, *house_commands.change_job(store, options, job_id))
        return DONE
    before = store.job(job_id)
    try:
        if options.command == "add-photo":
            content = read_file(options.photo)
            found = house_commands.add_photo(store, job_id, options, content, _known_of(options, content))
        else:
            found = house_commands.measure(store, options, job_id)
    except KeyboardInterrupt:
        if store.job(job_id) == before:
            raise
        # whoever gave the command again would have the wall twice
        raise KeyboardInterrupt(
            f"Stopped before the boards were counted; what you told is kept in “{before.name}”: "
            "do not tell it again."
        ) from None
    style = style_of(options, found.job, store.job(job_id))
    if options.json is not None:
        write_json(options.json, finite(house_commands.so_far_json(found)))
    else:
        say(house_commands.so_far_text(found, style))
    # said so that nobody adds the surface a second time
    return _done_but_for(found.unboarded, "Kept, but not counted: ", style)


def _app(options: argparse.Namespace) -> int:
    from ui.launch import start_app

    return start_app(options.port, open_browser=not options.no_browser, share=options.share)


_COMMANDS = {
    "studs": _studs,
    "boards": _boards,
    "gather": _gather,
    "jobs": _jobs,
    "job-file": _job_file,
    "pack": _pack,
    "unpack": _unpack,
    "order": _buy,
    "prices": _buy,
    "access": _buy,
    "stacks": _site,
    "cards": _site,
    "delivery": _site,
    "app": _app,
    **dict.fromkeys(HOUSE_COMMANDS, _house),
}


# --- what the options mean ---------------------------------------------------------------------------


def _reference(options: argparse.Namespace, shrunk_by: int) -> Any:
    from vision.reading import Reference

    marks = (options.mark_from, options.mark_to)
    marks_off_px(options, options.tape is not None)
    if options.tape is not None:
        if options.on_centre is not None:
            raise UnusableInput("--tape and --on-centre exclude each other: give the one you know best.")
        if None in marks:
            raise UnusableInput("--tape needs its two marks: add --from X,Y and --to X,Y in photo pixels.")
        return Reference.tape(
            options.tape,
            _in_photo(options.mark_from, shrunk_by),
            _in_photo(options.mark_to, shrunk_by),
            stands_proud_in=options.marks_in_front,
        )
    if marks != (None, None):
        raise UnusableInput("--from and --to mark a length: add --tape LENGTH, or leave them out.")
    return None if options.on_centre is None else Reference.on_centre(options.on_centre)


def _known_of(options: argparse.Namespace, content: bytes) -> Corrections:
    """What the options say about a photo that is to be kept, as the app keeps it."""
    from layout import format_length
    from ui.corrections import Corrections, ReferenceMark
    from vision.photo import shrunk_by_of

    shrunk_by = shrunk_by_of(content)  # the pixels are looked at once, where the photo is made fit to keep
    options.marks_in_front = 0.0
    _reference(options, shrunk_by)  # refuses what does not go together
    mark = None
    if options.tape is not None:
        ends = [_in_photo(point, shrunk_by) for point in (options.mark_from, options.mark_to)]
        off_px = marks_off_px(options, True, shrunk_by)
        mark = ReferenceMark(
            "tape",
            options.tape,
            format_length(options.tape),
            ends[0],
            ends[1],
            from_sigma_px=off_px,
            to_sigma_px=off_px,
        )
    elif options.on_centre is not None:
        mark = ReferenceMark("on_centre", options.on_centre)
    if options.corners is None:
        return Corrections(reference=mark)
    one, two, three, four = (_in_photo(corner, shrunk_by) for corner in options.corners)
    return Corrections(reference=mark, corners_px=(one, two, three, four))


def _in_photo(point: tuple[float, float], shrunk_by: int) -> tuple[float, float]:
    """A point of the file's pixels in the pixels of the photo as it was decoded."""
    return ((point[0] + 0.5) / shrunk_by - 0.5, (point[1] + 0.5) / shrunk_by - 0.5)
