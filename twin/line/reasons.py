"""Words for the codes of the rules: states, reasons, kinds, places of a roll set."""

STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")
KINDS = ("supply", "furnace", "caster", "mill", "slitter", "cutter", "profiler", "step", "roll shop")
HOLDS = ("metal", "strip", "coils", "pieces")
SET_PLACES = ("on mill", "cooling", "waiting", "grinding", "fitting", "heating", "ready")
WHY_OFF = ("limit", "damage", "idle", "planned")
FIXED_REASONS = (
    "", "crop", "first coil", "trim", "pattern", "ends", "pieces", "first-off", "start", "damage", "melting",
    "skimming", "kept too long", "coil change", "tool change", "knives", "service", "restart", "roll set", "limit",
    "idle", "planned", "people", "as recorded",
)  # fmt: skip
