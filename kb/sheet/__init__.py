"""Setup sheets: what they say (content), what they are called (code), and their two faces, paper and page."""

from __future__ import annotations

from kb.sheet.register import known_sheets as known_sheets
