"""The baby: facts, an unlikely weight confirmed, the questions about suitability, a senior's agreement."""
