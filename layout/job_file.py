"""The job file: a job as JSON, version 1, and the plan as JSON.

The schema.  Every length is a number in inches.  Fields marked * are required; the rest
have the defaults of the class named in brackets, whose fields bear the same names; a surface
without `board_width_in` takes the market's usual width, or any width where
no board in stock suits it at that one::

    {"version": 1 *,
     "name": "Basement",
     "market": "us" | "ca" | "uk",
     "rules": {numbers of `Rules`; what is not given is the market's,
               "switched_off": [names of rules from the table in DEVELOPERS.md]},
     "prefs": {numbers of `Prefs`} or {"preset": "balanced", ...},
     "extra": {"spares": {fields of `SpareRule`}, "own_spares": {size: count}, "bundle": 2},
     "stock": [{"kind", "thickness_in", "width_in", "length_in", "price"} *5 ...],
     "surfaces": * [
       {"id" *, "width_in" *, "height_in" *, "members" *, the other fields of `Surface`,
        "members": [{"id", "centre_in" *, the other fields of `Member`}]
                or {"on_centre_in" *, "first_centre_in", "from_end", "face_in", "material"},
        "openings": [{"id", "left_in" *, "right_in" *, "bottom_in" *, "top_in" *, ...}],
        "boxes": [the same],
        "outline": [[x, y], ...],
        "wishes": {"pins": [{"row", "member_id"}], "forbidden_members": ["5"],
                   "row_lengths": [[row, length_in]], "max_length_in": 120}}]}

Members without an id are numbered from 1 in the order given.  A field that is not known is
refused, because a misspelt field silently ignored costs a sheet.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from typing import Any

from layout.checks import finite
from layout.framing import (
    MAX_SPAN_IN,
    MIN_SPAN_IN,
    Box,
    JobError,
    Member,
    Opening,
    Pin,
    Surface,
    Wishes,
)
from layout.job import Job
from layout.markets import MARKETS, Prefs, Rules, prefs_for, rules_for
from layout.order import Extra, SpareRule
from layout.plan_types import Plan, SurfacePlan
from layout.rules import RULES
from layout.spacing import members_on_spacing
from layout.stock import Board, boards_for, stock_for, usual_width_in

__all__ = ["JOB_VERSION", "plan_to_json", "read_job", "write_job"]

JOB_VERSION = 1
SPARE_FRACTION, USUAL_FRACTION = "spare_fraction", 0.05
"""What older files have among the `prefs`: a share of each size, and the share that all of them got."""
MAX_TEXT = 20_000_000
MAX_SURFACES = 1000


def read_job(source: str | bytes | dict[str, Any]) -> Job:
    """Read a job from JSON text or from the object it stands for.

    Raises
    ------
    JobError
        The text is not JSON, a field is missing, unknown, of the wrong kind or out of
        range; `JobError.field` names it.  Nothing is read in part.
    """
    data = _decoded(source)
    _known(
        "job",
        data,
        ("version", "name", "market", "rules", "prefs", "extra", "stock", "surfaces"),
    )
    if data.get("version") != JOB_VERSION or isinstance(data.get("version"), bool):
        raise JobError(
            "version",
            f"must be {JOB_VERSION}, not {str(data.get('version'))[:40]!r}: "
            "this file is not a job, or comes from another release.",
        )
    market = data.get("market", "us")
    if market not in MARKETS:
        raise JobError("market", f"must be one of {', '.join(MARKETS)}, not {str(market)[:40]!r}.")
    listed = data.get("stock")
    stock = (
        stock_for(market)
        if listed is None
        else tuple(_plain(f"stock[{n}]", Board, item) for n, item in enumerate(_list("stock", listed, 200)))
    )
    surfaces = _list("surfaces", data.get("surfaces"), MAX_SURFACES)
    return _made(
        "",
        lambda: Job(
            name=data.get("name", ""),
            surfaces=tuple(
                _surface(f"surfaces[{n}]", item, market, stock) for n, item in enumerate(surfaces)
            ),
            stock=stock,
            rules=_rules(market, data.get("rules", {})),
            prefs=_prefs(data.get("prefs", {})),
            extra=_extra(data.get("extra", {}), data.get("prefs", {})),
        ),
    )


def write_job(job: Job) -> dict[str, Any]:
    """The job as an object that `json.dumps` accepts and `read_job` reads back unchanged.

    Raises
    ------
    JobError
        It has more surfaces than `read_job` takes.
    """
    if len(job.surfaces) > MAX_SURFACES:
        raise JobError("surfaces", f"{len(job.surfaces)} entries are too many: at most {MAX_SURFACES}.")
    data = dataclasses.asdict(job)
    rules = data["rules"]
    return {
        "version": JOB_VERSION,
        "name": job.name,
        "market": rules.pop("market"),
        "rules": _listed(rules),
        "prefs": data["prefs"],
        "extra": {**data["extra"], "own_spares": dict(job.extra.own_spares)},
        "stock": _listed(data["stock"]),
        "surfaces": _listed(data["surfaces"]),
    }


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The plan as the object that ``seamwright boards --json`` prints."""
    return {
        "surfaces": [_surface_plan(surface) for surface in plan.surfaces],
        "sheets": [
            {**dataclasses.asdict(sheet), "cuts": [dataclasses.asdict(cut) for cut in sheet.cuts]}
            for sheet in plan.sheets
        ],
        "order": [dataclasses.asdict(line) for line in plan.order],
        "score": {**dataclasses.asdict(plan.score), "gap": plan.score.gap},
        "warnings": [dataclasses.asdict(warning) for warning in plan.warnings],
        "stopped": plan.stopped,
    }


def _surface_plan(surface: SurfacePlan) -> dict[str, Any]:
    return _listed(dataclasses.asdict(surface))


def _listed(value: Any) -> Any:
    """Tuples turned to lists, all the way down."""
    if isinstance(value, dict):
        return {key: _listed(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_listed(item) for item in value]
    return value


def _decoded(source: str | bytes | dict[str, Any]) -> dict[str, Any]:
    if isinstance(source, (str, bytes)):
        if len(source) > MAX_TEXT:
            raise JobError("job", "the file is larger than 20 MB: that is not a job.")
        try:
            text = source.decode("utf-8-sig") if isinstance(source, bytes) else source
            source = json.loads(text, parse_constant=_no_constant)
        except JobError:
            raise
        except RecursionError:
            raise JobError("job", "the file is nested too deep: that is not a job.") from None
        except UnicodeDecodeError:
            raise JobError("job", "the file is not text in UTF-8: that is not a job.") from None
        except ValueError as error:
            where = f" (line {error.lineno})" if isinstance(error, json.JSONDecodeError) else ""
            raise JobError("job", f"the file is not JSON{where}: save the job again.") from None
    if not isinstance(source, dict):
        raise JobError("job", "a job is a JSON object with version and surfaces.")
    return source


def _no_constant(name: str) -> float:
    raise JobError("job", f"{name} is not a number that a job may hold.")


def _surface(path: str, data: Any, market: str, stock: tuple[Board, ...]) -> Surface:
    fields = dict(_object(path, data))
    _known(path, fields, _names(Surface))
    for name in ("id", "width_in", "height_in", "members"):
        if name not in fields:
            raise JobError(f"{path}.{name}", "is missing.")
    for name in ("width_in", "height_in"):
        _number(f"{path}.{name}", fields[name])
    fields["members"] = _members(f"{path}.members", fields["members"], fields)
    for name, kind in (("openings", Opening), ("boxes", Box)):
        items = _list(f"{path}.{name}", fields.get(name, []), 2000)
        fields[name] = tuple(
            _plain(f"{path}.{name}[{n}]", kind, item, number=n + 1) for n, item in enumerate(items)
        )
    outline = _list(f"{path}.outline", fields.get("outline", []), 100)
    for number, corner in enumerate(outline):
        if not isinstance(corner, (list, tuple)) or len(corner) != 2:
            raise JobError(f"{path}.outline[{number}]", "must be a pair [x, y] in inches.")
        for value in corner:
            _number(f"{path}.outline[{number}]", value)
    fields["outline"] = tuple((float(x), float(y)) for x, y in outline)
    fields["wishes"] = _wishes(f"{path}.wishes", fields.get("wishes", {}))
    surface = _made(path, lambda: Surface(**fields))
    if "board_width_in" in fields:
        return surface
    usual_in = usual_width_in(market)
    sold = boards_for(stock, surface.board_kind, surface.thickness_in, usual_in)
    return dataclasses.replace(surface, board_width_in=usual_in if sold else None)


def _members(path: str, data: Any, surface: dict[str, Any]) -> tuple[Member, ...]:
    if isinstance(data, dict):
        _known(path, data, ("on_centre_in", "first_centre_in", "from_end", "face_in", "material"))
        if "on_centre_in" not in data:
            raise JobError(f"{path}.on_centre_in", "is missing.")
        side = "width_in" if surface.get("members_run", "up") == "up" else "height_in"
        _made(path.removesuffix(".members"), lambda: finite(side, surface[side], MIN_SPAN_IN, MAX_SPAN_IN))
        return _made(path, lambda: members_on_spacing(surface[side], **data))
    return tuple(
        _plain(f"{path}[{n}]", Member, item, number=n + 1)
        for n, item in enumerate(_list(path, data, 100_000))
    )


def _wishes(path: str, data: Any) -> Wishes:
    fields = dict(_object(path, data))
    _known(path, fields, _names(Wishes))
    pins = _list(f"{path}.pins", fields.get("pins", []), 500)
    fields["pins"] = tuple(_plain(f"{path}.pins[{n}]", Pin, pin) for n, pin in enumerate(pins))
    forbidden = _list(f"{path}.forbidden_members", fields.get("forbidden_members", []), 1000)
    fields["forbidden_members"] = tuple(forbidden)
    pairs = _list(f"{path}.row_lengths", fields.get("row_lengths", []), 500)
    for number, pair in enumerate(pairs):
        if not isinstance(pair, (list, tuple)) or len(pair) != 2:
            raise JobError(f"{path}.row_lengths[{number}]", "must be a pair [row, length_in].")
    fields["row_lengths"] = tuple((row, length) for row, length in pairs)
    return _made(path, lambda: Wishes(**fields))


def _rules(market: str, data: Any) -> Rules:
    fields = dict(_object("rules", data))
    _known("rules", fields, tuple(n for n in _names(Rules) if n != "market"))
    if "switched_off" in fields:
        fields["switched_off"] = tuple(_list("rules.switched_off", fields["switched_off"], 100))
        can = [name for name, entry in RULES.items() if entry.switchable]
        for number, name in enumerate(fields["switched_off"]):
            if name not in can:
                raise JobError(
                    f"rules.switched_off[{number}]",
                    f"no rule {str(name)[:40]!r} can be switched off; those that can: {', '.join(can)}.",
                )
    return _made("rules", lambda: dataclasses.replace(rules_for(market), **fields))


def _prefs(data: Any) -> Prefs:
    fields = dict(_object("prefs", data))
    _known("prefs", fields, (*_names(Prefs), "preset", SPARE_FRACTION))
    fields.pop(SPARE_FRACTION, None)
    preset = fields.pop("preset", "balanced")
    return _made("prefs", lambda: dataclasses.replace(prefs_for(preset), **fields))


def _extra(data: Any, prefs: Any) -> Extra:
    fields = dict(_object("extra", data))
    _known("extra", fields, _names(Extra))
    spares = _object("extra.spares", fields.pop("spares", {}))
    older = _object("prefs", prefs).get(SPARE_FRACTION, USUAL_FRACTION)
    if not data and older != USUAL_FRACTION:
        _number(f"prefs.{SPARE_FRACTION}", older)
        spares = {"rule": "percent", "percent": 100.0 * older}
    _known("extra.spares", spares, _names(SpareRule))
    own = tuple(sorted(_object("extra.own_spares", fields.pop("own_spares", {})).items()))
    return _made("extra", lambda: Extra(SpareRule(**spares), own, **fields))


def _plain(path: str, kind: type, data: Any, number: int | None = None) -> Any:
    """An object of a flat class from a JSON object, its missing id taken from `number`."""
    fields = dict(_object(path, data))
    _known(path, fields, _names(kind))
    if number is not None:
        fields.setdefault("id", str(number))
    for item in dataclasses.fields(kind):
        missing = item.default is dataclasses.MISSING and item.default_factory is dataclasses.MISSING
        if missing and item.name not in fields:
            raise JobError(f"{path}.{item.name}", "is missing.")
    return _made(path, lambda: kind(**fields))


def _made(path: str, make: Callable[[], Any]) -> Any:
    """What `make` returns; a complaint gets the path of the object in front."""
    try:
        return make()
    except JobError as error:
        if path and not error.field.startswith(path):
            raise error.under(path) from None
        raise
    except (TypeError, OverflowError):
        raise JobError(path or "job", "a field has the wrong kind of value.") from None


def _names(kind: type) -> tuple[str, ...]:
    return tuple(item.name for item in dataclasses.fields(kind))


def _known(path: str, data: dict[str, Any], names: tuple[str, ...]) -> None:
    for name in data:
        if name not in names:
            raise JobError(f"{path}.{str(name)[:40]}", f"is not known; known are {', '.join(names)}.")


def _object(path: str, data: Any) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise JobError(path, "must be an object with named fields.")
    return data


def _list(path: str, data: Any, most: int) -> list[Any]:
    if not isinstance(data, (list, tuple)):
        raise JobError(path, "must be a list.")
    if len(data) > most:
        raise JobError(path, f"{len(data)} entries are too many: at most {most}.")
    return list(data)


def _number(path: str, value: Any) -> None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e15:
        raise JobError(path, f"must be a finite number of inches, not {str(value)[:40]!r}.")
