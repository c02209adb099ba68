"""The terminal front end: it renders view-models and calls the application layer.

The only package that imports the terminal library. It does no arithmetic on clinical values, compares none and
formats none: every amount on a screen arrives as a finished word.
"""

import os

# Read by the terminal library when it is first imported: an animated scroll costs time and tells nobody anything.
os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
