"""The proof: a kit walked through its whole domain, every gram and every day. Pure.

No baby is left out and none is sampled. A dose, and what follows one, is worked out at every gram. Any other line is
there or blocked, and of one size and one ground, by its bands and approvals alone: between two of their edges one baby
stands for all.

May import: `prepkit.list` and below.
"""
