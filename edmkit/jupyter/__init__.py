"""What JupyterLab needs to show a page that starts by itself: extension, settings, kernel."""

import hashlib
import json
from pathlib import Path

FOLDER = Path(__file__).parent
EXTENSION = "edmkit-page"
STATIC = FOLDER / "labextensions" / EXTENSION / "static"
HASHES = STATIC / "hashes.json"


def shipped(name):
    """Return the folder of the pages or the demo data that came with the kit [-].

    Parameters
    ----------
    name : str
        ``"notebooks"`` or ``"data_demo"`` [-].
    """
    installed = FOLDER.parent / name
    return installed if installed.is_dir() else FOLDER.parent.parent / name  # a source checkout


def page_hash(notebook):
    """Return the SHA-256 of a page's code cells as hexadecimal text [-].

    The browser makes the same sum over the same text (``remoteEntry.js``) and starts a page by
    itself only where it finds the sum on the list that travels with the package.

    Parameters
    ----------
    notebook : dict
        A notebook file as read by ``json``; words, pictures and outputs do not count [-].
    """
    cells = [c["source"] for c in notebook["cells"] if c["cell_type"] == "code"]
    code = "\0".join(c if isinstance(c, str) else "".join(c) for c in cells)
    return hashlib.sha256(code.replace("\r\n", "\n").replace("\r", "\n").encode()).hexdigest()


def page_hashes(folder):
    """Return the sorted hashes of all pages of a folder [-]."""
    pages = sorted(Path(folder).glob("*.ipynb"))
    return sorted({page_hash(json.loads(p.read_text(encoding="utf-8"))) for p in pages})
