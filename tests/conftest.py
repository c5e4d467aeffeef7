"""What all tests share: where the project lies, and what this machine has."""

import os
import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def needed(what: str) -> None:
    """Skip a test for want of a thing; on the build server that thing must be there."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is missing, and a build server must have it")
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def root() -> Path:
    """Return the folder of the project."""
    return ROOT


@pytest.fixture(scope="session")
def chromium() -> str:
    """Return the path of the browser that the tests drive."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        needed("Chromium (Debian: apt-get install chromium)")
    return str(found)


@pytest.fixture(scope="session")
def c_compiler() -> str:
    """Return the path of the C compiler."""
    found = shutil.which(os.environ.get("CC", "cc"))
    if found is None:
        needed("a C compiler (Debian: apt-get install gcc python3-dev)")
    return str(found)
