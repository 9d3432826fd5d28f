"""Shapes of containers: the standard log in other encodings, archives, workbooks, data files and layouts."""

import gzip
import io
import tarfile
from collections.abc import Sequence
from dataclasses import replace

from field.car import drive
from field.shape import Built, Col, Family, edit, extra, log, mapped, roles, round_, rows, std, text
from field.writers import zipped

SHAPES = Family("container")
N = drive().rows
FRACTIONS = "throttle stft ltft purge"


def held(name: str, data: bytes, cols: Sequence[Col] | None = None, flags: Sequence[str] = ()) -> Built:
    return Built({name: data}, roles(cols or std()), tuple(flags))


def _text() -> None:
    for name, sep in (
        ("semicolon", ";"),
        ("tab", "\t"),
        ("bar", "|"),
        ("comma_space", ", "),
        ("space", " "),
        ("spaces", "   "),
        ("caret", "^"),
        ("tilde", "~"),
        ("semicolon_space", "; "),
        ("unit_separator", "\x1f"),
    ):
        spaces = not sep.strip(" ")
        cols = [replace(c, name=c.name.replace(" ", "_")) for c in std()] if spaces else std()
        SHAPES(f"sep_{name}", lambda s=sep, c=cols, h=_tight if spaces else round_: log(c, sep=s, head=h))
    SHAPES("fixed_width", lambda: held("drive.txt", _fixed(std()).encode()))
    SHAPES("decimal_comma_semicolon", lambda: log(std(), sep=";", decimal=","))
    SHAPES("decimal_comma_tab", lambda: log(std(), sep="\t", decimal=","))
    SHAPES("decimal_comma_quoted", lambda: log(std(), decimal=",", quote='"'))
    SHAPES("quoted", lambda: log(std(), quote='"'))
    SHAPES("single_quotes", lambda: log(std(), quote="'"))
    for encoding in ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252", "utf-32", "cp437"):
        SHAPES(f"encoding_{encoding}", lambda e=encoding: log(std(), encoding=e))
    SHAPES("utf16_tabs_comma", lambda: log(std(), encoding="utf-16", sep="\t", decimal=","))
    for name, eol in (("crlf", "\r\n"), ("cr", "\r"), ("blank_lines_between", "\n\n"), ("crcrlf", "\r\r\n")):
        SHAPES(f"eol_{name}", lambda e=eol: log(std(), eol=e))
    SHAPES("last_line_cut", lambda: held("drive.csv", text(std()).encode()[:-31]))
    SHAPES("nul_tail", lambda: held("drive.csv", text(std()).encode() + b"\0" * 4096))
    SHAPES(
        "nul_in_middle",
        lambda: held("drive.csv", _nul(text(std()).encode())),
        "either",
        "a block of zeros where the card was full",
    )
    SHAPES(
        "thousands_spaces",
        lambda: log(edit(std(), "rpm hz", mapped(lambda k, cell: f"{float(cell):,.2f}".replace(",", " "))), sep=";"),
    )
    SHAPES(
        "thousands_apostrophe",
        lambda: log(edit(std(), "rpm hz", mapped(lambda k, cell: f"{float(cell):,.2f}".replace(",", "'"))), sep=";"),
    )
    SHAPES(
        "thousands_dots_comma",
        lambda: log(
            edit(std(), "rpm hz", mapped(lambda k, cell: f"{float(cell):,.2f}".translate(str.maketrans(",.", ".,")))),
            sep=";",
            decimal=",",
        ),
    )
    SHAPES("minus_sign_unicode", lambda: log(edit(std(), "stft ltft", mapped(lambda k, cell: cell.replace("-", "−")))))
    SHAPES("extension_dat", lambda: held("drive.dat", text(std()).encode()))
    SHAPES("extension_none", lambda: held("drive", text(std()).encode()))
    SHAPES("extension_xls_but_text", lambda: held("drive.xls", text(std(), sep="\t").encode()))
    SHAPES("extension_log", lambda: held("drive 2026-03-03 (1).log", text(std(), sep=";").encode()))
    SHAPES("transposed", lambda: held("drive.csv", _transposed(std()).encode()))
    SHAPES("transposed_tabs", lambda: held("drive.txt", _transposed(std(), "\t").encode()))
    SHAPES("markdown", lambda: held("drive.md", _markdown(std()).encode()))
    SHAPES("html", lambda: held("drive.html", _html(std()).encode()), "either", "a page with one table")
    SHAPES("latex_like_percent_comment", lambda: log(std(), titles=("% exported", "% 16 channels")))
    SHAPES("arff_like", lambda: held("drive.arff", _arff(std()).encode()), "either")


def _tight(name: str, unit: str) -> str:
    return f"{name}({unit})" if unit else name


def _fixed(cols: Sequence[Col]) -> str:
    widths = [max(len(round_(c.name, c.unit)), *(len(cell) for cell in c.cells)) + 2 for c in cols]
    lines = ["".join(round_(c.name, c.unit).rjust(w) for c, w in zip(cols, widths, strict=True))]
    lines += [
        "".join(cell.rjust(w) for cell, w in zip(row, widths, strict=True))
        for row in zip(*(c.cells for c in cols), strict=True)
    ]
    return "\n".join(lines) + "\n"


def _nul(data: bytes) -> bytes:
    middle = len(data) // 2
    return data[:middle] + b"\0" * 2000 + data[middle + 2000 :]


def _transposed(cols: Sequence[Col], sep: str = ",") -> str:
    return "\n".join(sep.join((round_(c.name, c.unit), *c.cells)) for c in cols) + "\n"


def _markdown(cols: Sequence[Col]) -> str:
    lines = ["| " + " | ".join(round_(c.name, c.unit) for c in cols) + " |", "|" + "---|" * len(cols)]
    return (
        "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in zip(*(c.cells for c in cols), strict=True))])
        + "\n"
    )


def _html(cols: Sequence[Col]) -> str:
    body = "".join(
        "<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>\n"
        for row in zip(*(c.cells for c in cols), strict=True)
    )
    return (
        "<html><body><table><tr>"
        + "".join(f"<th>{round_(c.name, c.unit)}</th>" for c in cols)
        + f"</tr>\n{body}</table></body></html>"
    )


def _arff(cols: Sequence[Col]) -> str:
    head = "@relation drive\n" + "".join(f"@attribute '{round_(c.name, c.unit)}' numeric\n" for c in cols) + "@data\n"
    return head + text(cols, header=False)


def _packed() -> None:
    plain = text(std()).encode()
    SHAPES("gz", lambda: held("drive.csv.gz", gzip.compress(plain, mtime=0)))
    SHAPES("zip", lambda: held("drive.zip", zipped({"drive.csv": plain})))
    SHAPES(
        "zip_with_readme",
        lambda: held("drive.zip", zipped({"readme.txt": b"Logged on the third.\n", "logs/drive.csv": plain})),
    )
    SHAPES(
        "zip_two_logs",
        lambda: held("drive.zip", zipped({"a.csv": plain, "b.csv": text(rows(std(), range(2000))).encode()})),
        "ask",
        "which of two",
        hints=("--part", "a.csv"),
    )
    SHAPES(
        "zip_part",
        lambda: held(
            "drive.zip",
            zipped({"a.csv": plain, "b.csv": text(rows(std(), range(2000))).encode()}),
            flags=("--part", "a.csv"),
        ),
    )
    SHAPES("zip_of_gz", lambda: held("drive.zip", zipped({"drive.csv.gz": gzip.compress(plain, mtime=0)})), "either")
    SHAPES("tar_gz", lambda: held("drive.tar.gz", gzip.compress(_tar("drive.csv", plain), mtime=0)), "either")
    SHAPES("folder_one", lambda: Built({"day/drive.csv": plain}, roles(std()), folder=True), "either")
    SHAPES(
        "folder_with_notes",
        lambda: Built({"drive.csv": plain, "notes.txt": b"Two pulls, tank full.\n"}, roles(std()), folder=True),
        "either",
    )


def _tar(name: str, data: bytes) -> bytes:
    buffer = io.BytesIO()
    with tarfile.open(fileobj=buffer, mode="w") as archive:
        info = tarfile.TarInfo(name)
        info.size = len(data)
        archive.addfile(info, io.BytesIO(data))
    return buffer.getvalue()


_text()
_packed()
SHAPES("extra_text_column", lambda: log([*std(), extra("GPS", ["N48.1 E11.6"] * N)]))
