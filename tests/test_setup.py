"""What `make` says on machines that lack something: tried on a search path with only a few programs in it."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SETUP = Path(__file__).parents[1] / ".ci" / "setup"

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="make and sh are not there")


@pytest.fixture
def programs(tmp_path: Path) -> Path:
    """Return a folder of programs that is all the machine has: a shell, and a user who is not root."""
    folder = tmp_path / "bin"
    folder.mkdir()
    (folder / "sh").symlink_to(str(shutil.which("sh")))
    put(folder, "id", "echo 1000")
    return folder


def put(folder: Path, name: str, script: str) -> None:
    """Write a small program."""
    file = folder / name
    file.write_text(f"#!/bin/sh\n{script}\n")
    file.chmod(0o755)


def setup(programs: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run one part of the set-up on the poor machine."""
    variables = {"PATH": str(programs), **environment}
    return subprocess.run([str(SETUP), *words], env=variables, capture_output=True, text=True, check=False)


def test_without_a_python_that_is_new_enough_the_way_out_is_named(programs: Path, tmp_path: Path) -> None:
    put(programs, "python3", "exit 1")

    done = setup(programs, "environment", str(tmp_path / "venv"))

    assert done.returncode == 1
    assert "Python 3.11 or newer is needed" in done.stdout
    assert "PYTHON=" in done.stdout


def test_without_the_means_to_make_an_environment_the_package_is_named(programs: Path, tmp_path: Path) -> None:
    """Debian's python3 has no ensurepip until python3-venv is there, and only root may install that."""
    put(programs, "python3", 'case "$*" in *ensurepip*) exit 1 ;; *print*) echo python3.11 ;; esac')

    done = setup(programs, "environment", str(tmp_path / "venv"))

    assert done.returncode == 1
    assert "apt-get install python3-venv" in done.stdout


def test_an_environment_that_is_there_is_left_alone(programs: Path, tmp_path: Path) -> None:
    inside = tmp_path / "venv" / "bin"
    inside.mkdir(parents=True)
    put(inside, "python", "exit 0")

    done = setup(programs, "environment", str(tmp_path / "venv"))

    assert (done.returncode, done.stdout) == (0, "")


def test_without_a_c_compiler_the_set_up_goes_on_and_says_what_that_costs(programs: Path, tmp_path: Path) -> None:
    done = setup(programs, "compiler", str(tmp_path / "venv"))

    assert done.returncode == 0
    assert "25 times longer" in done.stdout


@pytest.mark.parametrize(("server", "code"), [("", 0), ("true", 1)])
def test_without_a_browser_only_a_build_server_stops(programs: Path, server: str, code: int) -> None:
    done = setup(programs, "browser", CI=server)

    assert done.returncode == code
    assert "Chromium is missing" in done.stdout


def test_root_with_apt_installs_what_is_missing(programs: Path) -> None:
    """The package manager is a stand-in that writes down what it was asked for, and brings the program."""
    put(programs, "id", "echo 0")
    for tool in ("chmod", "cat"):
        (programs / tool).symlink_to(str(shutil.which(tool)))
    brings = f'echo "#!/bin/sh" >{programs}/chromium; chmod +x {programs}/chromium'
    put(programs, "apt-get", f'echo "$*" >>{programs}/asked; case "$*" in install*) {brings} ;; esac')

    done = setup(programs, "browser", CI="true")

    assert done.returncode == 0
    asked = (programs / "asked").read_text().splitlines()
    assert asked[0].startswith("update")
    assert asked[1].startswith("install") and asked[1].endswith("chromium")
