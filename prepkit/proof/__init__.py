"""The proof: a kit walked through its whole domain, every gram and every day.

No baby is left out and none is sampled. A dose, and what follows from one, is worked out at every gram. Whether any
other line is blocked, and its size, mark and ground, depend only on its bands, its formulas' marks and its approvals:
between two of their edges every baby has the same line, and it is worked out at both ends.
"""
