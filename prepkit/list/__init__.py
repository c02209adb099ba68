"""The list: what a kit, a ward and a baby give together."""
