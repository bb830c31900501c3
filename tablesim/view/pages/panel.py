"""The pages of the panel, in their order."""

from __future__ import annotations

from .gear_page import GEAR
from .host import PanelPage
from .layout_page import LAYOUT
from .lesson_page import LESSON
from .stroke_page import STROKE

PAGES: dict[str, PanelPage] = {"Stroke": STROKE, "Layout": LAYOUT, "Gear": GEAR, "Lesson": LESSON}
