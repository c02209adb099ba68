"""The proof: a kit walked through its whole domain, every gram and every day. Pure. May import: `prepkit.list` and below.

No baby is left out and none is sampled. A line whose value goes by bands alone is constant between two edges, so that one
baby stands for all between them; a line with a formula or a dose is worked out at every gram.
"""
