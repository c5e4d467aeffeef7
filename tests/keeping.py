"""A process that keeps results until it is killed."""

import itertools

from twin.store import Store


def keep_until_killed(address: str, log: str) -> None:
    """Keep one result after another, and note each in a log once it is acknowledged."""
    store = Store(address)
    with open(log, "a", encoding="utf-8", buffering=1) as noted:
        for seed in itertools.count():
            store.save("run", {"scenario": "A line", "digest": "ab" * 32, "seed": seed, "runs": 20, "pad": "x" * 5000})
            noted.write(f"{seed}\n")
