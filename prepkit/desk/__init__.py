"""The desk: what a front end asks for, and the only place where the clock is read.

It joins the store, the kits, the ward file and the pure core. A front end gives it what a person typed or touched and
gets back finished words (view-models) or the reason of a refusal. What is heavy (kits, units, rules) loads with the
first preparation opened, not with the first screen; and a command that only needs the clock loads no desk.
May import: every layer but the front ends.
"""
