"""The application layer: what a front end asks for, and the only place where the clock is read.

It joins the store, the kits, the ward file and the pure core. A front end passes in what a person typed or touched and
gets back finished words (view-models) or the reason for a refusal. Kits, units and rules are heavy: they load with the
first preparation opened, not with the first screen. A command that needs only the clock loads nothing else from here.
"""
