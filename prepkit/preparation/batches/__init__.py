"""Batch and expiry of the containers and packs in hand."""
