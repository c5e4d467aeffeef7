"""From the totals of runs to the indicators of a line, each with its interval and its unit."""

from twin.indicators.bottleneck import METHOD, Timeline, limit_shares, momentary
from twin.indicators.columns import Column, columns
from twin.indicators.iso22400 import ISO_MAPPING
from twin.indicators.measure import measure
from twin.indicators.results import assemble, summarise
from twin.indicators.verdict import Part, Verdict, verdict

__all__ = [
    "ISO_MAPPING",
    "METHOD",
    "Column",
    "Part",
    "Timeline",
    "Verdict",
    "assemble",
    "columns",
    "limit_shares",
    "measure",
    "momentary",
    "summarise",
    "verdict",
]
