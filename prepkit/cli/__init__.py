"""The command line. `main` imports a command's module only when that command is run."""
