"""The proof: a kit walked through its whole domain, every gram and every day. Pure.

No baby is left out and none is sampled. A dose, and what follows one, is worked out at every gram. Any other line is
there or blocked, and of one size, one mark and one ground, by its bands, its formulas' marks and its approvals alone:
between two of their edges every baby has the same line, and it is worked out at both ends.

May import: `prepkit.list` and below.
"""
