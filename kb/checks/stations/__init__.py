"""The checks of a format, one file per station."""
