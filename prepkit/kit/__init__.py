"""Kits, ward files and the facts about a baby: what people write, read and checked.

May import: `prepkit.quantities`.
"""
