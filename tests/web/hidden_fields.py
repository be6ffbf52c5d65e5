"""Fields of a page's forms that nobody sees."""

from __future__ import annotations

import re


def hidden(page: str, name: str) -> str:
    return re.search(rf'name="{name}" value="([^"]*)"', page)[1]
