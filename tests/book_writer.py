"""A writer that is killed: writes burns into a book and prints each id once it is acknowledged.

python book_writer.py BOOK NAME
"""

import sys

import edmkit as ek

PLAIN = {"work": "52100", "electrode": "copper", "polarity": "electrode positive",
         "peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0}  # fmt: skip


def numbered(name, number):
    """Return a burn like no other, with a figure that follows from its number."""
    minutes = ek.Measured(1.0 + number, "watch")
    told = {"part": name, "burn": str(number), "remark": f"{name} {number}"}
    return ek.Trial(**told, minutes=minutes, **PLAIN)


def main(path, name):
    """Write until killed; two burns at a time, so that a half transaction would show."""
    book = ek.TrialBook(path)
    print("open", flush=True)
    number = 0
    while True:
        pair = [numbered(name, number), numbered(name, number + 1)]
        book.add_all(pair)
        print(pair[0].id, pair[1].id, flush=True)
        number += 2


if __name__ == "__main__":
    main(*sys.argv[1:])
