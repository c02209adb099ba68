"""What all tests share: no example of a property is held to a time, since a machine may be busy."""

from hypothesis import HealthCheck, settings

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
# Mutation testing: the same examples for every mutant (docs/mutation.md).
settings.register_profile("mutation", settings.get_profile("unhurried"), derandomize=True, max_examples=20)
