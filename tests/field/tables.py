"""Shapes of tables: the stale curve, and a grid, as spreadsheets, editors and people write them down."""

from collections.abc import Callable, Sequence

import numpy as np

from field.car import HERTZ, STALE
from field.shape import Built, Family
from field.writers import Cell, ods, xlsx

SHAPES = Family("table")
HZ = [float(h) for h in HERTZ]
FLOW = [round(float(f), 3) for f in STALE]
RPM = [800.0, 1200.0, 1800.0, 2600.0, 3600.0, 4800.0, 6200.0]
KPA = [20.0, 35.0, 50.0, 70.0, 85.0, 100.0]
VE = [[round(55 + 18 * np.sin(r / 2600) + 0.22 * k - 0.0006 * k * k, 2) for k in KPA] for r in RPM]
CURVE = (tuple(HZ), tuple(FLOW))
GRID = (tuple(RPM), tuple(KPA), tuple(v for row in VE for v in row))
TURNED = (tuple(KPA), tuple(RPM), tuple(v for row in zip(*VE, strict=True) for v in row))
CORNER = "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency (%)"


def curve(text: str, name: str = "airflow.csv", encoding: str = "utf-8", flags: Sequence[str] = ()) -> Built:
    return Built({name: text.encode(encoding)}, flags=tuple(flags), table=CURVE)


def grid(text: str, name: str = "efficiency.csv", *, turned: bool = False, flags: Sequence[str] = ()) -> Built:
    return Built({name: text.encode()}, flags=tuple(flags), table=TURNED if turned else GRID)


def pairs(line: Callable[[float, float], str], head: str = "Airflow sensor (Hz),Airflow (g/s)", foot: str = "") -> str:
    return "\n".join([head, *(line(h, f) for h, f in zip(HZ, FLOW, strict=True))]) + "\n" + foot


def plain(h: float, f: float) -> str:
    return f"{h:g},{f:.3f}"


def block(
    corner: str = CORNER, sep: str = ",", say: Callable[[float], str] = lambda v: f"{v:g}", rows: Sequence[int] | None = None,
    columns: Sequence[int] | None = None, axis: Callable[[float], str] = lambda v: f"{v:g}",
) -> str:  # fmt: skip
    """Write the grid as a block with its corner, rows and columns in the given order."""
    rows = list(range(len(RPM))) if rows is None else rows
    columns = list(range(len(KPA))) if columns is None else columns
    lines = [sep.join([corner, *(axis(KPA[c]) for c in columns)])]
    lines += [sep.join([axis(RPM[r]), *(say(VE[r][c]) for c in columns)]) for r in rows]
    return "\n".join(lines) + "\n"


def _comma(value: float) -> str:
    return f"{value:g}".replace(".", ",")


def _curves() -> None:
    head = "Airflow sensor (Hz),Airflow (g/s)"
    SHAPES("curve_plain", lambda: curve(pairs(plain)))
    SHAPES("curve_title", lambda: curve("Airflow curve of the third of March\n\n" + pairs(plain)))
    SHAPES("curve_titles_key_values", lambda: curve("Table;airflow\nDate;3 March\n\n" + pairs(plain).replace(",", ";")))
    SHAPES("curve_units_row", lambda: curve(pairs(plain, "Airflow sensor,Airflow\nHz,g/s")))
    SHAPES("curve_units_row_brackets", lambda: curve(pairs(plain, "Airflow sensor,Airflow\n[Hz],[g/s]")))
    SHAPES("curve_leading_empty_column", lambda: curve(pairs(lambda h, f: f",{plain(h, f)}", "," + head)))
    SHAPES("curve_trailing_separator", lambda: curve(pairs(lambda h, f: f"{plain(h, f)},", head)))
    SHAPES("curve_numbered_rows", lambda: curve(pairs(lambda h, f: f"{HZ.index(h)},{plain(h, f)}", "No.," + head)))
    SHAPES(
        "curve_decimal_comma",
        lambda: curve(pairs(lambda h, f: f"{_comma(h)};{f:.3f}".replace(".", ","), head.replace(",", ";"))),
    )
    for name, mark in (
        ("comma", ","),
        ("apostrophe", "'"),
        ("space", " "),
        ("narrow_space", " "),
        ("no_break_space", " "),
        ("underscore", "_"),
        ("curly_apostrophe", "’"),
    ):
        SHAPES(
            f"curve_thousands_{name}",
            lambda m=mark: curve(pairs(lambda h, f: f"{h:,.0f};{f:.3f}".replace(",", m), head.replace(",", ";"))),
        )
    SHAPES(
        "curve_thousands_dot",
        lambda: curve(
            pairs(lambda h, f: f"{h:,.0f}".replace(",", ".") + f";{f:.3f}".replace(".", ","), head.replace(",", ";"))
        ),
    )
    SHAPES("curve_thousands_comma_quoted", lambda: curve(pairs(lambda h, f: f'"{h:,.0f}",{f:.3f}')))
    SHAPES("curve_units_in_cells", lambda: curve(pairs(lambda h, f: f"{h:g} Hz,{f:.3f} g/s", "Airflow sensor,Airflow")))
    SHAPES(
        "curve_falling",
        lambda: curve("\n".join([head, *(plain(h, f) for h, f in zip(HZ[::-1], FLOW[::-1], strict=True))]) + "\n"),
        "read",
        "turned round, and said",
    )
    SHAPES(
        "curve_lying",
        lambda: curve(
            "Airflow sensor (Hz),"
            + ",".join(f"{h:g}" for h in HZ)
            + "\nAirflow (g/s),"
            + ",".join(f"{f}" for f in FLOW)
            + "\n"
        ),
    )
    SHAPES(
        "curve_lying_units_apart",
        lambda: curve(
            "Airflow sensor,Hz,"
            + ",".join(f"{h:g}" for h in HZ)
            + "\nAirflow,g/s,"
            + ",".join(f"{f}" for f in FLOW)
            + "\n"
        ),
    )
    SHAPES(
        "curve_lying_tabs_no_names",
        lambda: curve("Hz\t" + "\t".join(f"{h:g}" for h in HZ) + "\ng/s\t" + "\t".join(f"{f}" for f in FLOW) + "\n"),
    )
    SHAPES(
        "curve_value_first",
        lambda: curve(pairs(lambda h, f: f"{f:.3f},{h:g}", "Airflow (g/s),Airflow sensor (Hz)")),
        "either",
        "value before axis",
    )
    SHAPES(
        "curve_german",
        lambda: curve(
            pairs(lambda h, f: f"{h:g};{f:.3f}".replace(".", ","), "Luftmassenmesser Frequenz (Hz);Luftmasse (g/s)")
        ),
    )
    SHAPES("curve_no_header", lambda: curve(pairs(plain, "").lstrip()), "either", "numbers only")
    SHAPES("curve_utf16", lambda: curve(pairs(plain), encoding="utf-16"))
    SHAPES("curve_footer", lambda: curve(pairs(plain, foot="\nstored on 3 March\n")))
    SHAPES("curve_comments", lambda: curve("# stale\n# from the ECU\n" + pairs(plain)))
    SHAPES(
        "curve_duplicate_point",
        lambda: curve(pairs(plain, foot=plain(HZ[-1], FLOW[-1]) + "\n")),
        "either",
        "the last point stands twice",
    )
    SHAPES(
        "curve_two_values_one_point",
        lambda: curve(pairs(plain, foot=f"{HZ[-1]:g},99.9\n")),
        "refuse",
        "two values at one breakpoint",
    )
    SHAPES(
        "curve_one_breakpoint", lambda: curve(head + "\n2200,1.5\n"), "refuse", "one breakpoint: nothing to interpolate"
    )
    SHAPES(
        "curve_hole",
        lambda: curve(pairs(lambda h, f: f"{h:g}," + ("" if h == HZ[5] else f"{f:.3f}"))),
        "refuse",
        "a value is missing",
    )
    SHAPES(
        "curve_word_in_cell",
        lambda: curve(pairs(lambda h, f: f"{h:g}," + ("abc" if h == HZ[5] else f"{f:.3f}"))),
        "refuse",
        "a word stands where a value belongs",
    )
    SHAPES(
        "curve_two_in_one_file",
        lambda: curve(pairs(plain) + "\n" + pairs(lambda h, f: f"{h:g},{1.1 * f:.3f}")),
        "ask",
        "two curves below each other",
        hints=("--part", "two", "several", "which"),
    )
    SHAPES(
        "curve_two_side_by_side",
        lambda: curve(pairs(lambda h, f: f"{plain(h, f)},,{h:g},{1.1 * f:.3f}", head + ",," + head)),
        "ask",
        "two curves beside each other",
        hints=("--part", "two", "several", "which"),
    )
    SHAPES(
        "curve_with_notes_column",
        lambda: curve(pairs(lambda h, f: f"{plain(h, f)},{'idle' if h < 2500 else ''}", head + ",Note")),
        "either",
    )
    SHAPES(
        "curve_with_multiplier_column",
        lambda: curve(pairs(lambda h, f: f"{plain(h, f)},1.000", head + ",Factor")),
        "either",
        "a third column of numbers",
    )


def _grids() -> None:
    SHAPES("grid_plain", lambda: grid(block()))
    for name, corner in (
        ("slash", "rpm/kPa"),
        ("backslash", "rpm\\kPa"),
        ("names_slash", "Engine speed / MAP"),
        ("backslash_names", "RPM \\ MAP (kPa)"),
        ("bar", "rpm | kPa"),
        ("by", "rpm by kPa"),
        ("x", "rpm x kPa"),
        ("minus", "rpm - kPa"),
        ("value_in_corner", "VE %: rpm/kPa"),
        ("brackets", "[rpm]/[kPa]"),
        ("arrows", "rpm ↓ kPa →"),
        ("value_first", "Volumetric efficiency (%) rpm\\kPa"),
    ):
        SHAPES(f"grid_corner_{name}", lambda c=corner: grid(block(c)))
    SHAPES("grid_corner_empty", lambda: grid(block("")), "either", "no names at all")
    SHAPES(
        "grid_corner_turned",
        lambda: grid(
            "\n".join(
                [
                    ",".join(["kPa/rpm", *(f"{r:g}" for r in RPM)]),
                    *(",".join([f"{k:g}", *(f"{VE[j][i]:g}" for j in range(len(RPM)))]) for i, k in enumerate(KPA)),
                ]
            )
            + "\n",
            turned=True,
        ),
    )
    SHAPES("grid_title", lambda: grid("Volumetric efficiency, stale\n\n" + block()))
    SHAPES("grid_title_wide", lambda: grid("VE table,,,,,,\n,,,,,,\n" + block()))
    SHAPES(
        "grid_axis_names_apart",
        lambda: grid(
            ",,Manifold pressure (kPa),,,,,\n"
            + "\n".join(
                ("," if k == 0 else "Engine speed (rpm)," if k == 1 else ",") + line
                for k, line in enumerate(block("").splitlines())
            )
            + "\n"
        ),
        "read",
        "axis names in a row and a column of their own",
    )
    SHAPES("grid_column_name_above", lambda: grid(",Manifold pressure (kPa),,,,,\n" + block("Engine speed (rpm)")))
    SHAPES("grid_units_row", lambda: grid(_units_row()))
    SHAPES("grid_axes_repeated", lambda: grid(_repeated()), "read", "axes stand again at right and bottom")
    SHAPES(
        "grid_axis_repeated_right",
        lambda: grid(
            "\n".join(f"{line},{'' if k == 0 else f'{RPM[k - 1]:g}'}" for k, line in enumerate(block().splitlines()))
            + "\n"
        ),
    )
    SHAPES("grid_falling_rows", lambda: grid(block(rows=range(len(RPM) - 1, -1, -1))), "read", "turned round, and said")
    SHAPES("grid_falling_columns", lambda: grid(block(columns=range(len(KPA) - 1, -1, -1))))
    SHAPES(
        "grid_falling_both", lambda: grid(block(rows=range(len(RPM) - 1, -1, -1), columns=range(len(KPA) - 1, -1, -1)))
    )
    SHAPES("grid_percent_cells", lambda: grid(block(say=lambda v: f"{v:g}%")))
    SHAPES("grid_percent_spaced", lambda: grid(block("rpm/kPa", say=lambda v: f"{v:g} %")))
    SHAPES("grid_units_on_axes", lambda: grid(_unit_axes()))
    SHAPES("grid_decimal_comma", lambda: grid(block(sep=";", say=_comma, axis=_comma)))
    SHAPES("grid_tabs_comma", lambda: grid(block(sep="\t", say=_comma, axis=_comma)))
    SHAPES("grid_thousands_axis", lambda: grid(block(sep=";", axis=lambda v: f"{v:,.0f}")))
    SHAPES("grid_thousands_apostrophe", lambda: grid(block(sep=";", axis=lambda v: f"{v:,.0f}".replace(",", "'"))))
    SHAPES("grid_leading_empty_column", lambda: grid("\n".join("," + line for line in block().splitlines()) + "\n"))
    SHAPES("grid_leading_empty_rows", lambda: grid("\n\n\n" + block()))
    SHAPES("grid_trailing_separators", lambda: grid("\n".join(line + ",," for line in block().splitlines()) + "\n"))
    SHAPES(
        "grid_two_in_one_file",
        lambda: grid(block() + "\n" + block(say=lambda v: f"{v + 3:g}")),
        "ask",
        "two grids below each other",
        hints=("--part", "two", "several", "which"),
    )
    SHAPES(
        "grid_one_row",
        lambda: grid("\n".join(block().splitlines()[:2]) + "\n"),
        "refuse",
        "one breakpoint along the engine speed",
    )
    SHAPES("grid_hole", lambda: grid(block().replace(f",{VE[2][3]:g},", ",,", 1)), "refuse", "a cell is empty")
    SHAPES(
        "grid_long",
        lambda: grid(
            "Engine speed (rpm),Manifold pressure (kPa),Volumetric efficiency (%)\n"
            + "\n".join(f"{r:g},{k:g},{VE[i][j]:g}" for i, r in enumerate(RPM) for j, k in enumerate(KPA))
            + "\n"
        ),
        "either",
        "three columns, a cell a row",
    )
    SHAPES(
        "grid_without_row_axis",
        lambda: grid("\n".join(line.split(",", 1)[1] for line in block().splitlines()) + "\n"),
        "refuse",
        "the engine speeds are missing",
    )
    SHAPES("grid_spaces", lambda: grid(block("rpm\\kPa", sep="  ")))
    SHAPES(
        "grid_markdown",
        lambda: grid(
            "| "
            + block(sep=" | ").strip().replace("\n", " |\n| ").replace(" |\n", " |\n|" + "---|" * 7 + "\n", 1)
            + " |\n",
            "efficiency.md",
        ),
        "either",
    )
    SHAPES(
        "grid_efficiency_fraction",
        lambda: Built(
            {
                "ve.csv": block(
                    "Engine speed (rpm) / Manifold pressure (kPa) / Volumetric efficiency",
                    say=lambda v: f"{v / 100:.4f}",
                ).encode()
            },
            table=(GRID[0], GRID[1], tuple(v / 100 for v in GRID[2])),
        ),
        "either",
    )


def _unit_axes() -> str:
    head, *body = block("Engine speed / Manifold pressure").splitlines()
    first, *marks = head.split(",")
    lines = [",".join([first, *(f"{mark} kPa" for mark in marks)])]
    lines += [",".join([f"{line.split(',', 1)[0]} rpm", line.split(",", 1)[1]]) for line in body]
    return "\n".join(lines) + "\n"


def _units_row() -> str:
    head, *body = block("rpm/MAP").splitlines()
    return "\n".join([head, "rpm" + ",kPa" * len(KPA), *body]) + "\n"


def _repeated() -> str:
    head, *body = block().splitlines()
    marks = head.split(",")[1:]
    lines = [f"{head},", *(f"{line},{line.split(',')[0]}" for line in body), "," + ",".join(marks) + ","]
    return "\n".join(lines) + "\n"


def _books() -> None:
    rows: list[list[Cell]] = [
        ["Airflow sensor (Hz)", "Airflow (g/s)"],
        *([h, f] for h, f in zip(HZ, FLOW, strict=True)),
    ]
    cells: list[list[Cell]] = [[CORNER, *KPA], *([r, *VE[i]] for i, r in enumerate(RPM))]

    def book(
        data: bytes, name: str = "table.xlsx", table: tuple[tuple[float, ...], ...] = CURVE, flags: Sequence[str] = ()
    ) -> Built:
        return Built({name: data}, flags=tuple(flags), table=table)

    notes: list[list[Cell]] = [["Notes"], ["from the ECU"]]
    SHAPES("book_curve", lambda: book(xlsx({"Airflow": rows})))
    SHAPES("book_grid", lambda: book(xlsx({"VE": cells}), table=GRID))
    SHAPES(
        "book_grid_offset",
        lambda: book(xlsx({"VE": [[], [None, "VE, stale"], [], *([None, *row] for row in cells)]}), table=GRID),
    )
    SHAPES(
        "book_grid_percent_cells",
        lambda: book(
            xlsx(
                {
                    "VE": [
                        cells[0],
                        *([row[0], *(float(v) / 100 for v in row[1:] if isinstance(v, float))] for row in cells[1:]),
                    ]
                },
                dict.fromkeys(range(1, len(KPA) + 1), "1"),
            ),
            table=GRID,
        ),
        "read",
        "cells formatted as percent hold fractions under a % heading",
    )
    SHAPES("book_notes_first", lambda: book(xlsx({"Notes": notes, "Airflow": rows})))
    SHAPES(
        "book_two_tables",
        lambda: book(xlsx({"Airflow": rows, "VE": cells})),
        "ask",
        "which of two sheets",
        hints=("--part", "Airflow"),
    )
    SHAPES("book_part", lambda: book(xlsx({"Airflow": rows, "VE": cells}), flags=("--part", "Airflow")))
    SHAPES("book_text_cells", lambda: book(xlsx({"Airflow": [[str(cell) for cell in row] for row in rows]})))
    SHAPES("book_ods", lambda: book(ods({"Airflow": rows}), "table.ods"))


_curves()
_grids()
_books()
