"""A fingerprint of everything a run has counted, to the last bit."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

import numpy as np


def fingerprint(value: object) -> str:
    """Return the SHA-256 of a result: every number of it, in order, as its bytes."""
    digest = hashlib.sha256()
    for part in _parts(value):
        digest.update(part)
    return digest.hexdigest()


def _parts(value: object) -> Iterator[bytes]:
    if isinstance(value, np.ndarray):
        yield f"{value.dtype}{value.shape}".encode()
        yield value.tobytes() if value.dtype != object else repr(value.tolist()).encode()
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield field.name.encode()
            yield from _parts(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for key, own in value.items():
            yield repr(key).encode()
            yield from _parts(own)
    elif isinstance(value, list | tuple):
        for own in value:
            yield from _parts(own)
    else:
        yield repr(value).encode()
