"""Where a plant's log lies: beside the scenario file, or brought in and kept under a name made from its content.

A name that a user gave a file says which table it is and is then forgotten: no path is ever made of it.
"""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import orjson

from dashboard.answers import put
from dashboard.ask import Ask, AskError
from dashboard.settings import Settings, plant_files
from dashboard.yesterday_log import DEMO
from twin.logs import LogError, LogFault, mapping_of
from twin.logs.faults import refuse
from twin.logs.limits import LIMITS, Limits
from twin.logs.mapping import NAME as MAPPING
from twin.logs.schema import NEEDED_TABLES, TABLES
from twin.logs.workbooks import check_workbook

KEPT = re.compile(r"[0-9a-f]{20}")
LOGS = "logs"
INVENTED = "invented records"
"""The demo plant has records to try the page on, made by the model itself."""
LARGEST_UPLOAD = 7_000_000
"""What is taken through the page at once [bytes]; larger logs are put beside the scenario file."""
LARGEST_MAPPING = 100_000
MOST_FILES = 8
MOST_KEPT = 20
FORMS = (".csv", ".parquet", ".xlsx")
LOOK = Limits(file_bytes=LARGEST_UPLOAD, unpacked_bytes=60_000_000)


@dataclass(frozen=True, slots=True)
class Given:
    """One file as it was brought: what the user calls it, and what is in it."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Place:
    """A log that can be read: its name in the address, what to call it, where it lies, the plant's words if kept."""

    name: str
    title: str
    path: Path
    raw_mapping: Mapping[str, Any] | None = None


def logs_beside(settings: Settings, plant: str) -> dict[str, Path]:
    """Return the folders and workbooks that hold a log, by their names: beside a plant's file, and where logs are."""
    files = plant_files(settings.plants)
    found = _logs_in(files[plant].parent) if plant in files else {}
    if settings.logs is not None:
        found |= {settings.logs.name: settings.logs} if _is_log(settings.logs) else _logs_in(settings.logs)
    return found


def _logs_in(folder: Path) -> dict[str, Path]:
    if not folder.is_dir():
        return {}
    return {one.name: one for one in sorted(folder.iterdir()) if not one.name.startswith(".") and _is_log(one)}


def _is_log(place: Path) -> bool:
    """Tell whether a place looks like a log; links are not followed."""
    if place.is_symlink():
        return False
    if place.is_dir():
        return (place / MAPPING).is_file() or any((place / f"stops{form}").is_file() for form in FORMS)
    return place.is_file() and place.suffix.lower() == ".xlsx"


def kept_logs(kept: Path) -> dict[str, str]:
    """Return the logs that were brought in, the newest first: their names and what to call them."""
    folders = [one for one in (kept / LOGS).glob("*") if KEPT.fullmatch(one.name) and (one / "about.json").is_file()]
    folders.sort(key=lambda one: one.stat().st_mtime, reverse=True)
    return {one.name: str(_about(one).get("title", one.name)) for one in folders}


def _about(folder: Path) -> dict[str, Any]:
    try:
        found = orjson.loads((folder / "about.json").read_bytes())
    except (OSError, orjson.JSONDecodeError):
        return {}
    return found if isinstance(found, dict) else {}


def find_log(settings: Settings, plant: str, name: str) -> Place:
    """Return the log of a name: one that lies beside the plant's file, or one that was brought in.

    Raises
    ------
    AskError : There is none of that name.
    """
    there = logs_beside(settings, plant)
    if name == INVENTED and plant == DEMO and name not in there:
        return Place(name, INVENTED, settings.kept / LOGS / DEMO)
    if name in there:
        return Place(name, name, there[name])
    if KEPT.fullmatch(name):
        found = kept_log(settings.kept, name)
        if found is not None:
            return found
    known = f"beside the plant's file lie {', '.join(there)}" if there else "no log lies beside the plant's file"
    raise AskError(f"log is {name!r}: {known}; bring it in again, or choose another")


def kept_log(kept: Path, name: str) -> Place | None:
    """Return a log that was brought in."""
    folder = kept / LOGS / name
    about = _about(folder)
    if not about:
        return None
    return Place(name, str(about["title"]), folder / "log.xlsx" if about["workbook"] else folder, about["mapping"])


def stamp(place: Place) -> str:
    """Return a mark that is another one when a file of the log has changed."""
    if not place.path.exists():
        return ""
    files = [place.path] if place.path.is_file() else sorted(one for one in place.path.iterdir() if one.is_file())
    beside = place.path.parent / MAPPING
    files += [beside] if place.path.is_file() and beside.is_file() else []
    told = [(one.name, one.stat().st_size, one.stat().st_mtime_ns) for one in files]
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]


def brings(settings: Settings, ask: Ask) -> dict[str, Any]:
    """Return what the study is told of a log: its name, a mark of its state, and where logs are kept.

    Raises
    ------
    AskError : There is none of that name.
    """
    if not ask.log:
        return {}
    place = find_log(settings, ask.plant, ask.log)
    made = "" if place.name == INVENTED else stamp(place)
    return {"log": place.name, "place": str(place.path), "stamp": made}


def unpacked(body: bytes) -> list[Given]:
    """Return the files of a request: a first line with names and sizes, then their bytes one after another.

    Raises
    ------
    LogError : The request is not of that form, or brings too much.
    """
    head, newline, rest = body.partition(b"\n")
    try:
        told = orjson.loads(head) if newline and len(head) < 10_000 else None
        pairs = [(str(name), int(size)) for name, size in told or ()]
    except (orjson.JSONDecodeError, TypeError, ValueError):
        pairs = []
    if not pairs or any(size < 0 for _, size in pairs) or sum(size for _, size in pairs) != len(rest):
        raise refuse("the request", 0, "it holds no files that can be told apart", "Choose the files again")
    if len(pairs) > MOST_FILES:
        raise refuse("the request", 0, f"it brings {len(pairs)} files", f"Bring at most {MOST_FILES}")
    found, begin = [], 0
    for name, size in pairs:
        found.append(Given(name, rest[begin : begin + size]))
        begin += size
    return found


def keep_log(kept: Path, given: Sequence[Given]) -> str:
    """Keep a log that was brought in, and return its name; nothing is written before all of it was looked at.

    Raises
    ------
    LogError : Each reason why not, in words.
    """
    faults = [fault for one in given for fault in _looked(one)]
    if faults:
        raise LogError(*faults)
    raw = _mapping(given)
    tables = _tables([one for one in given if _form(one.name) in FORMS], raw)
    workbook = next(iter(tables)) == "log.xlsx"
    name = _name_of([*tables.values(), orjson.dumps(raw, option=orjson.OPT_SORT_KEYS)])
    folder = kept / LOGS / name
    for file, content in tables.items():
        put(folder / file, content)
    title = ", ".join(shown(one.name) for one in given if _form(one.name) in FORMS)
    put(folder / "about.json", orjson.dumps({"title": title[:120], "workbook": workbook, "mapping": raw}))
    _tidy(kept)
    return name


def _name_of(parts: Sequence[bytes]) -> str:
    """Return the name of a log by what is in it."""
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:20]


def shown(name: str) -> str:
    """Return a user's name of a file as it may be shown: its last part, plain signs only."""
    last = re.split(r"[\\/]", name)[-1]
    return "".join(sign if sign.isprintable() else "?" for sign in last)[:60] or "a file without a name"


def _form(name: str) -> str:
    return Path(shown(name)).suffix.lower()


def _looked(one: Given) -> list[LogFault]:
    """Return what speaks against a file, found from its name and its bytes alone."""
    name, form = shown(one.name), _form(one.name)
    try:
        if "/" in one.name or "\\" in one.name or "\0" in one.name:
            raise refuse(name, 0, "its name is a path", "Choose plain files")
        if not one.content:
            raise refuse(name, 0, "the file is empty", "Export it again")
        if form in (".yaml", ".yml"):
            return []
        if form not in FORMS:
            raise refuse(name, 0, f"files ending in '{form}' are not read", f"Bring {', '.join(FORMS)} or {MAPPING}")
        _contents(name, form, one.content)
    except LogError as refused:
        return list(refused.faults)
    return []


def _contents(name: str, form: str, content: bytes) -> None:
    if form == ".xlsx":
        check_workbook(name, LOOK, BytesIO(content))
    elif form == ".parquet" and not (content.startswith(b"PAR1") and content.endswith(b"PAR1")):
        raise refuse(name, 0, "this is no Parquet file that can be read", "Export it again")
    elif form == ".csv":
        wide = content[:2] in (b"\xff\xfe", b"\xfe\xff")
        if not wide and b"\0" in content:
            line = content[: content.index(b"\0")].count(b"\n") + 1
            raise refuse(name, line, "this is not plain text", "Export it as CSV")
        for number, one in enumerate(content.split(b"\n"), start=1):
            if len(one) > LIMITS.line:
                raise refuse(name, number, f"the line has more than {LIMITS.line} characters", "Check the file")


def _mapping(given: Sequence[Given]) -> dict[str, Any]:
    """Return what the mapping file says, with the names of files still in it; nothing where there is none."""
    from twin.scenario import ScenarioError
    from twin.scenario.reading import read_tree

    files = [one for one in given if _form(one.name) in (".yaml", ".yml")]
    if len(files) > 1:
        raise refuse(MAPPING, 0, f"{len(files)} mapping files were brought", "Bring one")
    if not files:
        return {}
    if len(files[0].content) > LARGEST_MAPPING:
        raise refuse(MAPPING, 0, f"it has more than {LARGEST_MAPPING // 1000} kB", "Keep the plant's words only")
    try:
        value = read_tree(files[0].content.decode("utf-8"), MAPPING).value
    except UnicodeDecodeError:
        raise refuse(MAPPING, 0, "it is not UTF-8", "Save it as UTF-8") from None
    except ScenarioError as fault:
        raise LogError(*(LogFault(MAPPING, one.line, one.message, one.way_out) for one in fault.faults)) from None
    mapping_of(value if value is not None else {}, MAPPING)
    return dict(value or {})


def _tables(given: Sequence[Given], raw: dict[str, Any]) -> dict[str, bytes]:
    """Return the files under our own names: one workbook, or one file a table; `raw` names files no more."""
    told = raw.get("tables") or {}
    named = {str(own.pop("file")): table for table, own in told.items() if "file" in own}
    books = [one for one in given if _form(one.name) == ".xlsx"]
    if len(books) == 1 and len(given) == 1:
        return {"log.xlsx": books[0].content}
    if books:
        raise refuse(shown(books[0].name), 0, "a log is one workbook, or one file a table", "Bring one or the other")
    found: dict[str, bytes] = {}
    for one in given:
        table = named.get(one.name) or Path(shown(one.name)).stem.lower()
        if table not in TABLES:
            way_out = f"Call it {', '.join(TABLES)} with its ending, or say in {MAPPING} which table it is"
            raise refuse(shown(one.name), 0, "nothing says which table this is", way_out)
        if any(Path(file).stem == table for file in found):
            raise refuse(shown(one.name), 0, f"the table '{table}' comes twice", "Bring each table once")
        found[f"{table}{_form(one.name)}"] = one.content
    missing = [table for table in NEEDED_TABLES if not any(Path(file).stem == table for file in found)]
    if missing:
        raise refuse("the log", 0, f"the table '{missing[0]}' is missing", "Bring all files of the log together")
    return found


def forget(kept: Path, name: str) -> None:
    """Throw away a log that was brought in."""
    if KEPT.fullmatch(name):
        shutil.rmtree(kept / LOGS / name, ignore_errors=True)


def _tidy(kept: Path) -> None:
    """Throw the oldest logs away when there are many."""
    for name in list(kept_logs(kept))[MOST_KEPT:]:
        forget(kept, name)
