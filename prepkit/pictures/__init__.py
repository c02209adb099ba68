"""Pictures in plain text cells, where a hand must match a number: each takes exact numbers and a width in columns.

Every picture comes with the same fact in words, and reads in monochrome.
"""
