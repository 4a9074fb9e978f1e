"""Walks the chain of a session file from docs/session-file.md alone: no program of ours is used.

Prints the head and the number of readings, or the first batch that does not fit (exit status 1).
"""
import hashlib
import json
import sqlite3
import struct
import sys


def number(value):
    """A number as ECMAScript writes it: whole ones without a point."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def text(tag, columns):
    body = json.dumps([number(c) for c in columns], separators=(",", ":"), ensure_ascii=False).encode()
    return struct.pack("<Bi", tag, len(body)) + body


def reading(row):
    seq, source, utc_us, mono_us, raw, value, marks = row
    raw = raw.encode()
    out = struct.pack("<BdddII", 3, seq, utc_us, mono_us, source, marks) + struct.pack("<i", len(raw)) + raw
    if value is None:
        return out + struct.pack("<i", -1)
    if value == "=":
        return out + struct.pack("<i", -2)
    value = value.encode()
    return out + struct.pack("<i", len(value)) + value


db = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
info, setup = db.execute("SELECT info, setup FROM session").fetchone()
head = hashlib.sha256(f"stillpoint session\n{info}\n{setup}\n".encode()).digest()
last = (0, 0, 0, 0, 0)
for n, *ends, stored in db.execute(
    "SELECT n, last_seq, last_event, last_point, last_source, last_mark, hash FROM batch ORDER BY n"
):
    between = lambda sql, i: db.execute(sql, (last[i], ends[i]))  # noqa: E731
    digest = hashlib.sha256(head + struct.pack("<d", n))
    for row in between("SELECT bit, name FROM mark WHERE bit >= ? AND bit < ? ORDER BY bit", 4):
        digest.update(text(2, row))
    for row in between("SELECT id, channel, unit, current_ma FROM source WHERE id > ? AND id <= ? ORDER BY id", 3):
        digest.update(text(1, row))
    for row in between("SELECT * FROM log WHERE seq > ? AND seq <= ? ORDER BY seq", 0):
        digest.update(reading(row))
    for row in between("SELECT * FROM event WHERE n > ? AND n <= ? ORDER BY n", 1):
        digest.update(text(4, row))
    for row in between("SELECT * FROM point WHERE n > ? AND n <= ? ORDER BY n", 2):
        digest.update(text(5, row))
    head = digest.digest()
    if head != stored:
        print(f"batch {n} does not fit")
        sys.exit(1)
    last = tuple(ends)
print(head.hex(), last[0])
