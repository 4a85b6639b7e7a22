"""`python -m kb.cli`."""

from kb.cli import main

main()
