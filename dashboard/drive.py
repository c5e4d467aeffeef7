"""How a question stands: kept, being worked out, stopped, failed, or older than its scenario; and what a button does.

Everything here can be asked again and again: an answer of the server that the browser drops changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from dashboard import answers
from dashboard.ask import Ask, AskError
from dashboard.inputs import changes, flat
from dashboard.jobs import Jobs, View
from dashboard.plants import Opened, Plants
from dashboard.settings import Settings
from dashboard.worker import fault
from twin.scenario import ScenarioError
from twin.version import VERSION

NEWS_S = 0.2


@dataclass(frozen=True, slots=True)
class Study:
    """What a page wants worked out: its name in the files, and the function that does it (see `worker.Desk`)."""

    name: str
    target: str


@dataclass(slots=True)
class Office:
    """What the pages share on the server: the plants, the runs, the kept answers."""

    settings: Settings
    plants: Plants
    jobs: Jobs
    wanted: set[str] = field(default_factory=set)


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


def standing(office: Office, study: Study, ask: Ask, *, press: str = "", owner: str = "", seen: int = -1) -> Standing:
    """Do what was pressed (again, go-on, stop), and tell how the question stands."""
    kept = office.settings.kept
    try:
        opened = office.plants.open(ask)
    except AskError as error:
        return Standing("asked", words=str(error))
    except ScenarioError as error:
        key, answer = last_answer(office, study, ask)
        return Standing("input", key, answer, faults=fault(error).data["faults"], words=str(error), old=bool(answer))
    if opened is None:
        return Standing("empty")
    key = answers.key_of(study.name, opened.scenario.digest, ask.options, ask.runs, ask.seed, VERSION)
    answer = answers.read(kept, key)
    view = worked(office, study, ask, opened, key, press=press, owner=owner, seen=seen, answer=answer)
    answer = answers.read(kept, key) if view.steps else answer
    if answer is not None:
        return Standing("plain", key, answer, view=view)
    key, answer = last_answer(office, study, ask)
    since = changes(answer["inputs"], flat(opened.scenario)) if answer else ()
    return Standing("plain", key, answer, answer is not None, since, view=view)


def last_answer(office: Office, study: Study, ask: Ask) -> tuple[str, Mapping[str, Any] | None]:
    """Return the answer that this question had last, from an earlier state of the file."""
    key = answers.last(office.settings.kept, f"{study.name}-{ask.mark}") or ""
    return key, answers.read(office.settings.kept, key) if key else None


def worked(
    office: Office,
    study: Study,
    ask: Ask,
    opened: Opened,
    key: str,
    *,
    press: str,
    owner: str,
    seen: int,
    answer: Mapping[str, Any] | None,
) -> View:
    """Stop, start or look at the run of a question."""
    if press == "stop":
        office.wanted.discard(key)
        return office.jobs.stop(key)
    if press in ("again", "go-on"):
        office.wanted.add(key)
    view = office.jobs.look(key, after=seen, wait_s=NEWS_S if seen >= 0 else 0.0)
    never = answer is None and view.state == "none" and last_answer(office, study, ask)[1] is None
    if view.going or not (never or key in office.wanted):
        return view
    order = {
        "file": str(opened.file),
        "options": list(ask.options),
        "runs": ask.runs,
        "seed": ask.seed,
        "kept": str(office.settings.kept),
        "key": key,
        "mark": f"{study.name}-{ask.mark}",
        "plant": opened.plant,
    }
    view = office.jobs.start(key, study.target, order, owner)
    if view.state == "running":
        office.wanted.discard(key)
        return office.jobs.look(key, after=0, wait_s=NEWS_S)
    return view
