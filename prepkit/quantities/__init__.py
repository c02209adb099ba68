"""Amounts, units and gestations: exact numbers, and their reading and writing as text."""
