"""Tables that travel with the kit: the first line of each says where its rows come from."""

import csv
from pathlib import Path


def read_rows(name):
    """Return the rows of one of the kit's tables, each a dict of texts.

    Parameters
    ----------
    name : str
        File name in this folder, such as ``"standard_vdi3400.csv"``.

    Returns
    -------
    tuple of dict
        Heading -> text as written; an empty text where the table has no figure.
    """
    lines = (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))
