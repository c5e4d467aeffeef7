"""The build that compiles the rules: tried on a small package, and on the rules themselves."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from twin.line import compile_rules

STATE = '''"""State."""
from typing import final


@final
class Tank:
    """A tank."""

    __slots__ = ("level",)
    level: float

    def __init__(self) -> None:
        self.level = 0.5
'''
RUN = '''"""Run."""
from toy.plain.state import Tank


def fill(tank: Tank, steps: int) -> float:
    """Fill a tank with steps that a fused multiply-add would round otherwise."""
    for step in range(steps):
        tank.level = tank.level * 3.7 * (1.0 - tank.level) + 1e-9 * float(step)
        if tank.level > 1.0:
            tank.level = tank.level - 1.0
    return tank.level
'''


@pytest.fixture
def toy(tmp_path: Path) -> Path:
    """Return a folder with the package `toy`, whose rules are in `toy/plain`."""
    plain = tmp_path / "toy" / "plain"
    plain.mkdir(parents=True)
    for name, text in {"__init__": '"""Rules."""\n', "state": STATE, "run": RUN}.items():
        (plain / f"{name}.py").write_text(text, encoding="utf-8")
    (tmp_path / "toy" / "__init__.py").touch()
    return tmp_path


def compile_toy(toy: Path) -> None:
    compile_rules.build(toy / "toy" / "plain", toy / "toy" / "fast", "toy.plain", "toy.fast")


def run_in(folder: Path, code: str) -> str:
    """Run some Python beside the toy package and return what it printed."""
    done = subprocess.run([sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=True)
    return done.stdout.strip()


@pytest.mark.slow
def test_the_compiled_copy_gives_the_same_bytes_as_the_plain_rules(toy: Path, c_compiler: str) -> None:
    """A chaotic map, 5000 steps: one rounding that differs changes every digit."""
    compile_toy(toy)

    line = "from toy.{0}.run import fill; from toy.{0}.state import Tank; print(fill(Tank(), 5000).hex())"
    assert run_in(toy, line.format("fast")) == run_in(toy, line.format("plain"))
    files = run_in(toy, "import toy.fast.run as r, toy.fast.state as s; print(r.__file__, s.__file__)")
    assert ".py " not in files and not files.endswith(".py"), "the copy was not compiled"


@pytest.mark.slow
def test_the_compiled_copy_carries_the_digest_of_its_sources(toy: Path, c_compiler: str) -> None:
    """An edited rule makes the compiled copy stale."""
    compile_toy(toy)
    plain, fast = toy / "toy" / "plain", toy / "toy" / "fast"
    assert compile_rules.compiled_digest(fast) == compile_rules.rules_digest(plain)

    (plain / "run.py").write_text(RUN.replace("3.7", "3.6"), encoding="utf-8")

    assert compile_rules.compiled_digest(fast) != compile_rules.rules_digest(plain)


def test_a_rule_with_a_wrong_type_is_refused_in_the_words_of_the_compiler(toy: Path) -> None:
    """A wrong type is a fault of the rules, not of the machine."""
    (toy / "toy" / "plain" / "run.py").write_text(RUN.replace("-> float", "-> str"), encoding="utf-8")

    with pytest.raises(compile_rules.RulesRefused, match=r"run\.py:11: error: Incompatible return value type"):
        compile_toy(toy)
    assert compile_rules.compiled_digest(toy / "toy" / "fast") is None


def test_a_machine_without_a_c_compiler_is_told_so(toy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`CC` names a program that fails: nothing is installed and the plain rules are untouched."""
    monkeypatch.setitem(os.environ, "CC", "false")

    with pytest.raises(compile_rules.NoCompiler, match="false"):
        compile_toy(toy)
    assert compile_rules.compiled_digest(toy / "toy" / "fast") is None
    assert run_in(toy, "import toy.plain.run as r; print(r.fill.__name__)") == "fill"


def test_the_digest_depends_on_names_and_texts(tmp_path: Path) -> None:
    """Two modules that swap their texts are not the same rules."""
    (tmp_path / "a.py").write_text("x = 1\n")
    (tmp_path / "b.py").write_text("y = 2\n")
    before = compile_rules.rules_digest(tmp_path)
    (tmp_path / "a.py").write_text("y = 2\n")
    (tmp_path / "b.py").write_text("x = 1\n")

    assert compile_rules.rules_digest(tmp_path) != before


@pytest.mark.parametrize(
    ("fault", "code", "words"),
    [
        (compile_rules.NoCompiler("first\nno gcc"), compile_rules.NO_COMPILER, "stay plain Python"),
        (compile_rules.RulesRefused("run.py:3: error"), compile_rules.REFUSED, "run.py:3: error"),
    ],
)
def test_the_command_says_in_plain_words_why_it_did_not_compile(
    fault: Exception, code: int, words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The exit code tells a missing compiler (go on) from refused rules (stop)."""

    def give_up() -> None:
        raise fault

    monkeypatch.setattr(compile_rules, "build", give_up)
    monkeypatch.setattr(compile_rules, "compiled_digest", lambda: None)

    assert compile_rules.main() == code
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(("found", "columns"), [(True, "packed"), (False, "lists")])
def test_columns_are_packed_where_that_can_be_had_and_lists_elsewhere(
    toy: Path, monkeypatch: pytest.MonkeyPatch, found: bool, columns: str
) -> None:
    plain = toy / "toy" / "plain"
    (plain / compile_rules.COLUMNS).write_text('"""Columns as lists."""\n', encoding="utf-8")
    before = compile_rules.rules_digest(plain)
    (plain.parent / compile_rules.PACKED).write_text('"""Columns packed."""\n', encoding="utf-8")
    assert compile_rules.rules_digest(plain) != before
    monkeypatch.setattr(compile_rules, "find_spec", lambda _: object() if found else None)
    monkeypatch.chdir(toy)

    compile_rules.copy_rules(plain, Path("copy"), "toy.plain", "toy.fast")

    assert columns in Path("copy", compile_rules.COLUMNS).read_text(encoding="utf-8")


def test_packed_columns_do_what_lists_do() -> None:
    from twin.line import packed
    from twin.line.rules import vectors

    plain, dense = vectors.no_floats(), packed.no_floats()
    for number in (1.5, -0.0, 1e300, 2.0**-1074):
        plain, dense = vectors.push(plain, number), packed.push(dense, number)

    assert [number.hex() for number in dense] == [number.hex() for number in plain]
