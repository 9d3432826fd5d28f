"""Shapes that several hands of the trade leave behind at once: retyped, pasted, filtered, merged and printed logs."""

import html
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from field.car import drive
from field.languages import LANGUAGES
from field.shape import (
    Built,
    Col,
    Family,
    cells,
    col,
    edit,
    extra,
    log,
    mapped,
    raw,
    roles,
    round_,
    rows,
    std,
    text,
)

SHAPES = Family("trade")
N = drive().rows
FURTHER = {
    "danish": "Tid|Motoromdrejningstal|Luftmassemåler frekvens|Luftmasse|Indsugningstryk|Spjæld|Hastighed|"
    "Kølevandstemperatur|Indsugningslufttemperatur|Brændstofsystem status|Lambda ønsket|Lambda målt|"
    "Brændstoftrim kort|Brændstoftrim lang|Beholderventil|Indsprøjtningstid",
    "norwegian": "Tid|Motorturtall|Luftmassemåler frekvens|Luftmasse|Innsugstrykk|Spjeld|Hastighet|"
    "Kjølevæsketemperatur|Innsugslufttemperatur|Drivstoffsystem status|Lambda ønsket|Lambda målt|"
    "Drivstofftrim kort|Drivstofftrim lang|Kanisterventil|Innsprøytningstid",
    "finnish": "Aika|Moottorin kierrosnopeus|Ilmamassamittari taajuus|Ilmavirta|Imusarjan paine|Kaasuläppä|Nopeus|"
    "Jäähdytysnesteen lämpötila|Imuilman lämpötila|Polttoainejärjestelmän tila|Lambda tavoite|Lambda mitattu|"
    "Lyhyt polttoainekorjaus|Pitkä polttoainekorjaus|Säiliön tuuletus|Ruiskutusaika",
    "hungarian": "Idő|Motorfordulatszám|Légtömegmérő frekvencia|Légtömeg|Szívócső nyomás|Fojtószelep|Sebesség|"
    "Hűtővíz hőmérséklet|Szívott levegő hőmérséklet|Üzemanyagrendszer állapot|Lambda előírt|Lambda mért|"
    "Rövid távú korrekció|Hosszú távú korrekció|Tankszellőztetés|Befecskendezési idő",
    "romanian": "Timp|Turație motor|Frecvență debitmetru|Debit aer|Presiune admisie|Clapetă|Viteză|"
    "Temperatură lichid răcire|Temperatură aer admisie|Stare sistem combustibil|Lambda cerut|Lambda măsurat|"
    "Corecție termen scurt|Corecție termen lung|Purjare canistră|Timp injecție",
    "turkish": "Zaman|Motor devri|Hava akış sensörü frekans|Hava debisi|Manifold basıncı|Gaz kelebeği|Hız|"
    "Soğutma suyu sıcaklığı|Emme havası sıcaklığı|Yakıt sistemi durumu|Lambda hedef|Lambda ölçülen|"
    "Kısa dönem yakıt|Uzun dönem yakıt|Kanister|Enjeksiyon süresi",
    "russian": "Время|Обороты двигателя|Частота ДМРВ|Массовый расход воздуха|Давление во впуске|Дроссель|Скорость|"
    "Температура охлаждающей жидкости|Температура впуска|Состояние топливной системы|Лямбда заданная|"
    "Лямбда измеренная|Краткосрочная коррекция|Долгосрочная коррекция|Продувка адсорбера|Время впрыска",
    "greek": "Χρόνος|Στροφές κινητήρα|Συχνότητα μετρητή αέρα|Ροή αέρα|Πίεση εισαγωγής|Πεταλούδα|Ταχύτητα|"
    "Θερμοκρασία ψυκτικού|Θερμοκρασία εισαγωγής|Κατάσταση καυσίμου|Λάμδα στόχος|Λάμδα μέτρηση|"
    "Βραχυπρόθεσμη διόρθωση|Μακροπρόθεσμη διόρθωση|Κάνιστρο|Χρόνος ψεκασμού",
}  # from memory


def named(words: str, *, units: bool = True) -> list[Col]:
    """Give the usual columns under other names, parted by bars in their order."""
    names = words.split("|")
    return [replace(c, name=name, unit=c.unit if units else "") for c, name in zip(std(), names, strict=True)]


def _languages() -> None:
    pages = {"danish": "cp1252", "norwegian": "cp1252", "finnish": "cp1252", "hungarian": "cp1250",
             "romanian": "utf-8", "turkish": "cp1254", "russian": "cp1251", "greek": "cp1253"}  # fmt: skip
    for language, page in pages.items():
        SHAPES(language, lambda w=FURTHER[language], p=page: log(named(w), sep=";", decimal=",", encoding=p), "either",
               f"{language} names, as a spreadsheet there saves them")  # fmt: skip
    for language, page in (("polish", "cp852"), ("czech", "cp1250"), ("polish", "iso8859-2"), ("german", "cp850"),
                           ("french", "mac-roman"), ("german", "mac-roman")):  # fmt: skip
        SHAPES(f"{language}_{page}", lambda w=LANGUAGES[language], p=page: log(named(w), sep=";", decimal=",", encoding=p),
               "either", f"{language} in {page}")  # fmt: skip
        SHAPES(f"{language}_{page}_bare", lambda w=LANGUAGES[language], p=page: log(named(w, units=False), sep=";",
               decimal=",", encoding=p), "either", f"{language} in {page}, no units")  # fmt: skip


def _numbers() -> None:
    def change(name: str, keys: str, do: Callable[[str], str], wants: str = "read", **more: object) -> None:
        SHAPES(name, lambda: log(edit(std(), keys, mapped(lambda k, cell: do(cell))), **more), wants)  # type: ignore[arg-type]

    change("negative_in_brackets", "*", lambda c: f"({c[1:]})" if c.startswith("-") else c)
    change("negative_behind", "*", lambda c: f"{c[1:]}-" if c.startswith("-") else c, "either")
    change("leading_zeros", "*", lambda c: c.zfill(8) if not c.startswith("-") else c)
    change("no_leading_zero", "*", lambda c: c.replace("0.", ".", 1) if c.lstrip("-").startswith("0.") else c)
    change("formula_text", "*", lambda c: f'="{c}"')
    change("text_mark", "*", lambda c: f"'{c}")
    change("exponent_comma", "*", lambda c: f"{float(c):.4E}".replace(".", ","), sep=";")
    change("fortran_exponent", "*", lambda c: f"{float(c):.5E}".replace("E", "D"), "either")
    change("tilde_before", "lam", lambda c: f"~{c}", "either")
    change("trailing_point", "rpm coolant hz", lambda c: f"{float(c):.0f}.")
    change("units_after_all", "rpm", lambda c: f"{float(c):.0f} rpm")
    change("no_break_space_end", "*", lambda c: f"{c}\u00a0")
    change("full_width", "coolant", lambda c: c.translate({48 + k: 0xFF10 + k for k in range(10)}), "either")
    SHAPES("two_decimal_signs", lambda: log(edit(std(), "lam cmd stft ltft", mapped(lambda k, c: c.replace(".", ","))),
           sep=";"), "read", "decimal comma in some columns, point in others")  # fmt: skip
    SHAPES("thousands_in_time", lambda: log(std(replace(col("time", "Time", "ms", lambda t: 1000 * t, 0),
           cells=tuple(f"{int(1000 * t):,}".replace(",", ".") for t in drive()["time"]))), sep=";"))  # fmt: skip


def _pasted() -> None:
    def framed(before: str, after: str, name: str = "drive.txt", **more: object) -> Built:
        return raw(name, before + text(std(), **more) + after, roles=roles(std()))  # type: ignore[arg-type]

    SHAPES("mail_quoted", lambda: raw("drive.txt", "".join(f"> {line}\n" for line in text(std()).splitlines()),
           roles=roles(std())), "either")  # fmt: skip
    SHAPES("forum_code", lambda: framed("Here is my log, what do you think?\n\n[code]\n", "[/code]\n\nThanks!\n"))
    SHAPES("fenced", lambda: framed("```csv\n", "```\n"))
    SHAPES("latex_table", lambda: raw("drive.tex", "\\begin{tabular}{l}\n" + "".join(
        line + " \\\\\n" for line in text(std(), sep=" & ").splitlines()) + "\\end{tabular}\n", roles=roles(std())), "either")  # fmt: skip
    SHAPES("ruled_ascii", lambda: raw("drive.txt", _ruled(std()), roles=roles(std())), "either")
    SHAPES("console_dashes", lambda: raw("drive.txt", _console(std()), roles=roles(std())))
    SHAPES("html_table_classes", lambda: raw("drive.xls", _web(std()), roles=roles(std())), "either")
    SHAPES("section_marks", lambda: framed("[Header]\nDevice=Logger 3\nChannels=16\n[Data]\n", "[End]\n"))
    SHAPES("double_blank_head", lambda: framed("\n\n\n;;;\nLog of 3 March;;;\n\n", "", sep=";"))
    SHAPES(
        "page_breaks",
        lambda: raw("drive.txt", _pages(std()), roles=roles(std())),
        "read",
        "a header again on each page",
    )
    SHAPES("line_numbers", lambda: raw("drive.csv", "".join(f"{k}: {line}\n" for k, line in
           enumerate(text(std()).splitlines())), roles=roles(std())), "either")  # fmt: skip
    SHAPES("ends_with_end", lambda: framed("", "END OF LOG\n"))
    SHAPES("ends_with_totals", lambda: framed("", "\nRows,5500\nDuration,275 s\n"))
    SHAPES("sql_inserts", lambda: raw("drive.sql", "".join(f"INSERT INTO log VALUES ({line});\n" for line in
           text(std()).splitlines()[1:]), roles={}), "ask")  # fmt: skip
    SHAPES("names_as_list", lambda: framed("# channels: " + ", ".join(round_(c.name, c.unit) for c in std()) + "\n", "",
           header=False))  # fmt: skip
    SHAPES("numbered_key", lambda: framed("".join(f"# {k + 1} = {round_(c.name, c.unit)}\n" for k, c in enumerate(std())),
           "", header=False), "either", "a legend of the columns above, no header")  # fmt: skip


def _ruled(cols: Sequence[Col]) -> str:
    widths = [max(len(round_(c.name, c.unit)), *map(len, c.cells)) for c in cols]
    rule = "+" + "+".join("-" * (w + 2) for w in widths) + "+\n"
    body = [[round_(c.name, c.unit) for c in cols], *zip(*(c.cells for c in cols), strict=True)]
    lines = ["|" + "|".join(f" {cell:>{w}} " for cell, w in zip(row, widths, strict=True)) + "|\n" for row in body]
    return rule + lines[0] + rule + "".join(lines[1:]) + rule


def _console(cols: Sequence[Col]) -> str:
    widths = [max(len(c.name), len(c.unit), *map(len, c.cells)) for c in cols]
    body = [[c.name for c in cols], [c.unit or "-" for c in cols], ["-" * w for w in widths],
            *zip(*(c.cells for c in cols), strict=True)]  # fmt: skip
    return "".join("  ".join(f"{cell:>{w}}" for cell, w in zip(row, widths, strict=True)) + "\n" for row in body)


def _web(cols: Sequence[Col]) -> str:
    head = "".join(f'<th class="c">{html.escape(round_(c.name, c.unit))}</th>' for c in cols)
    body = "".join("<tr>" + "".join(f'<td style="x">{cell}</td>' for cell in row) + "</tr>\n"
                   for row in zip(*(c.cells for c in cols), strict=True))  # fmt: skip
    return f'<html><body><p>Log</p><table border="1"><tr>{head}</tr>\n{body}</table></body></html>'


def _pages(cols: Sequence[Col]) -> str:
    lines = text(cols, sep="\t").splitlines()
    out: list[str] = []
    for page, start in enumerate(range(1, len(lines), 60)):
        out += [f"Page {page + 1}", "", lines[0], *lines[start : start + 60], "\f"]
    return "\n".join(out) + "\n"


def _columns() -> None:
    def with_flags() -> list[Col]:
        out: list[Col] = []
        for c in std():
            out += [c] if c.key == "time" else [c, extra(f"{c.name} valid", ["1"] * N, key="flag")]
        return out

    def with_age() -> list[Col]:
        out: list[Col] = []
        for c in std():
            out += [c] if c.key == "time" else [c, extra(f"{c.name} age", [f"{k % 4 * 13}" for k in range(N)], "ms")]
        return out

    def min_max() -> list[Col]:
        out: list[Col] = []
        for c in std():
            if c.key in ("time", "status"):
                out.append(c)
                continue
            v = np.array([float(cell) for cell in c.cells])
            out += [extra(f"{c.name} min", cells(v - 0.4, 3), c.unit), replace(c, name=f"{c.name} avg"),
                    extra(f"{c.name} max", cells(v + 0.4, 3), c.unit)]  # fmt: skip
        return out

    SHAPES("valid_flags", lambda: log(with_flags()))
    SHAPES("ages", lambda: log(with_age()))
    SHAPES("min_avg_max", lambda: log(min_max()))
    SHAPES("numbered_names", lambda: log([replace(c, name=f"{k:02d} {c.name}") for k, c in enumerate(std())]))
    SHAPES("lettered_names", lambda: log([replace(c, name=f"CH{k}:{c.name}") for k, c in enumerate(std())]))
    SHAPES("device_in_names", lambda: log([replace(c, name=f"ECU1.Engine.{c.name}") for c in std()]))
    SHAPES("device_behind", lambda: log([replace(c, name=f"{c.name} @ECU") for c in std()]))
    SHAPES("pid_in_names", lambda: log([replace(c, name=f"{c.name} [PID 0x{k + 4:02X}]") for k, c in enumerate(std())],
           head=lambda n, u: f"{n} ({u})" if u else n))  # fmt: skip
    SHAPES("newline_in_names", lambda: log([replace(c, name=c.name.replace(" ", "\n")) for c in std()],
           head=lambda n, u: f'"{n}\n({u})"'), "read", "header cells of two lines, as spreadsheets wrap them")  # fmt: skip
    SHAPES("underscores_double", lambda: log([replace(c, name=c.name.replace(" ", "__").upper()) for c in std()]))
    SHAPES("merged_banks", _merged_banks, banks=2)
    SHAPES("same_names_two_banks", _same_names, "either", banks=2)
    SHAPES("gps_beside", lambda: log([*std(), extra("Latitude", cells(48 + drive()["time"] / 1e4, 6), "°"),
           extra("Longitude", cells(11 + drive()["time"] / 1e4, 6), "°"), extra("Altitude", cells(500 + 0 * drive()["time"], 1), "m"),
           extra("GPS speed", cells(drive()["speed"] * 1.03, 1), "km/h"), extra("Heading", ["120"] * N, "°")]))  # fmt: skip
    SHAPES(
        "two_speeds_two_units",
        lambda: log([*std(), extra("Vehicle speed mph", cells(drive()["speed"] / 1.609344, 1), "mph")]),
    )
    SHAPES("row_number_first", lambda: log([extra("No.", [str(k + 1) for k in range(N)]), *std()]))
    SHAPES("text_note_last", lambda: log([*std(), extra("Remark", ["pull" if k == 3900 else "" for k in range(N)])]))
    SHAPES("reversed_columns", lambda: log(std()[::-1]))
    SHAPES(
        "rows_swapped_pairs", lambda: log(rows(std(), [k ^ 1 for k in range(N)])), "either", "every two rows swapped"
    )
    SHAPES("unsorted_halves", lambda: log(rows(std(), [*range(N // 2, N), *range(N // 2)])), "either")
    SHAPES("every_third_row_only_time", lambda: log([c if c.key == "time" else replace(c, cells=tuple(
        "" if k % 3 else cell for k, cell in enumerate(c.cells))) for c in std()]), loose=True, keep=0.4)  # fmt: skip
    SHAPES("two_rows_a_moment", lambda: log(_halves()), "read", "each moment on two rows, half of the channels on each")
    SHAPES("clock_a_group", _clock_a_group, "read", "two groups of channels, each with a clock of its own")
    SHAPES("clock_a_group_offset", lambda: _clock_a_group(3600.0), "either", "the clocks of two groups begin apart")


def _merged_banks() -> Built:
    cols = std(banks=2)
    high = ["Bank 1" if c.key == "stft" else "Bank 2" if c.key == "stft2" else "" for c in cols]
    low = [replace(c, name=c.name.replace(" bank 1", "").replace(" bank 2", "")) for c in cols]
    body = ",".join(high) + "\n" + text(low)
    return raw("drive.csv", body, roles={})


def _same_names() -> Built:
    cols = [replace(c, name=c.name.replace(" bank 1", "").replace(" bank 2", "")) for c in std(banks=2)]
    return log(cols)


def _halves() -> list[Col]:
    cols, out = std(), []
    late = {"coolant", "iat", "status", "purge", "speed", "inj", "throttle"}
    for c in cols:
        spread = [
            cell if c.key == "time" or (c.key in late) == odd else "" for cell in c.cells for odd in (False, True)
        ]
        out.append(replace(c, cells=tuple(spread)))
    return out


def _clock_a_group(offset: float = 0.0) -> Built:
    cols, step = std(), 4
    slow = {"coolant", "iat", "status", "purge", "speed"}
    fast = [c for c in cols if c.key not in slow]
    chosen = range(0, N, step)
    gap = ("",) * (N - len(chosen))
    second = [replace(c, cells=(*(c.cells[k] for k in chosen), *gap)) for c in cols if c.key in slow]
    moments = replace(cols[0], key="time2", cells=(*(f"{float(cols[0].cells[k]) + offset:.2f}" for k in chosen), *gap))
    return log([*fast, moments, *second])


def _amounts() -> None:
    lam, cmd = drive()["lam"], drive()["cmd"]
    SHAPES("total_trim_only", lambda: log([*std(drop="stft ltft"), extra("Total fuel trim", cells(_total(), 2), "%")]),
           "either", "only short and long trim together", optional=("stft_1", "ltft_1"))  # fmt: skip
    SHAPES("lambda_error_only", lambda: log([*std(drop="lam"), extra("Lambda error", cells(100 * (lam / cmd - 1), 2), "%")]),
           "either", optional=("lambda_measured",), hints=("lambda|error",))  # fmt: skip
    SHAPES("fuel_ratio", lambda: log(std(col("lam", "Measured fuel ratio", "", lambda v: 14.7 * v, 2),
           col("cmd", "Commanded fuel ratio", "", lambda v: 14.7 * v, 2))), "either")  # fmt: skip
    SHAPES("mg_per_cylinder", lambda: log(std(Col("maf", "Air per cylinder", "mg/stroke", cells(
        drive()["maf"] / np.maximum(drive()["rpm"], 1) * 30000.0, 1)))), "either", optional=("airflow",))  # fmt: skip
    for mark in ("-", "[-]", "1", "n/a", "none", "ratio", "x"):
        SHAPES(f"lambda_unit_{mark.replace('/', '_')}", lambda m=mark: log(std(col("lam", unit=m), col("cmd", unit=m))))
    SHAPES("stoich_at_1.000_percent", lambda: log(std(col("lam", "Lambda", "%", lambda v: 100 * v, 1))), "either")
    SHAPES("trims_from_100", lambda: log(std(col("stft", unit="", convert=lambda v: 100 + v), col("ltft", unit="",
           convert=lambda v: 100 + v))), "either")  # fmt: skip
    SHAPES(
        "throttle_0_to_1000", lambda: log(std(col("throttle", unit="", convert=lambda v: 10 * v, decimals=0))), "either"
    )
    SHAPES("pressure_mixed_case", lambda: log(std(col("map", unit="KPA"))))
    SHAPES("pressure_kpa_gauge", lambda: log([*std(col("map", "Manifold pressure", "kPa rel", lambda v: v - 99.0, 1)), col("baro")]),
           "either")  # fmt: skip
    SHAPES("temperature_word", lambda: log(std(col("coolant", unit="Grad Celsius"), col("iat", unit="Grad Celsius"))))
    SHAPES("speed_mph_map_psi_f", lambda: log(std(col("speed", unit="MPH", convert=lambda v: v / 1.609344),
           col("map", unit="PSI", convert=lambda v: v / 6.894757, decimals=2), col("coolant", unit="F", convert=_f),
           col("iat", unit="F", convert=_f))))  # fmt: skip
    SHAPES("hertz_over_1000", lambda: log(std(col("hz", "Airflow sensor", "kHz", lambda v: v / 1000, 3))))
    SHAPES("status_yes_no", lambda: log(std(Col("status", "In closed loop", "", tuple(
        "yes" if c == "2" else "no" for c in col("status").cells)))), optional=())  # fmt: skip
    SHAPES("status_short", lambda: log(std(Col("status", "Loop", "", tuple({"1": "OL", "2": "CL", "4": "OL-Drive"}[c]
           for c in col("status").cells)))))  # fmt: skip
    SHAPES("warmup_words", lambda: log(std(Col("lam", "Measured lambda", "lambda", tuple("Warmup" if k < 400 else c
           for k, c in enumerate(col("lam").cells))))), loose=True)  # fmt: skip
    SHAPES("one_a_second", lambda: log(rows(std(), range(0, N, 20))), loose=True, keep=0.0)
    SHAPES("only_needed", lambda: log(std(keys=["time", "hz", "lam", "cmd", "stft", "ltft", "status"])), optional=())
    SHAPES("rate_in_head", lambda: log(std(drop="time"), titles=["Sample rate: 20 Hz"]), "either")
    SHAPES("period_in_head", lambda: log(std(drop="time"), titles=["# interval 50 ms"]), "either")
    SHAPES("time_from_name", lambda: log(std(col("time", "Zeitstempel [ms]", "", lambda t: 1000 * t, 0))))
    SHAPES("time_dot_clock", lambda: log([Col("time", "Clock", "", tuple(f"14.{3 + int(t // 60):02d}.{t % 60:06.3f}"
           for t in drive()["time"])), *std()[1:]]), "either")  # fmt: skip
    SHAPES("time_signed", lambda: log([Col("time", "Time", "", tuple(f"+{int(t // 60):02d}'{t % 60:05.2f}\""
           for t in drive()["time"])), *std()[1:]]), "either")  # fmt: skip


def _f(values: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    return values * 1.8 + 32


def _total() -> np.ndarray:  # type: ignore[type-arg]
    return 100 * ((1 + drive()["stft"] / 100) * (1 + drive()["ltft"] / 100) - 1)


def _files() -> None:
    def two(shift: float, jitter: float = 0.0) -> Built:
        """ECU and wideband in files of their own, whose clocks begin apart."""
        time = drive()["time"]
        random = np.random.Generator(np.random.PCG64(5))
        moments = np.maximum.accumulate(time + shift + jitter * random.random(N))
        wide = [Col("time", "Time", "s", cells(moments, 3)), col("lam"), col("rpm", "Engine speed")]
        return Built({"ecu.csv": text(std(drop="lam")).encode(), "wideband.csv": text(wide).encode()}, roles(std()),
                     together=True)  # fmt: skip

    SHAPES("wideband_file_late", lambda: two(7.35), "either", "the second file's clock begins apart; engine speed in both",
           loose=True)  # fmt: skip
    SHAPES("wideband_file_jitter", lambda: two(0.0, 0.02), "either", loose=True)
    SHAPES("three_files_in_a_row", lambda: Built({f"part_{k}.csv": text(rows(std(), range(k * N // 3, (k + 1) * N // 3))).encode()
           for k in range(3)}, roles(std()), together=True), loose=True, keep=0.5)  # fmt: skip
    SHAPES("folder_in_a_row", lambda: Built({f"day/part_{k}.csv": text(rows(std(), range(k * N // 2, (k + 1) * N // 2))).encode()
           for k in range(2)} | {"day/notes.txt": b"second gear pull at the end\n"}, roles(std()), folder=True), "either",
           loose=True, keep=0.4)  # fmt: skip


_languages()
_numbers()
_pasted()
_columns()
_amounts()
_files()
