"""The time at the cot and what follows it: steps, readings, follow-ups, outcome, signatures."""
