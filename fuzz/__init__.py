"""A coverage-guided fuzzer on everything that reads what somebody else wrote; see `fuzz/__main__.py`."""
