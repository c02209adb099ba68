"""The second check: another person's own weight and amounts, entered blind, then compared."""
