"""The plant's files against one another: every name has its owner, every change its answer."""
