"""``python -m carwright`` is the same as the command ``carwright``."""

import sys

from carwright.cli.main import main

sys.exit(main())
