"""The store in one SQLite file.

The only package that imports sqlite3. It stands beside `prepkit.store.postgres` and passes the same contract suite.
"""
