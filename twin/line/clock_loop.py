"""The clock of studies: a plain loop, compiled with the rules where it can be."""

from twin.line.draws import Draws
from twin.line.engine import rules_of
from twin.line.model import Model
from twin.line.rules.state import Line


def run(line: Line, draws: Draws, model: Model, *, pure: bool = False) -> None:
    """Run a line from its beginning to its end; what is counted starts after the warm-up."""
    counting = rules_of("counting", pure=pure)
    rules_of("run", pure=pure).begin(line)
    if model.warm_up > 0.0:
        run_to(line, draws, model.warm_up, pure=pure)
        line.now = model.warm_up
    counting.start_counting(line)
    run_to(line, draws, model.end, pure=pure)
    counting.bring_to(line, model.end)
    draws.remember()


def run_to(line: Line, draws: Draws, until: float, *, pure: bool = False) -> None:
    """Let everything happen up to a time, filling streams whenever one runs low."""
    rules = rules_of("run", pure=pure)
    if line.low:
        draws.refill()
    while not rules.run(line, until):
        draws.refill()
