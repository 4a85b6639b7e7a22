"""Two versions of a book: what a change means, what it does to metal, tools and floor, and a verdict."""
