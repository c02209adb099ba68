"""Projections: what is built from each preparation and stored beside it, so that finding or counting reads no events.

`projection` builds, finds and checks them; `kinds` has the three there are: cot label, audit row, part.
"""
