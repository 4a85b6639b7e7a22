"""Scheduling: who does which activity when, in which order batches run. It knows no cans, files or books."""
