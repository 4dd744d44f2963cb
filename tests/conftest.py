"""The tests see a user's folder of their own, so that nobody's own materials join them."""

import os
import tempfile

if not os.environ.get("EDMKIT_HOME"):
    _HOME = tempfile.TemporaryDirectory(prefix="edmkit_tests_")  # deleted when the tests end
    os.environ["EDMKIT_HOME"] = _HOME.name
