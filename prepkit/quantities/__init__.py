"""Amounts, units and gestations. May import: the standard library and, on first use, pint."""
