"""A report drawn on the pages of a PDF: a process of its own, the only one beside the window's that loads Qt.

It needs no display: Qt draws with its offscreen platform, and takes its fonts from the system, so that every script
that is installed can be printed. Called with the report as JSON and the folder for `report.pdf`.
"""

import os
import sys
from pathlib import Path

import msgspec
from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontDatabase,
    QGuiApplication,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
    QPolygonF,
)

from workbench.files.export.blocks import FRAME, Ink, Line, Mark, Pen, Report
from workbench.files.export.pages import Box, Page, Words, laid_out
from workbench.files.export.type_setting import FAMILY, SCALE, font
from workbench.files.formats.subprocess_reader import end_with_starter

SIZES = {"a4": QPageSize.PageSizeId.A4, "letter": QPageSize.PageSizeId.Letter}
NO_FONT = 5  # how it ends where nothing can be written with
ALIGN = {"start": 0.0, "middle": 0.5, "end": 1.0}


def main(source: Path, folder: Path) -> int:
    """Write the PDF of a report; give the exit code."""
    report = msgspec.json.decode(source.read_bytes(), type=Report)
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    application = QGuiApplication(["report"])
    if not QFontDatabase.families():
        return NO_FONT
    application.setFont(font(9))
    writer = QPdfWriter(str(folder / "report.pdf"))
    writer.setPageLayout(
        QPageLayout(QPageSize(SIZES[report.paper]), QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
    )
    writer.setResolution(round(72 * SCALE))
    writer.setTitle(report.title)
    writer.setCreator(FAMILY)
    pages = laid_out(report)
    painter = QPainter()
    if not painter.begin(writer):
        return 1
    for number, page in enumerate(pages, 1):
        if number > 1:
            writer.newPage()
        draw_page(painter, page, report.ink)
    return 0 if painter.end() else 1


def draw_page(painter: QPainter, page: Page, ink: Ink) -> None:
    """Draw all marks of a page."""
    for mark in page.marks:
        match mark:
            case Line():
                painter.setPen(_pen(mark.pen, ink))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawPolyline(QPolygonF([QPointF(x * SCALE, y * SCALE) for x, y in mark.points]))
            case Mark():
                _draw_mark(painter, mark, ink)
            case Box():
                painter.fillRect(
                    QRectF(mark.x * SCALE, mark.y * SCALE, mark.width * SCALE, mark.height * SCALE), QColor(mark.colour)
                )
            case Words():
                _draw_words(painter, mark)


def _draw_words(painter: QPainter, words: Words) -> None:
    painter.setFont(font(words.size, bold=words.bold, fixed=words.fixed))
    painter.setPen(QColor("#000000"))
    painter.save()
    painter.translate(words.x * SCALE, words.y * SCALE)
    if not words.upright:
        painter.rotate(-90)
    wide = painter.fontMetrics().horizontalAdvance(words.text)
    painter.drawText(QPointF(-wide * ALIGN[words.anchor], 0), words.text)
    painter.restore()


def _draw_mark(painter: QPainter, mark: Mark, ink: Ink) -> None:
    colour, middle, radius = QColor(mark.pen.ink(ink)), QPointF(mark.x * SCALE, mark.y * SCALE), 1.9 * SCALE
    painter.setPen(_pen(FRAME if mark.shape == "dot" else Pen(mark.pen.colour, mark.pen.grey, 0.9), ink))
    painter.setBrush(QBrush(QColor("#ffffff") if mark.shape == "ring" else colour))
    if mark.shape == "cross":
        for x, y in ((1, 1), (1, -1)):
            corner = QPointF(x * radius, y * radius)
            painter.drawLine(middle - corner, middle + corner)
    elif mark.shape == "square":
        painter.fillRect(QRectF(middle.x() - radius, middle.y() - radius, 2 * radius, 2 * radius), colour)
    else:
        if mark.shape == "dot":
            painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(middle, radius, radius)


def _pen(pen: Pen, ink: Ink) -> QPen:
    made = QPen(QColor(pen.ink(ink)), pen.width * SCALE)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    if pen.dashes:
        made.setDashPattern([each / pen.width for each in pen.dashes])
    return made


if __name__ == "__main__":
    end_with_starter()
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
