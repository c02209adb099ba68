"""Between the store's records and the states folded from them.

`repository` reads, decides and appends. `stream_index` says which preparations there are, and is light enough for the
first screen.
"""
