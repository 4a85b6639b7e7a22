"""The physics of the making: pure, keyword-only formulas of numbers. Knows no files."""
