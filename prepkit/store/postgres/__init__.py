"""The store in a hospital's PostgreSQL: one ward's chain of records, on a server that many devices share.

The only package that knows psycopg, and loaded only where a store's address names a server. May import: the rest of
`prepkit.store` and `prepkit.errors`.
"""
