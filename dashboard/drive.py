"""How a question stands: kept, being worked out, stopped, failed, or older than its scenario; and what a button does.

Everything here can be asked again and again: an answer of the server that the browser drops changes nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from dashboard import answers
from dashboard.ask import UNCERTAIN, Ask, AskError, taken
from dashboard.doubt import stamp_of
from dashboard.inputs import changes, flat
from dashboard.jobs import Jobs, View
from dashboard.plants import Opened, Plants
from dashboard.settings import Settings
from dashboard.worker import fault
from twin.scenario import ScenarioError
from twin.version import VERSION

NEWS_S = 0.2
NEW_LOG = "what a log says of how far off its numbers may be"


@dataclass(frozen=True, slots=True)
class Study:
    """What a page wants worked out: its name in the files, and the function that does it (see `worker.Desk`).

    ``together`` says that the options asked for change the plant together; else they stand beside it. ``brings`` adds
    what else the study is told, by name, from the settings and the question; it raises AskError where there is nothing
    to work on. ``doubts`` says that it can take inputs as uncertain as they are: it is then told ``inputs`` (best or
    uncertain) and ``known``, a name for what is known of them.
    """

    name: str
    target: str
    together: bool = True
    brings: Callable[[Settings, Ask], Mapping[str, Any]] | None = None
    doubts: bool = False


@dataclass(slots=True)
class Office:
    """What the pages share on the server: the plants, the runs, the kept answers.

    ``wanted`` are questions whose run was asked for, ``halted`` those whose run somebody stopped.
    """

    settings: Settings
    plants: Plants
    jobs: Jobs
    wanted: set[str] = field(default_factory=set)
    halted: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a question stands. ``kind`` is empty, input, asked or plain; ``changes`` tells what an old answer missed."""

    kind: str = "plain"
    key: str = ""
    answer: Mapping[str, Any] | None = None
    old: bool = False
    changes: Sequence[str] = ()
    faults: Sequence[Mapping[str, Any]] = ()
    words: str = ""
    view: View = View()

    @property
    def stopped(self) -> bool:
        """Tell whether the answer is only a part, and nothing adds to it."""
        return self.answer is not None and not self.answer["whole"] and not self.view.going and not self.old


@dataclass(frozen=True, slots=True)
class Knock:
    """What a page comes with: the button pressed (again, go-on, stop), whose it is, which step it has seen.

    The press is `visit` where the question has just come on the page.
    """

    press: str = ""
    owner: str = ""
    seen: int = -1


NO_KNOCK = Knock()


def standing(office: Office, study: Study, ask: Ask, knock: Knock = NO_KNOCK) -> Standing:
    """Do what was pressed, and tell how the question stands."""
    brought: dict[str, Any] = {}
    ask = taken(ask, doubts=study.doubts)
    try:
        if study.brings is not None and ask.plant:
            brought |= study.brings(office.settings, ask)
        opened = office.plants.open(ask if study.together else replace(ask, options=()))
    except AskError as error:
        return Standing("asked", words=str(error))
    except ScenarioError as error:
        key, answer = last_of(office, mark_of(study, ask, brought))
        return Standing("input", key, answer, faults=fault(error).data["faults"], words=str(error), old=bool(answer))
    return Standing("empty") if opened is None else standing_of(office, study, ask, opened, brought, knock)


def standing_of(
    office: Office, study: Study, ask: Ask, opened: Opened, brought: Mapping[str, Any], knock: Knock
) -> Standing:
    """Tell how the question stands for a plant that could be opened: its own answer, else the last one before."""
    wanted = (*ask.options, *ask.beside) if not study.together else ask.options
    wanted += tuple(f"{name} {value}" for name, value in brought.items())
    known = stamp_of(opened.file) if ask.inputs == UNCERTAIN else ""
    wanted += (f"inputs {ask.inputs} {known}",) if known else ()
    key = answers.key_of(study.name, opened.scenario.digest, wanted, ask.runs, ask.seed, VERSION)
    told = order(office, study, ask, opened, key) | {"mark": mark_of(study, ask, brought), **brought}
    told |= {"inputs": ask.inputs, "known": known} if study.doubts else {}
    view = worked(office, told, study.target, knock)
    answer = answers.read(office.settings.kept, key)
    if answer is not None:
        return Standing("plain", key, answer, view=view)
    key, earlier = last_of(office, told["mark"])
    since = changed_since(earlier, opened, known) if earlier else ()
    return Standing("plain", key, earlier, earlier is not None, since, view=view)


def changed_since(earlier: Mapping[str, Any], opened: Opened, known: str) -> list[str]:
    """Return in words what differs since an earlier answer: values of the scenario, and what its log says of them."""
    found = changes(earlier["inputs"], flat(opened.scenario))
    return [*found, NEW_LOG] if earlier.get("known", "") != known else found


def mark_of(study: Study, ask: Ask, brought: Mapping[str, Any]) -> str:
    """Return the name under which the last answer to a question is remembered, whatever its file says by then."""
    more = hashlib.sha256(repr(sorted(brought.items())).encode()).hexdigest()[:12]
    return f"{study.name}-{ask.mark}-{more}" if brought else f"{study.name}-{ask.mark}"


def last_of(office: Office, mark: str) -> tuple[str, Mapping[str, Any] | None]:
    """Return key and content of the answer last kept under a mark."""
    key = answers.last(office.settings.kept, mark) or ""
    return key, answers.read(office.settings.kept, key) if key else None


def order(office: Office, study: Study, ask: Ask, opened: Opened, key: str) -> dict[str, Any]:
    """Return what a study is told: plain data, since it crosses to another process."""
    return {
        "file": str(opened.file),
        "options": list(ask.options),
        "runs": ask.runs,
        "seed": ask.seed,
        "kept": str(office.settings.kept),
        "key": key,
        "plant": opened.plant,
    } | ({} if study.together else {"sums": list(ask.sums), "sets": list(ask.sets)})


def worked(office: Office, told: Mapping[str, Any], target: str, knock: Knock) -> View:
    """Stop, look at or start the run of a question.

    It starts by itself only when the question is new, or comes back to the page after a run that its page left behind.
    """
    key = told["key"]
    if knock.press == "stop":
        office.wanted.discard(key)
        office.halted.add(key)
        return office.jobs.stop(key)
    if knock.press in ("again", "go-on"):
        office.wanted.add(key)
        office.halted.discard(key)
    if knock.press == "visit" and key not in office.halted and left_behind(office, key):
        office.wanted.add(key)
    view = office.jobs.look(key, after=knock.seen, wait_s=NEWS_S if knock.seen >= 0 else 0.0)
    if view.going or not (key in office.wanted or never_asked(office, told, view)):
        return view
    view = office.jobs.start(key, target, told, knock.owner)
    if view.state != "running":
        return view
    office.wanted.discard(key)
    return office.jobs.look(key, after=0, wait_s=NEWS_S)


def left_behind(office: Office, key: str) -> bool:
    """Tell whether a run ended before its answer was whole, as its page had turned to something else."""
    kept = answers.read(office.settings.kept, key)
    return office.jobs.look(key).state in ("stopped", "done") and (kept is None or not kept["whole"])


def never_asked(office: Office, told: Mapping[str, Any], view: View) -> bool:
    """Tell whether nobody has asked this before: no answer, no run, no answer to it from an earlier file."""
    kept = answers.read(office.settings.kept, told["key"])
    return kept is None and view.state == "none" and last_of(office, told["mark"])[1] is None
