"""Widgets of our own. May import: the terminal library, prepkit.view.models and prepkit.tui's words, look and touch."""
