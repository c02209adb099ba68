"""Finished words for people, without a terminal."""
