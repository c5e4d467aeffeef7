"""The rooms of the project: which may import which. Data goes one way, and so do imports."""

import ast
import subprocess
import sys
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

BASE = {"twin", "twin.version", "twin.words", "twin.materials"}
LINE = BASE | {"twin.scenario", "twin.process", "twin.line", "twin.line.rules", "twin.line._fast"}
STUDY = LINE | {"twin.indicators", "twin.logs", "twin.store"}
TWIN = STUDY | {"twin.study"}
PAGE = TWIN | {"dashboard.charts", "dashboard.parts"}

# Each room and the rooms it may look into beside itself. A module belongs to the room with the longest name that fits.
MAY_IMPORT: dict[str, set[str]] = {
    "twin": {"twin.version"},
    "twin.version": set(),
    "twin.words": set(),
    "twin.materials": set(),
    "twin.scenario": BASE,
    "twin.process": BASE,
    "twin.line.rules": set(),
    "twin.line._fast": set(),
    "twin.line": LINE,
    "twin.indicators": LINE,
    "twin.logs": LINE | {"twin.indicators"},
    "twin.store": LINE | {"twin.indicators"},
    "twin.study": STUDY,
    # the command line stands at the end of the chain beside the pages, and `passline serve` opens them
    "twin.cli": TWIN | {"dashboard", "dashboard.app"},
    "dashboard.charts": set(),
    # what the pages share beside drawings and parts: addresses, answers that are kept, work in other processes
    "dashboard": PAGE,
    "dashboard.parts": PAGE | {"dashboard"},
    "dashboard.pages": PAGE | {"dashboard"},
    "dashboard.app": PAGE | {"dashboard", "dashboard.pages"},
}

# Libraries that a room must do without, and why.
WEB = {"dash", "dash_ag_grid", "dash_mantine_components", "flask", "plotly", "waitress"}
WITHOUT: dict[str, set[str]] = {
    "twin": WEB,  # the model knows no web and draws nothing
    "twin.scenario": WEB | {"simpy"},
    "twin.process": WEB | {"simpy", "pydantic", "pint"},  # physics knows no clock and no file
    "dashboard.charts": WEB - {"plotly"},  # a drawing is made of plain data
}
RULES_NEED = {"__future__", "typing", "collections", "mypy_extensions", "librt", "math"}


def room_of(module: str) -> str | None:
    """Return the room of a module, nothing for a module that is not ours."""
    fits = [room for room in MAY_IMPORT if module == room or module.startswith(f"{room}.")]
    return max(fits, key=len, default=None)


def imports(module: str, text: str, package: bool = False) -> Iterator[tuple[int, str]]:
    """Yield line and full name of everything a module imports, wherever in it."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            parts = module.split(".")
            above = parts[: len(parts) - node.level + package] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def faults(module: str, text: str, package: bool = False) -> list[str]:
    """Return one line for each import of a module that goes backwards or is out of place."""
    room = room_of(module)
    assert room is not None, f"{module} is in no room: give it one in MAY_IMPORT"
    found = []
    for line, name in imports(module, text, package):
        top, other = name.split(".")[0], room_of(name)
        if other is None:
            banned = next((WITHOUT[r] for r in (room, room.split(".")[0]) if r in WITHOUT), set())
            stranger = room in ("twin.line.rules", "twin.line._fast") and top not in RULES_NEED
            if top in banned or stranger:
                found.append(f"{module}:{line} imports {name}, which {room} must do without")
        elif other != room and other not in MAY_IMPORT[room]:
            found.append(f"{module}:{line} imports {name}: {room} may not look into {other}")
    return found


def modules() -> dict[str, Path]:
    """Return the modules of the project by their full names."""
    found = {}
    for file in sorted([*(ROOT / "twin").rglob("*.py"), *(ROOT / "dashboard").rglob("*.py")]):
        parts = file.relative_to(ROOT).with_suffix("").parts
        if "_fast" not in parts:
            found[".".join(part for part in parts if part != "__init__")] = file
    return found


def imports_at_once(module: str, text: str, package: bool, known: Mapping[str, Path]) -> set[str]:
    """Return our modules that a module needs before it can be imported itself."""
    tree = ast.parse(text)
    lazy = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.If)]
    later = {line for node in lazy for line in range(node.lineno + 1, (node.end_lineno or 0) + 1)}
    found = set()
    for line, name in imports(module, text, package):
        if line not in later:
            found |= {next((n for n in (name, name.rpartition(".")[0]) if n in known), module)}
    return found - {module}


def test_no_import_goes_backwards() -> None:
    found = [
        fault
        for module, file in modules().items()
        for fault in faults(module, file.read_text(encoding="utf-8"), file.name == "__init__.py")
    ]

    assert not found, "\n".join(found)


def test_no_modules_need_each_other() -> None:
    known = modules()
    needs = {
        module: imports_at_once(module, file.read_text(encoding="utf-8"), file.name == "__init__.py", known)
        for module, file in known.items()
    }

    try:
        TopologicalSorter(needs).prepare()
    except CycleError as cycle:
        pytest.fail("modules in a ring: " + " <- ".join(cycle.args[1]))


def test_every_room_exists() -> None:
    """A room that was renamed must be renamed here too, or its rule holds nothing."""
    rooms = {room_of(module) for module in modules()}

    assert set(MAY_IMPORT) - {"twin.line._fast"} == rooms


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("twin.scenario.models", "from twin.line import simulate"),
        ("twin.process.mill", "import simpy"),
        ("twin.process.mill", "def late():\n    from twin.scenario import load"),
        ("twin.process.mill", "from twin import line"),
        ("twin.line.model", "from ..study import replicate"),
        ("twin.line.rules.mill", "from twin.line.model import tables"),
        ("twin.line.rules.mill", "import numpy"),
        ("twin.line.rules.mill", "from ..model import tables"),
        ("twin.indicators", "from twin.study.replicate import replicate"),
        ("twin.study.money", "import dashboard"),
        ("twin.study.money", "import plotly.graph_objects as go"),
        ("dashboard.charts.levels", "from twin.words import number"),
        ("dashboard.charts.levels", "import dash"),
        ("dashboard.parts.verdict", "from dashboard.pages import line"),
        ("dashboard.tables", "from dashboard.pages import line"),
        ("dashboard.pages.line", "from dashboard.app import serve"),
    ],
)
def test_a_planted_wrong_import_is_found(module: str, text: str) -> None:
    assert len(faults(module, text)) == 1


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("twin.line.model", "from twin.scenario import Scenario\nfrom twin.process import mill\nimport numpy"),
        ("twin.line.rules.mill", "from twin.line.rules.state import Line\nfrom .tools import book"),
        ("twin.study.replicate", "from twin.line import simulate\nfrom . import statistics"),
        ("twin.cli.serve", "from dashboard.app import serve"),
        (
            "dashboard.pages.line",
            "from dash import html\nfrom twin.study import replicate\nfrom dashboard import charts",
        ),
    ],
)
def test_an_import_that_goes_forwards_is_let_through(module: str, text: str) -> None:
    assert faults(module, text) == []


def test_a_ring_of_modules_is_seen() -> None:
    known = {"twin.line.a": Path(), "twin.line.b": Path()}
    one = imports_at_once("twin.line.a", "from twin.line.b import x", False, known)
    other = imports_at_once("twin.line.b", "def f():\n    from twin.line import a", False, known)

    assert one == {"twin.line.b"}
    assert other == set(), "an import inside a function comes later and closes no ring"


def test_the_command_line_starts_without_the_heavy_libraries() -> None:
    """`passline --help` must come at once, so what only studies and pages need is imported when they run."""
    code = (
        "import sys, twin.cli;"
        "print([m for m in ('scipy.stats', 'pandas', 'dask', 'dash', 'plotly', 'pyarrow') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)

    assert done.stdout.strip() == "[]"
