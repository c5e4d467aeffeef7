"""The model of the line: it reads a scenario, runs it and counts; it knows no web and draws nothing."""

from twin.version import VERSION as __version__

__all__ = ["__version__"]
