"""The screens, one file for each task, with stylesheets beside them."""
