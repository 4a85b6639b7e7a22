"""The book: text, positions, quantities, typed records. Knows no physics."""
