"""Which copy of the rules serves: the compiled one if it was made from the rules as they stand, else the plain one."""

import importlib
import logging
import os
from functools import lru_cache
from types import ModuleType

log = logging.getLogger(__name__)

PURE_WISH = "PASSLINE_PURE"
PLAIN_NAME = "twin.line.rules"
FAST_NAME = "twin.line._fast"


@lru_cache(maxsize=1)
def compiled_available() -> bool:
    """Tell whether compiled rules can serve; say once why they cannot."""
    if os.environ.get(PURE_WISH):
        return False
    from twin.line.compile_rules import compiled_digest, rules_digest

    found = compiled_digest()
    if found is None:
        log.info("the rules run as plain Python: no compiled copy was built (a C compiler makes runs 20 times faster)")
        return False
    if found != rules_digest():
        log.info("the rules run as plain Python: the compiled copy was built from other rules; build it anew")
        return False
    try:
        importlib.import_module(FAST_NAME + ".run")
    except ImportError as fault:
        log.info("the rules run as plain Python: the compiled copy does not load here (%s)", fault)
        return False
    return True


def rules_of(part: str, *, pure: bool) -> ModuleType:
    """Return one module of the rules, from the plain or the compiled copy."""
    fast = not pure and compiled_available()
    return importlib.import_module(f"{FAST_NAME if fast else PLAIN_NAME}.{part}")
