"""Pictures in plain text cells, where a hand must match a number: each takes exact numbers and a width in columns.

Every picture says the same fact in words beside it, and reads in monochrome.
"""
