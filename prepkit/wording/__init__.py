"""Wording: what rules and lists find, put into words.

It stands between rules and list because a line's fingerprint and a stored list hold words as they are today, and must
not change by a byte: `list` asks it for fingerprints alone. Preparation, view and documents word what they store or
show. Nothing here decides: no sentence is read again.
"""
