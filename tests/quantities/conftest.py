"""No example of a property is held to a time: a machine may be busy."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
