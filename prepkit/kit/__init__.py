"""Kits, ward files and the facts about a baby: what people write, how it is read, and what is checked."""
