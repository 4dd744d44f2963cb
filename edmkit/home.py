"""Where the kit keeps what belongs to its user: outside the package, and so past its updates."""

import os
from pathlib import Path


def home():
    """Return the kit's folder of this user; ``EDMKIT_HOME`` overrides it."""
    if os.environ.get("EDMKIT_HOME"):
        return Path(os.environ["EDMKIT_HOME"])
    import platformdirs

    return Path(platformdirs.user_data_dir("edmkit", appauthor=False))
