"""Inputs made of valid ones for `fuzzing.py`: values of a JSON text, lines of a table or of YAML, members of a
ZIP archive, bytes. A seed gives the same input again; none is longer than asked for."""

import io
import json
import zipfile
from random import Random
from typing import Any

from tests.trust.spoiling import NASTY_NUMBERS, NASTY_TEXTS, nested, places

TOKENS = [text.encode("utf-8", "replace") for text in NASTY_TEXTS if len(text) < 40] + [
    b"null", b"true", b"-1", b"1e400", b"0x7fffffff", b"9" * 40, b'"', b"'", b"{", b"[", b"}", b"]", b":", b",", b";",
    b"#", b"&a", b"*a", b"!!python/object:os.system", b"<<", b"---", b"|", b">", b"\\ud800", b"\xff\xfe", b"\0",
    b"<!DOCTYPE a [<!ENTITY b 'c'>]>", b"&b;", b"\x1b]0;x\x07", b"file:///etc/passwd", b"..%2f", b"\xef\xbb\xbf",
]  # fmt: skip
WORDS = [
    b"\xff\xff\xff\xff",
    b"\0\0\0\0",
    b"\xff\xff\xff\x7f",
    b"\0\0\0\x80",
    b"\x01\0\0\0",
    b"\xfe\xff\xff\xff",
]
ENTRIES = ["../escaped", "/tmp/escaped", "a/../../b", "..\\b", "C:\\b", "session.json", "manifest.json", "recording.wav",
           "model/am/final.mdl", "model", "con", "é", "a" * 300, "a/b", "x/", "."]  # fmt: skip


def mutated(data: bytes, kind: str, most: int, seed: int) -> bytes:
    """The input changed in one to four places, as `kind` ("json", "lines", "zip", "bytes") allows."""
    random = Random(seed)
    change = {"json": _json, "lines": _lines, "zip": _zip}.get(kind, _bytes)
    for _ in range(random.choice([1, 1, 2, 4])):
        data = (change if random.random() < 0.8 else _bytes)(data, random)
    return data[:most]


def _value(random: Random) -> Any:
    return random.choice([
        random.choice(NASTY_NUMBERS), random.choice(NASTY_TEXTS), random.choice(NASTY_TEXTS),
        random.randint(-10, 10), random.uniform(-1e3, 1e3), [], {}, [[]], {"": {}}, nested(random.choice([2, 60, 180])),
    ])  # fmt: skip


def _json(data: bytes, random: Random) -> bytes:
    try:
        whole = json.loads(data)
        spots = list(places(whole))
    except (ValueError, RecursionError):
        return _bytes(data, random)
    if not spots or random.random() < 0.01:
        return json.dumps(_value(random)).encode()
    inside, key = random.choice(spots)
    how = random.random()
    if how < 0.5:
        inside[key] = _value(random)
    elif how < 0.65:
        other, there = random.choice(spots)
        inside[key] = json.loads(json.dumps(other[there]))
    elif how < 0.8:
        del inside[key]
    elif isinstance(inside, list):
        inside.insert(key, _value(random))
    else:
        inside[random.choice([*NASTY_TEXTS, "event", "at", "call", "version"])] = _value(random)
    return json.dumps(whole).encode()


def _lines(data: bytes, random: Random) -> bytes:
    lines = data.split(b"\n")
    at = random.randrange(len(lines))
    line = lines[at]
    how = random.randrange(7)
    if how == 0:
        lines.insert(random.randrange(len(lines) + 1), line)
    elif how == 1:
        del lines[at]
    elif how == 2:
        lines[at] = b" " * random.randrange(8) + line.lstrip()
    elif how == 3:
        other = random.choice(lines)
        lines[at] = line[: line.find(b":") + 1] + other[other.find(b":") + 1 :]
    elif how == 4:
        cut = random.randrange(len(line) + 1)
        lines[at] = line[:cut] + random.choice(TOKENS) + line[cut + random.choice([0, 1, 4]) :]
    else:
        signs = [place + 1 for place, sign in enumerate(line) if sign in b":,; "] or [0]
        cut = random.choice(signs)
        lines[at] = (
            line[:cut] + random.choice([b"", b" "]) + random.choice(TOKENS) + random.choice([b"", line[cut:]])
        )
    return b"\n".join(lines)


def _zip(data: bytes, random: Random) -> bytes:
    """Packed anew with a member renamed, doubled, left out or spoilt; its sums are then the archive's own."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as pack:
            members = [(info.filename, pack.open(info).read(200_000)) for info in pack.infolist()[:20]]
    except Exception:
        return _bytes(data, random)
    if not members:
        return _bytes(data, random)
    at = random.randrange(len(members))
    name, content = members[at]
    how = random.randrange(5)
    if how == 0:
        members[at] = random.choice(ENTRIES), content
    elif how == 1:
        members.append((random.choice([name, *ENTRIES]), content))
    elif how == 2:
        del members[at]
    else:
        members[at] = name, (_json if how == 3 else _bytes)(content, random)
    out = io.BytesIO()
    method = random.choice([zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2])
    with zipfile.ZipFile(out, "w", method) as pack:
        for name, content in members:
            pack.writestr(zipfile.ZipInfo(name), content, method)
    return out.getvalue()


def _bytes(data: bytes, random: Random) -> bytes:
    place = random.randrange(len(data) + 1)
    piece = random.choice(
        [random.choice(WORDS), random.choice(TOKENS), random.randbytes(random.randrange(1, 9))]
    )
    how = random.randrange(6)
    if how == 0:
        return data[:place] + piece + data[place:]
    if how == 1:
        return data[:place] + data[place + random.randrange(1, 65) :]
    if how == 2:
        return data[:place] + data[max(0, place - 64) :]
    if how == 3 and random.random() < 0.3:
        return data[:place]
    if how == 4 and place < len(data):
        return data[:place] + bytes([data[place] ^ 1 << random.randrange(8)]) + data[place + 1 :]
    return data[:place] + piece + data[place + len(piece) :]
