"""A report as PDF, drawn by a process of its own."""

from collections.abc import Generator
from typing import Any

import msgspec

from workbench.errors import FileError
from workbench.files.disk.scratch import scratch_folder
from workbench.files.export.blocks import Report
from workbench.files.formats.subprocess_reader import apart
from workbench.phrases import english, harmless, phrase
from workbench.work import Progress

WRITER = "workbench.files.export.page_writer"


def report_pdf(report: Report) -> Generator[Progress, None, bytes]:
    """Write a report as PDF.

    Raises:
        FileError: when the pages cannot be drawn here.
    """
    with scratch_folder() as folder:
        source = folder / "report.json"
        source.write_bytes(msgspec.json.encode(_harmless(msgspec.to_builtins(report, enc_hook=english))))
        code, _ = yield from apart(WRITER, source, folder, lambda: Progress(0, 0, "drawing pages"))
        made = folder / "report.pdf"
        if code or not made.exists():
            raise FileError(
                phrase("The pages of the PDF could not be drawn (exit code {code}).", code=code),
                "Qt's drawing libraries or all fonts are missing here (on Debian: libegl1 libgl1 libxkbcommon0 "
                "libfontconfig1 fonts-dejavu-core). "
                "Write the report as HTML instead: name a file that ends in .html, and print it from a browser.",
            )
        return made.read_bytes()


def _harmless(value: Any) -> Any:
    """Write out, in all texts of a report, what steers or is no text at all."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, dict):
        return {key: _harmless(each) for key, each in value.items()}
    return [_harmless(each) for each in value] if isinstance(value, list | tuple) else value
