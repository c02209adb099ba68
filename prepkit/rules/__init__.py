"""The rules: one pure function per kind of line. May import: `prepkit.kit`, `prepkit.quantities`."""
