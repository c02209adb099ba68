"""Canonical JSON and fingerprints: one text for one value, on every machine and in every year.

Sorted keys, no spaces, no floats, characters as themselves.
"""

import hashlib
import json


def write_canonical(value: object) -> str:
    """Write a value made of dict (text keys), list, tuple, str, int, bool and None as canonical JSON.

    Raises `TypeError` for anything else: a float has no one text, so amounts come in as text. Raises `ValueError`
    for text that cannot be stored (half of a surrogate pair).
    """
    _check_plain(value)
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
    text.encode()
    return text


def compute_fingerprint(value: object) -> str:
    """Compute the SHA-256 of the canonical JSON, as 64 lower-case hex digits. Raises as `write_canonical` does."""
    return hashlib.sha256(write_canonical(value).encode()).hexdigest()


def _check_plain(value: object) -> None:
    if value is None or isinstance(value, str | int):
        return
    if isinstance(value, list | tuple):
        for item in value:
            _check_plain(item)
        return
    if not isinstance(value, dict):
        raise TypeError(f"canonical JSON has no {type(value).__name__}: write it as text (got {value!a})")
    for key, item in value.items():
        if not isinstance(key, str):
            raise TypeError(f"canonical JSON has text keys only (got {key!a})")
        _check_plain(item)
