"""The store in a hospital's PostgreSQL: one ward's chain of records, on a server that many devices share.

The only package that knows psycopg, and loaded only when a store's address names a server.
"""
