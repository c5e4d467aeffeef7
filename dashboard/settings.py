"""How the dashboard is served: which plants, on which address, who may come in, and where answers are kept."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, field
from pathlib import Path

LOOPBACK = ("127.0.0.1", "localhost", "::1")
SCENARIO_ENDINGS = (".yaml", ".yml")


class SettingsError(ValueError):
    """The dashboard cannot be served like this; the message says why and what to do."""


def kept_folder() -> Path:
    """Return the folder in which answers are kept when none was named: the user's own cache."""
    if "PASSLINE_KEPT" in os.environ:
        return Path(os.environ["PASSLINE_KEPT"])
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "passline" / "answers"


@dataclass(frozen=True, slots=True)
class Settings:
    """What the dashboard must know before it starts.

    ``plants`` is a scenario file or a folder of them, None when no plant is open. ``logs`` is a log, or a folder with
    one for each plant, None when nothing was recorded. ``stale_s`` is how long a run goes on when no page has asked
    after it [s]: longer than a minute, since browsers slow down a hidden page's clock.
    """

    plants: Path | None = None
    logs: Path | None = None
    host: str = "127.0.0.1"
    port: int = 8050
    names: tuple[str, ...] = ()
    behind_proxy: bool = False
    auth_file: Path | None = None
    kept: Path = field(default_factory=kept_folder)
    runs_at_once: int = field(default_factory=lambda: max(1, (os.cpu_count() or 2) - 1))
    stale_s: float = 150.0
    compress: bool = False
    testing: bool = False

    @property
    def loopback(self) -> bool:
        """Tell whether only this machine can reach the pages."""
        return self.host in LOOPBACK

    @property
    def address(self) -> str:
        """Return the address to type into a browser on this machine."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"


def check(settings: Settings) -> Settings:
    """Return the settings unchanged, or refuse them with the reason.

    Raises
    ------
    SettingsError : the address is open to others without a guard, or a named file is not there.
    """
    if not settings.loopback and not settings.behind_proxy and settings.auth_file is None:
        raise SettingsError(
            f"the address {settings.host} can be reached by other machines, and nothing asks who comes in: "
            "serve on 127.0.0.1, or name a password file with --auth-file, or say --behind-proxy when a proxy asks"
        )
    if settings.auth_file is not None and not settings.auth_file.is_file():
        raise SettingsError(f"the password file {settings.auth_file} is not there: write one line `name:hash` a person")
    if settings.plants is not None and not settings.plants.exists():
        raise SettingsError(f"{settings.plants} is not there: name a scenario file or a folder of them")
    if not 0 < settings.port < 65536:
        raise SettingsError(f"the port is {settings.port}: give a number from 1 to 65535")
    return settings


def plant_files(plants: Path | None) -> dict[str, Path]:
    """Return the scenario files that can be chosen, by their name without the ending, in order of name."""
    if plants is None:
        return {}
    if plants.is_file():
        return {plants.stem: plants}
    found = (file for file in plants.iterdir() if file.suffix in SCENARIO_ENDINGS and file.is_file())
    return {file.stem: file for file in sorted(found)}
