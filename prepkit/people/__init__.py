"""People: who may sign in, with which role and PIN, and how often a PIN may be tried.

The staff list is a stream of events like a preparation's, in the same store: it travels with it, is chained and only
ever added to. Pure but for `hashing`, whose library draws the salt. May import: `prepkit.preparation`.
"""
