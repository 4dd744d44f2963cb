"""Write the list of pages that may start by themselves: ``python -m edmkit.jupyter``."""

import json

from edmkit.jupyter import HASHES, page_hashes, shipped

if __name__ == "__main__":
    HASHES.write_text(
        json.dumps(page_hashes(shipped("notebooks")), indent=1) + "\n", encoding="utf-8"
    )
