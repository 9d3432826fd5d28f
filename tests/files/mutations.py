"""Damage done to files on purpose, with a seed: what a reader must survive."""

import gzip
import random
from collections.abc import Callable

Mutation = Callable[[bytes, random.Random], bytes]


def cut(content: bytes, draw: random.Random) -> bytes:
    return content[: draw.randrange(len(content) + 1)]


def lose_a_part(content: bytes, draw: random.Random) -> bytes:
    start = draw.randrange(len(content) + 1)
    return content[:start] + content[start + draw.randrange(1, 200) :]


def flip_bytes(content: bytes, draw: random.Random) -> bytes:
    damaged = bytearray(content)
    for _ in range(draw.randrange(1, 20)):
        if damaged:
            damaged[draw.randrange(len(damaged))] = draw.randrange(256)
    return bytes(damaged)


def flip_in_the_head(content: bytes, draw: random.Random) -> bytes:
    damaged = bytearray(content)
    for _ in range(draw.randrange(1, 6)):
        if damaged:
            damaged[draw.randrange(min(len(damaged), 400))] = draw.randrange(256)
    return bytes(damaged)


def double_a_line(content: bytes, draw: random.Random) -> bytes:
    lines = content.split(b"\n")
    at = draw.randrange(len(lines))
    return b"\n".join(lines[:at] + [lines[at]] * draw.randrange(2, 5) + lines[at + 1 :])


def lose_lines(content: bytes, draw: random.Random) -> bytes:
    lines = content.split(b"\n")
    return b"\n".join(line for line in lines if draw.random() > 0.2)


def shuffle_lines(content: bytes, draw: random.Random) -> bytes:
    lines = content.split(b"\n")
    draw.shuffle(lines)
    return b"\n".join(lines)


def change_delimiter(content: bytes, draw: random.Random) -> bytes:
    old, new = draw.choice(b",;\t. "), draw.choice(b",;\t| :\"'#\n\r")
    return content.replace(bytes([old]), bytes([new]), draw.choice([-1, 3, 50]))


def giant_cell(content: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(content) + 1)
    filler = draw.choice([b"9", b"x", b" ", b'"', b"(", b"1,", b"\xff"])
    return content[:at] + filler * draw.choice([300, 20_000, 200_000]) + content[at:]


def zero_bytes(content: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(content) + 1)
    return content[:at] + bytes(draw.choice([1, 2, 500])) + content[at:]


def odd_numbers(content: bytes, draw: random.Random) -> bytes:
    new = draw.choice(
        [b"NaN", b"inf", b"-1e308", b"1e999", b"0x1F", b"1_000", b"--5", b"+", b"", b"1,2,3", b"12:61:99"]
    )
    return content.replace(draw.choice([b"0", b"1", b"5", b"90"]), new, draw.choice([1, 5, -1]))


def other_encoding(content: bytes, draw: random.Random) -> bytes:
    text = content.decode("utf-8", errors="replace")
    return text.encode(draw.choice(["utf-16", "utf-16-be", "utf-32", "utf-7"]), errors="replace")


def wrap(content: bytes, draw: random.Random) -> bytes:
    for _ in range(draw.randrange(1, 6)):
        content = gzip.compress(content, 1)
    return content if draw.random() < 0.5 else flip_bytes(content, draw)


def nest(content: bytes, draw: random.Random) -> bytes:
    deep = draw.choice([b'"', b"(", b"[", b"{", b"<a>"]) * 5000
    at = draw.randrange(len(content) + 1)
    return content[:at] + deep + content[at:]


MUTATIONS: tuple[Mutation, ...] = (
    cut,
    lose_a_part,
    flip_bytes,
    flip_in_the_head,
    double_a_line,
    lose_lines,
    shuffle_lines,
    change_delimiter,
    giant_cell,
    zero_bytes,
    odd_numbers,
    other_encoding,
    wrap,
    nest,
)


def mutate(content: bytes, seed: int) -> tuple[bytes, str]:
    """Damage a file in one to three ways; also say which."""
    draw = random.Random(seed)
    done = []
    for _ in range(draw.choice([1, 1, 2, 3])):
        mutation = draw.choice(MUTATIONS)
        content = mutation(content, draw)
        done.append(mutation.__name__)
    return content, " then ".join(done)
