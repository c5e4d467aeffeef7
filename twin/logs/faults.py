"""What is said when a log cannot be taken: file, line, what is wrong, the way out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LogFault:
    """One reason why a log is refused; line 0 means the file as a whole."""

    file: str
    line: int
    message: str
    way_out: str = ""

    def __str__(self) -> str:
        place = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{place}: {self.message}" + (f". {self.way_out}" if self.way_out else "")


class LogError(ValueError):
    """A log that cannot be trusted; its text has one line a fault."""

    def __init__(self, *faults: LogFault) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


def refuse(file: str, line: int, message: str, way_out: str = "") -> LogError:
    """Return (for raising) an error with one fault."""
    return LogError(LogFault(file, line, message, way_out))
