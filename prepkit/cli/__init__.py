"""The command line. May import: everything."""
