"""The kinds of preferences that the first page needs; apart from the models, see `first_look`."""

from __future__ import annotations

from typing import Literal

Layout = Literal["auto", "narrow"]
ThemeWish = Literal["auto", "dark", "light", "high-contrast", "monochrome"]

LAYOUTS: tuple[Layout, ...] = ("auto", "narrow")
THEME_WISHES: tuple[ThemeWish, ...] = ("auto", "dark", "light", "high-contrast", "monochrome")
