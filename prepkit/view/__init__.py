"""Finished words for people, without a terminal. May import: `prepkit.preparation` and below."""
