"""`python -m prepkit`."""

import sys

from prepkit.cli.main import main

sys.exit(main())
