"""Read git once and compare two versions of a book: which values differ and what that means. No checks."""
