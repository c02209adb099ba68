"""What the pad asks: single prompts, and the wizards that ask one after another."""
