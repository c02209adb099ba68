"""What comes in from hands and scanners: keys, touch, scans, and the keypad on the screen."""
