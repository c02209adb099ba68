"""Documents: the list as text and as JSON. May import: `prepkit.view` and below."""
