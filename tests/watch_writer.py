"""A writer that is killed: adds readings to the running burn and prints each once it is kept.

python watch_writer.py FOLDER
"""

import sys

from edmkit.flushing.watch_file import WatchFile


def main(folder):
    """Write until killed."""
    file, number = WatchFile(folder), 0
    file.begin({"name": "begun by the writer"})
    while True:
        file.add({"minutes": number})
        print(number, flush=True)
        number += 1


if __name__ == "__main__":
    main(*sys.argv[1:])
