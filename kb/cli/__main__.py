"""`python -m kb.cli`."""

from kb.__main__ import main

main()
