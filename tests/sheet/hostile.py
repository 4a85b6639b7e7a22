"""Texts that would do harm if a face took them for anything but text."""

from __future__ import annotations

TYPST = "#panic(1) $x^2$ *bold* _it_ `raw` <label> @ref = head // no comment [a](b) \\u{41} #let s = 1"
HTML = "</td><script>alert(1)</script> <img src=x onerror=alert(1)> & \"quoted\" 'single' {{ 7*7 }} {% raw %}"
SLASHES = '\\\\ \\n C:\\tools\\ring ~~ -- --- ... "straight"'
LONG = "Ring" + "abcdefghijklmnopqrstuvwxyz" * 3
ALL = (TYPST, HTML, SLASHES, LONG)
