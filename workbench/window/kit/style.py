"""Fonts, palette, style sheet and icons of a theme."""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QIcon, QPainter, QPalette, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication

from workbench.window.kit.theme import THEMES, Theme

TOUCH = 32  # px, the least height of what a finger is to hit
SMALLEST_PT, LARGEST_PT = 9, 24


@lru_cache(maxsize=8)
def shipped_folder(name: str) -> Path:
    """Find a folder or file that comes along: inside the package when installed, beside it in a checkout."""
    package = Path(__file__).parents[2]
    inside = package / name
    return inside if inside.exists() else package.parent / name


@lru_cache(maxsize=512)
def _drawn(name: str, colour: str, size: int) -> QPixmap:
    path = shipped_folder("icons") / f"{name}.svg"
    pixmap = QPixmap(size, size)
    pixmap.fill(Qt.GlobalColor.transparent)
    if path.exists():
        svg = path.read_text(encoding="utf-8").replace("currentColor", colour)
        painter = QPainter(pixmap)
        QSvgRenderer(QByteArray(svg.encode())).render(painter, QRectF(0, 0, size, size))
        painter.end()
    return pixmap


def icon(name: str, theme: Theme, colour: str = "") -> QIcon:
    """Draw an icon of icons/ in the theme's ink, or in a colour given."""
    found = QIcon()
    for size in (16, 24, 32, 48):
        found.addPixmap(_drawn(name, colour or theme.ink, size))
        found.addPixmap(_drawn(name, theme.soft, size), QIcon.Mode.Disabled)
        found.addPixmap(_drawn(name, theme.on_accent, size), QIcon.Mode.Selected)
    return found


def pixmap(name: str, colour: str, size: int) -> QPixmap:
    """Draw an icon once, at a size in px."""
    return _drawn(name, colour, size)


def application_icon() -> QIcon:
    """The program's own sign, on whatever ground the desktop gives it."""
    found = QIcon()
    for size in (16, 32, 64, 128):
        tile = QPixmap(size, size)
        tile.fill(Qt.GlobalColor.transparent)
        painter = QPainter(tile)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(QColor("#0f766e"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawRoundedRect(0, 0, size, size, size / 5, size / 5)
        inner = size * 7 // 10
        painter.drawPixmap((size - inner) // 2, (size - inner) // 2, _drawn("app", "#ffffff", inner))
        painter.end()
        found.addPixmap(tile)
    return found


def even_digits(font: QFont) -> QFont:
    """Ask for digits of one width."""
    copy = QFont(font)
    copy.setFeature(QFont.Tag("tnum"), 1)
    return copy


def palette(theme: Theme) -> QPalette:
    """Return Qt's own drawing the theme's colours."""
    colours = QPalette()
    roles = {
        QPalette.ColorRole.Window: theme.ground,
        QPalette.ColorRole.WindowText: theme.ink,
        QPalette.ColorRole.Base: theme.field,
        QPalette.ColorRole.AlternateBase: theme.card,
        QPalette.ColorRole.Text: theme.ink,
        QPalette.ColorRole.Button: theme.card,
        QPalette.ColorRole.ButtonText: theme.ink,
        QPalette.ColorRole.BrightText: theme.attention,
        QPalette.ColorRole.Highlight: theme.accent,
        QPalette.ColorRole.HighlightedText: theme.on_accent,
        QPalette.ColorRole.ToolTipBase: theme.card,
        QPalette.ColorRole.ToolTipText: theme.ink,
        QPalette.ColorRole.PlaceholderText: theme.soft,
        QPalette.ColorRole.Link: theme.accent,
        QPalette.ColorRole.Light: theme.card,
        QPalette.ColorRole.Mid: theme.line,
        QPalette.ColorRole.Midlight: theme.line,
        QPalette.ColorRole.Dark: theme.edge,
        QPalette.ColorRole.Shadow: theme.edge,
    }
    for role, colour in roles.items():
        colours.setColor(role, QColor(colour))
    for role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
        colours.setColor(QPalette.ColorGroup.Disabled, role, QColor(theme.soft))
    return colours


SHEET = """
QMainWindow, QScrollArea#workspace, QWidget#bench {{ background: {theme.ground}; }}
QFrame[card="true"] {{ background: {theme.card}; border: {wide}px solid {theme.line}; border-radius: 8px; }}
QFrame[kind="notice"] {{ border: 2px solid {theme.edge}; }}
QLabel {{ color: {theme.ink}; background: transparent; }}
QLabel[kind="soft"] {{ color: {theme.soft}; }}
QLabel[kind="title"] {{ font-weight: 600; }}
QLabel[kind="figure"] {{ font-weight: 600; }}
QLabel[kind="good"] {{ color: {theme.accent}; font-weight: 600; }}
QLabel[kind="attention"] {{ color: {theme.attention}; font-weight: 600; }}
QLabel[kind="trouble"] {{ color: {theme.attention}; }}
QPushButton, QToolButton {{ background: {theme.card}; color: {theme.ink}; border: 1px solid {theme.edge};
  border-radius: 6px; padding: 3px 10px; min-height: {touch_button}px; }}
QToolButton {{ padding: 3px 6px; min-width: {touch_tool}px; }}
QPushButton:hover, QToolButton:hover {{ background: {theme.wash}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {theme.line}; }}
QPushButton:checked, QToolButton:checked {{ background: {theme.accent}; color: {theme.on_accent};
  border-color: {theme.accent}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {theme.soft}; border-color: {theme.line}; }}
QPushButton[kind="step"] {{ background: {theme.accent}; color: {theme.on_accent}; border-color: {theme.accent};
  font-weight: 600; padding: 3px 16px; }}
QPushButton[kind="step"]:disabled {{ background: {theme.wash}; color: {theme.soft}; border-color: {theme.line}; }}
QPushButton[kind="small"] {{ min-height: {small}px; padding: 0 10px; }}
QPushButton[kind="flat"], QToolButton[kind="flat"] {{ border-color: {theme.line}; background: transparent; }}
QPushButton[kind="flat"]:checked {{ background: {theme.wash}; color: {theme.ink}; border-color: {theme.accent}; }}
QPushButton[kind="flat"]:hover, QToolButton[kind="flat"]:hover {{ background: {theme.wash}; }}
QLineEdit, QDoubleSpinBox, QSpinBox, QComboBox, QPlainTextEdit {{ background: {theme.field}; color: {theme.ink};
  border: 1px solid {theme.edge}; border-radius: 6px; padding: 2px 8px; min-height: {touch_field}px;
  placeholder-text-color: {theme.soft};
  selection-background-color: {theme.accent}; selection-color: {theme.on_accent}; }}
QLineEdit:disabled, QDoubleSpinBox:disabled, QSpinBox:disabled, QComboBox:disabled {{ color: {theme.soft};
  border-color: {theme.line}; }}
QComboBox {{ padding-right: 2px; combobox-popup: 0; }}
QComboBox::drop-down {{ border: none; width: 22px; }}
QComboBox::down-arrow {{ image: url({chevron}); width: 14px; height: 14px; }}
QPushButton:focus {{ padding: 2px 9px; }}
QToolButton:focus {{ padding: 2px 5px; }}
QPushButton[kind="small"]:focus {{ padding: 0 9px; min-height: {less_small}px; }}
QPushButton[low="true"], QComboBox[low="true"], QLineEdit[low="true"] {{ min-height: {small}px; }}
QLineEdit:focus, QDoubleSpinBox:focus, QSpinBox:focus, QPlainTextEdit:focus {{ padding: 1px 7px; }}
QComboBox:focus {{ padding: 1px 1px 1px 7px; }}
QComboBox QAbstractItemView {{ background: {theme.card}; color: {theme.ink}; border: 1px solid {theme.edge};
  selection-background-color: {theme.accent}; selection-color: {theme.on_accent}; outline: none; }}
QComboBox QAbstractItemView::item {{ min-height: {small}px; }}
QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {{ width: 0; height: 0; border: none; }}
QDoubleSpinBox, QSpinBox {{ min-height: {touch_number}px; }}
QAbstractSpinBox QLineEdit {{ border: none; padding: 0 8px; min-height: 0; background: transparent; }}
QCheckBox::indicator {{ width: {tick_box}px; height: {tick_box}px; border: 1px solid {theme.edge}; border-radius: 4px;
  background: {theme.field}; margin-left: 2px; }}
QCheckBox::indicator:checked {{ background: {theme.accent}; border-color: {theme.accent}; image: url({tick}); }}
QCheckBox::indicator:disabled {{ border-color: {theme.line}; }}
QCheckBox {{ color: {theme.ink}; spacing: 8px; min-height: {touch}px; border: 2px solid transparent;
  border-radius: 6px; }}
QPushButton:focus, QToolButton:focus, QLineEdit:focus, QDoubleSpinBox:focus, QSpinBox:focus, QComboBox:focus,
QPlainTextEdit:focus, QCheckBox:focus, QSlider:focus {{ border: 2px solid {theme.attention}; }}
QPushButton[kind="step"]:focus {{ border: 3px solid {theme.attention}; padding: 1px 14px;
  text-decoration: underline; }}
QSlider {{ min-height: {touch}px; border: 2px solid transparent; border-radius: 6px; }}
QSlider::groove:horizontal {{ height: 4px; background: {theme.edge}; border-radius: 2px; margin: 0 4px; }}
QSlider::sub-page:horizontal {{ background: {theme.accent}; border-radius: 2px; margin: 0 4px; }}
QSlider::handle:horizontal {{ width: 14px; margin: -7px 0; background: {theme.card}; border: 2px solid {theme.accent};
  border-radius: 9px; }}
QAbstractItemView {{ background: {theme.card}; color: {theme.ink}; border: 1px solid {theme.line};
  border-radius: 6px; outline: none; }}
QTableView {{ border: 2px solid {theme.line}; border-radius: 0; }}
QListView#rail {{ border: 2px solid transparent; }}
QAbstractScrollArea::corner {{ background: transparent; border: none; }}
QAbstractItemView:focus, QGraphicsView:focus {{ border: 2px solid {theme.attention}; }}
QGraphicsView {{ border: 2px solid transparent; border-radius: 6px; }}
QHeaderView, QHeaderView::section, QTableCornerButton::section {{ background: {theme.card}; color: {theme.soft};
  border: none; padding: 0; }}
QMenuBar, QMenu, QToolTip {{ font-size: {points}pt; }}
QMenuBar {{ background: {theme.ground}; color: {theme.ink}; }}
QMenuBar::item {{ padding: 4px 10px; background: transparent; border-radius: 4px; }}
QMenuBar::item:selected, QMenu::item:selected {{ background: {theme.accent}; color: {theme.on_accent}; }}
QMenu {{ background: {theme.card}; color: {theme.ink}; border: 1px solid {theme.edge}; padding: 4px; }}
QMenu::item {{ padding: 4px 24px 4px 28px; border-radius: 4px; }}
QMenu::item:disabled {{ color: {theme.soft}; background: transparent; }}
QMenu::separator {{ height: 1px; background: {theme.line}; margin: 4px 8px; }}
QToolTip {{ background: {theme.card}; color: {theme.ink}; border: 1px solid {theme.edge}; padding: 4px; }}
QScrollArea, QScrollArea > QWidget > QWidget[plain="true"] {{ background: transparent; border: none; }}
QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
QScrollBar::handle {{ background: {theme.edge}; border-radius: 4px; margin: 2px; }}
QScrollBar::handle:vertical {{ min-height: 28px; }}
QScrollBar::handle:horizontal {{ min-width: 28px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QSplitter::handle {{ background: transparent; }}
QSplitter::handle:hover {{ background: {theme.line}; }}
QProgressBar {{ background: {theme.wash}; border: none; border-radius: 4px; height: 8px; }}
QProgressBar::chunk {{ background: {theme.accent}; border-radius: 4px; }}
"""


def sheet(theme: Theme, high: int, points: int) -> str:
    """Write the style sheet: cards, controls with an edge, a focus that is seen, no control lower than its text.

    Args:
        theme: its colours.
        high: height of a line of text, px.
        points: text size, which menus do not take from the application by themselves.
    """
    return SHEET.format(
        theme=theme,
        chevron=(shipped_folder("icons") / ("chevron_sun.svg" if theme.name == "sun" else "chevron.svg")).as_posix(),
        tick=(shipped_folder("icons") / ("tick_dark.svg" if theme.dark else "tick.svg")).as_posix(),
        wide=2 if theme.name == "sun" else 1,
        points=points,
        small=high,
        less_small=high - 2,
        touch=max(TOUCH - 4, high),
        tick_box=max(18, high * 3 // 4),
        touch_button=max(TOUCH - 8, high),
        touch_tool=max(TOUCH - 14, high),
        touch_field=max(TOUCH - 6, high + 2),
        touch_number=max(TOUCH - 6, high + 2) - 3,  # Qt adds so much to a field with steps
    )


def dress(application: QApplication, theme: Theme, points: int) -> None:
    """Put the whole application into a theme and a text size, at once; as `dressing`."""
    for step in dressing(application, theme, points):
        step()


def dressing(application: QApplication, theme: Theme, points: int) -> tuple[Callable[[], None], ...]:
    """Return the steps that put the whole application into a theme and a text size.

    Args:
        application: what to dress.
        theme: its colours.
        points: text size, held between the smallest and the largest.
    """
    font = even_digits(application.font())
    font.setPointSize(max(SMALLEST_PT, min(LARGEST_PT, points)))

    def undress() -> None:
        application.setProperty("theme", theme.name)
        application.setStyleSheet("")  # putting a sheet in place of another takes Qt three times as long
        application.setFont(font)
        application.setPalette(palette(theme))

    def put_on() -> None:
        application.setStyleSheet(sheet(theme, QFontMetrics(font).height(), font.pointSize()))

    return undress, put_on


def theme_named(name: str) -> Theme:
    """Find a theme; the light one where the name is unknown."""
    return THEMES.get(name, THEMES["light"])
