"""The project as a whole: its files, its texts, and what they promise each other."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import pytest

from twin.line.reasons import STATES
from twin.scenario.stations import KINDS
from twin.version import VERSION

ROOT = Path(__file__).parents[1]
BINARY = {".png", ".woff2", ".ico", ".parquet", ".xlsx", ".npz", ".pdf"}
LONGEST_MODULE = 450
LONGEST_FUNCTION = 60
# the state of the line names each field three times, because the compiler of the rules asks for it
LONG_BY_NATURE = {"twin/line/rules/state.py"}

TOP_LEVEL = [
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "Makefile",
    "pyproject.toml",
    "constraints.txt",
    ".ci/run",
    "twin",
    "dashboard",
    "scenarios",
    "tests",
    "docs",
]

# Addresses that a text may name: names of vocabularies, which nothing fetches, and machines on one's own network.
KNOWN_ADDRESSES = re.compile(
    r"([\d.]+|localhost|\[::1|example\.(com|org)|[\w-]+\.example|www\.w3\.org|json-schema\.org)(:|$)"
)
ADDRESS = re.compile(r"\b[a-z][a-z+]*://([^/\s\"'`<>()\]{}$\\]+)")
LEFTOVERS = re.compile(r"/(?:work|root|home)/\w|/tmp/\w|\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b|breakpoint\(")


MADE = {"__pycache__", "_fast"}


def tracked() -> list[Path]:
    """Return the files of the project: those git knows, or in a bare copy those that nothing has made."""
    if shutil.which("git") and (ROOT / ".git").exists():
        command = ["git", "ls-files", "-z"]
        listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        return [file for name in listed.stdout.split("\0") if name and (file := ROOT / name).is_file()]
    found = [file for name in TOP_LEVEL for file in [ROOT / name, *(ROOT / name).rglob("*")] if file.is_file()]
    return [file for file in found if not MADE & set(file.parts)]


def texts() -> Iterator[tuple[str, str]]:
    """Yield name and text of every file that is read by people."""
    for file in tracked():
        if file.suffix not in BINARY:
            yield file.relative_to(ROOT).as_posix(), file.read_text(encoding="utf-8")


def sources() -> list[Path]:
    """Return the modules of the twin and the dashboard."""
    return [f for f in tracked() if f.suffix == ".py" and f.relative_to(ROOT).parts[0] in ("twin", "dashboard")]


def matches(pattern: re.Pattern[str], text: str) -> Iterator[tuple[int, re.Match[str]]]:
    """Yield line number and match for each place in a text where a pattern is found."""
    for number, line in enumerate(text.splitlines(), start=1):
        yield from ((number, match) for match in pattern.finditer(line))


def anchors(text: str) -> set[str]:
    """Return the anchors of the headings of a page of Markdown."""
    headings = re.findall(r"^#+ +(.+?) *$", text, flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def broken_links(file: Path) -> Iterator[str]:
    """Yield the links of a page of Markdown that lead nowhere in the project."""
    text = re.sub(r"```.*?```|`[^`\n]*`", "", file.read_text(encoding="utf-8"), flags=re.DOTALL)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if "://" in target:
            continue
        name, _, anchor = target.partition("#")
        page = (file.parent / name).resolve() if name else file
        if not page.exists() or (anchor and anchor not in anchors(page.read_text(encoding="utf-8"))):
            yield f"{file.relative_to(ROOT)}: {target}"


def test_the_files_that_people_look_for_are_there() -> None:
    assert [name for name in TOP_LEVEL if not (ROOT / name).exists()] == []


def test_no_text_names_a_host_that_it_might_be_fetched_from() -> None:
    """Packages come from wherever a company's pip is told to look; pages work without a network."""
    found = [
        f"{name}:{line}: {match[0]}"
        for name, text in texts()
        if not name.endswith("OFL.txt")
        for line, match in matches(ADDRESS, text)
        if not KNOWN_ADDRESSES.match(match[1])
    ]

    assert found == []


def test_no_text_holds_leftovers_or_the_paths_of_somebodys_machine() -> None:
    found = [f"{name}:{line}: {match[0]}" for name, text in texts() for line, match in matches(LEFTOVERS, text)]

    assert found == []


def test_the_constraints_pin_exact_versions_and_nothing_else() -> None:
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    wrong = [line for line in lines if not re.fullmatch(r"#.*|[A-Za-z0-9._-]+==[A-Za-z0-9.+!]+", line)]

    assert wrong == []


def test_every_link_between_the_documents_leads_somewhere() -> None:
    pages = [file for file in tracked() if file.suffix == ".md"]

    assert [broken for page in pages for broken in broken_links(page)] == []


def test_every_document_can_be_reached_from_the_readme() -> None:
    """Whoever starts at README.md finds every page by following links."""
    reached, waiting = set[Path](), [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        if page in reached or page.suffix != ".md" or not page.exists():
            continue
        reached.add(page)
        links = re.findall(r"\]\(([^)\s#]+)", page.read_text(encoding="utf-8"))
        waiting += [(page.parent / link).resolve() for link in links if "://" not in link]
    documents = {file for file in tracked() if file.suffix == ".md"}

    assert {page.name for page in documents - reached} == set()


def test_the_changelog_tells_of_this_version() -> None:
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")

    assert re.search(rf"^## {re.escape(VERSION)}\b", text, flags=re.MULTILINE)


def test_modules_stay_short() -> None:
    long = {
        name: lines
        for file in sources()
        if (lines := file.read_text("utf-8").count("\n")) > LONGEST_MODULE
        and (name := file.relative_to(ROOT).as_posix()) not in LONG_BY_NATURE
    }

    assert long == {}


def test_functions_stay_short() -> None:
    long = {
        f"{file.relative_to(ROOT)}:{node.lineno} {node.name}": length
        for file in sources()
        if file.relative_to(ROOT).as_posix() not in LONG_BY_NATURE
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (length := (node.end_lineno or 0) - node.lineno + 1) > LONGEST_FUNCTION
    }

    assert long == {}


def declared() -> dict[str, str]:
    """Return the packages that passline asks for, by the name they are imported under."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = {"ruamel.yaml": "ruamel"}
    asked = [*project["dependencies"], *project["optional-dependencies"]["cluster"]]
    asked += [*project["optional-dependencies"]["postgresql"], *project["optional-dependencies"]["compile"]]
    names = [re.split(r"[\[<>=~! ]", entry)[0] for entry in asked]
    return {named.get(name, name.lower().replace("-", "_")): name for name in names}


def imported() -> set[str]:
    """Return the top names of all that twin and dashboard import, outside the standard library and themselves."""
    found = set()
    for file in sources():
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
                found.add(node.module.split(".")[0])
    return found - set(sys.stdlib_module_names) - {"twin", "dashboard"}


def test_everything_imported_is_declared() -> None:
    comes_along = {
        "setuptools": "mypy",
        "mypyc": "mypy",
        "flask": "dash",
        "werkzeug": "flask",
        "click": "typer",
        "pydantic_core": "pydantic",
        "ciw": "the extra of the tests: a rival of the benchmark, which does without it",
    }

    assert imported() - set(declared()) - set(comes_along) == set()


def test_everything_declared_is_imported() -> None:
    """A dependency that nobody imports is a cost without a use."""
    # read at run time by zoneinfo, by SQLAlchemy when an address asks for it, by distributed, and by the build
    behind_the_scenes = {"tzdata", "psycopg", "dask", "distributed", "mypy"}

    assert set(declared()) - imported() - behind_the_scenes == set()


def licence(package: str) -> str:
    """Return everything that an installed package says about its licence."""
    about = metadata.metadata(package).json
    said = [str(about.get("license_expression", "")), str(about.get("license", ""))[:60]]
    return " ".join([*said, *(line for line in about.get("classifier", []) if line.startswith("License"))])


def test_a_company_may_use_every_package_that_is_always_installed() -> None:
    """Permissive licences, and MPL, whose duties end at its own files."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    packages = [re.split(r"[\[<>=~! ]", entry)[0] for entry in project["dependencies"]]
    permissive = re.compile(r"\b(MIT|BSD|Apache|ZPL|MPL)\b")

    told = {package: licence(package) for package in packages}

    assert [package for package, text in told.items() if not permissive.search(text) or "GPL" in text] == []


def test_every_command_is_in_the_documents() -> None:
    """Each command and each of its long options can be looked up."""
    typer = pytest.importorskip("typer.main")
    cli = pytest.importorskip("twin.cli")
    words = "\n".join(file.read_text("utf-8") for file in tracked() if file.suffix == ".md")
    missing = []
    for name, command in typer.get_command(cli.app).commands.items():
        missing += [] if f"passline {name}" in words else [f"passline {name}"]
        options = {option for p in command.params for option in p.opts if option.startswith("--")} - {"--help"}
        missing += [f"passline {name} {option}" for option in sorted(options) if f"`{option}" not in words]

    assert missing == []


def test_make_help_names_every_target() -> None:
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    phony = re.search(r"^\.PHONY: (.+)$", text, flags=re.MULTILINE)
    assert phony is not None
    told = set(re.findall(r'echo "make (\w+)', text))

    assert set(phony[1].split()) - {"help"} == told


def test_the_build_server_runs_what_everybody_runs() -> None:
    text = (ROOT / ".ci" / "run").read_text(encoding="utf-8")

    assert re.search(r"^make test$", text, flags=re.MULTILINE)
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o111, "it must be executable"


def test_the_glossary_has_the_words_of_the_file_and_the_states() -> None:
    """Kinds of station, what stores hold, states of a machine: each has its row."""
    text = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
    rows = set(re.findall(r"^\| ([\w ,-]+?) \|", text, flags=re.MULTILINE))

    assert {*KINDS, *STATES} - rows == set()
