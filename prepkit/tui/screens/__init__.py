"""One screen a file, each beside its stylesheet. May import: everything in prepkit.tui but the app, and the desk."""
