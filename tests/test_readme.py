"""The answer that README.md shows is the answer that the command gives."""

import json
import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from twin.cli import app

ROOT = Path(__file__).parents[1]


def as_one_line(text: str) -> str:
    """Return a text without the marks and breaks of its lines, nor the spaces that do not break."""
    return " ".join(re.sub(r"^> ?|\*\*", "", text, flags=re.MULTILINE).split())


@pytest.mark.slow
def test_the_answer_in_the_readme_is_the_one_the_command_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```\n(passline compare .*?)```\n\n((?:> [^\n]*\n)+)", text, flags=re.DOTALL)
    assert shown is not None
    monkeypatch.chdir(ROOT)

    command = shlex.split(shown[1].replace("\\\n", " "))[1:]
    done = CliRunner().invoke(app, [*command, "--workers", "1", "--json", "-"])

    assert done.exit_code == 0, done.output
    assert as_one_line(json.loads(done.stdout)["verdict"]) == as_one_line(shown[2])
