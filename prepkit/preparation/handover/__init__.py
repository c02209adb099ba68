"""Handing a preparation over to the next person."""
