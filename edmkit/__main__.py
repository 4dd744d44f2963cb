"""Open the pages of the kit: copy them to the user's folder and start JupyterLab on one."""

import argparse
import filecmp
import json
import os
import secrets
import shutil
import socket
import sys
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from edmkit.jupyter import EXTENSION, FOLDER, shipped

UPLOAD_MOST = 64 * 2**20  # bytes of one message from the page: a recording of two minutes
HELP = """\
Open the pages of the kit in your web browser.

The pages and the demo machines are copied to a folder of your own first. A copy you have
changed is never written over. Leave this window open while you work; Ctrl-C here stops it."""
EXAMPLES = """\
examples:
  edmkit          the start page
  edmkit 02       page 02, which settings
  edmkit --folder D:\\erosion     keep the copies somewhere else"""


def _arguments(words):
    """Return what the user asked for on the command line."""
    parser = argparse.ArgumentParser(
        "edmkit",
        description=HELP,
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("page", nargs="?", default="00", help="number or name of a page")
    home = Path.home() / "edmkit"
    parser.add_argument("--folder", type=Path, default=home, help=f"your folder (now {home})")
    parser.add_argument("--port", type=int, help="use this port (else any free one)")
    parser.add_argument("--no-browser", action="store_true", help="only say the address")
    parser.add_argument("--copy-only", action="store_true", help="copy, do not open anything")
    parser.add_argument(
        "--new-pages",
        action="store_true",
        help="put the kit's own pages in place; yours are kept under another name",
    )
    return parser.parse_args(words)


def _same(mine, theirs):
    """Return whether two files say the same; what a page printed or drew does not count."""
    if mine.suffix != ".ipynb":
        return filecmp.cmp(mine, theirs, shallow=False)
    try:
        pages = [json.loads(p.read_text(encoding="utf-8"))["cells"] for p in (mine, theirs)]
        first, second = ([(c["cell_type"], "".join(c["source"])) for c in p] for p in pages)
    except (ValueError, KeyError, TypeError):  # the user's file may be anything
        return False
    return first == second


def _put_aside(path):
    """Rename a user's file so that the kit's own can take its place; return the new path."""
    tries = (path.with_stem(f"{path.stem} - mine {n}") for n in range(1, 1000))
    return path.rename(next(p for p in tries if not p.exists()))


def copy_pages(folder, new_pages=False):
    """Return sentences that say what was copied into the user's folder [-].

    Parameters
    ----------
    folder : Path
        The user's folder; made if missing [-].
    new_pages : bool
        Put the kit's files in place of changed ones, which keep their content under another
        name [-].

    Raises
    ------
    OSError
        If the folder cannot be made or written.
    """
    copied, kept, aside = [], [], []
    for source, target in ((shipped("notebooks"), folder), *_demo(folder)):
        target.mkdir(parents=True, exist_ok=True)
        for theirs in sorted(p for p in source.iterdir() if _is_shipped(p)):
            mine = target / theirs.name
            if mine.exists() and _same(mine, theirs):
                continue
            if mine.exists() and not new_pages:
                kept.append(mine.name)
                continue
            if mine.exists():
                aside.append(_put_aside(mine).name)
            shutil.copyfile(theirs, mine)
            copied.append(mine.name)
    return _sentences(folder, copied, kept, aside)


def _demo(folder):
    return ((shipped("data_demo"), folder / "data_demo"),)


def _is_shipped(path):
    return path.is_file() and path.suffix in {".ipynb", ".toml", ".csv"}


def _sentences(folder, copied, kept, aside):
    """Return in words what the copying did; nothing where nothing changed."""
    said = [f"Your pages are in {folder}"]
    if copied:
        said.append(f"Copied: {', '.join(copied)}")
    if aside:
        said.append(f"Your changed files are now: {', '.join(aside)}")
    if kept:
        said.append(
            f"Kept as you left it, though the kit's own differs: {', '.join(kept)}. "
            "To get the kit's own beside yours: edmkit --new-pages"
        )
    return said


def _find_page(folder, wanted):
    """Return the name of the page that a number or name means."""
    names = sorted(p.name for p in folder.glob("*.ipynb"))
    stem = wanted.removesuffix(".ipynb")
    start = f"{int(stem):02d}_" if stem.isdecimal() else stem
    exact = [n for n in names if n == stem + ".ipynb"]
    near = [n for n in names if n.startswith(start)]
    if exact or len(near) == 1:
        return (exact or near)[0]
    raise SystemExit(f"There is no page {wanted!r}. There are: {', '.join(names)}")


def _port(wanted=None):
    """Return a port that no other program uses."""
    with socket.socket() as trial:
        try:
            trial.bind(("127.0.0.1", wanted or 0))
        except (OSError, OverflowError):
            raise SystemExit(f"Port {wanted} cannot be used: leave out --port.") from None
        return trial.getsockname()[1]


def _own_place():
    """Return the folder where the kit's JupyterLab keeps its things, with the plot code in it."""
    import platformdirs
    import plotly

    place = Path(platformdirs.user_data_dir("edmkit", appauthor=False)) / "jupyterlab"
    static = place / "data" / "labextensions" / EXTENSION / "static"
    static.mkdir(parents=True, exist_ok=True)
    bundle = static / f"plotly-widget-{plotly.__version__}.js"
    source = Path(plotly.__file__).parent / "package_data" / "widgetbundle.js"
    if not (bundle.exists() and bundle.stat().st_size == source.stat().st_size):
        shutil.copyfile(source, bundle)
    return place


def _environment(place, token):
    """Return the variables that keep this JupyterLab apart from the user's own."""
    return {
        "JUPYTER_PATH": str(FOLDER),  # extension and kernel come from here before all others
        "JUPYTER_CONFIG_PATH": str(FOLDER / "config"),
        "JUPYTER_CONFIG_DIR": str(place / "config"),
        "JUPYTER_DATA_DIR": str(place / "data"),
        "JUPYTER_RUNTIME_DIR": str(place / "run"),
        "JUPYTERLAB_SETTINGS_DIR": str(place / "config" / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(place / "config" / "workspaces"),
        "IPYTHONDIR": str(place / "ipython"),
        "JUPYTER_TOKEN": token,
        "PYTHONSAFEPATH": "1",  # a plotly.py that lies beside a page must not be imported
        # Many small sums: a second thread of the linear algebra costs five times what it brings.
        "OPENBLAS_NUM_THREADS": os.environ.get("OPENBLAS_NUM_THREADS", "1"),
        "EDMKIT_PAGE": "1",  # tells edmkit.panels.live that the plot code is served over HTTP
    }


def _serve(folder, page, port, browser):
    """Run JupyterLab on one page until the user stops it."""
    address, token = f"/doc/tree/{quote(page)}", secrets.token_hex(16)
    os.environ.update(_environment(_own_place(), token))
    here = {"", os.getcwd(), str(folder)}
    sys.path[:] = [p for p in sys.path if p not in here]  # python -m puts its folder there
    from jupyterlab.labapp import main as jupyterlab

    print(f"Opening {page} at http://127.0.0.1:{port}{address}?token={token}")
    print("Leave this window open while you work. To stop, press Ctrl-C here.", flush=True)
    jupyterlab(
        [
            f"--ServerApp.root_dir={folder}",
            f"--ServerApp.port={port}",
            "--ServerApp.port_retries=0",
            "--ServerApp.ip=127.0.0.1",
            f"--ServerApp.open_browser={browser}",
            f"--ServerApp.allow_root={getattr(os, 'geteuid', lambda: 1)() == 0}",
            "--ServerApp.answer_yes=True",  # one Ctrl-C stops
            "--ServerApp.log_level=ERROR",
            "--LabApp.log_level=ERROR",
            # a recording of a minute or two is dropped in silence at the usual 10 MB
            f'--ServerApp.tornado_settings={{"websocket_max_message_size": {UPLOAD_MOST}}}',
            f"--LabApp.default_url={address}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            "--LabApp.extension_manager=readonly",
        ]
    )


def main(words=None):
    """Copy the pages and open one; return the exit status [-].

    Parameters
    ----------
    words : list of str, optional
        Command line; the program's own if left out [-].
    """
    asked = _arguments(words)
    folder = asked.folder.expanduser().resolve()
    try:
        print("\n".join(copy_pages(folder, asked.new_pages)), flush=True)
    except OSError as error:
        raise SystemExit(f"{folder} cannot be used ({error}): choose another --folder.") from None
    page = _find_page(folder, asked.page)
    if asked.copy_only:
        return 0
    if not find_spec("jupyterlab"):
        raise SystemExit(
            f"JupyterLab is missing: {sys.executable} -m pip install jupyterlab anywidget"
        )
    _serve(folder, page, _port(asked.port), not asked.no_browser)
    return 0


if __name__ == "__main__":
    sys.exit(main())
